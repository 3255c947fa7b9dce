"""The README's tables of what others print beside what we compute, made from results."""

from typing import Any

from tests.published.examples import LEFT_OUT

DETAIL_HEAD = "| Source | What | Printed | Ours | Unit | Largest difference | Remark |\n|---|---|---:|---:|---|---:|---|"


def told(difference: float) -> str:
    """Write a difference with two digits, nothing where there is none."""
    return "0" if difference == 0 else f"{difference:.2g}"


def lines(group: dict[str, Any]) -> str:
    """Return a subject's lines, folded."""
    rows = [
        f"| {line['source']} | {line['what']} | {line['printed']} | {line['ours']} | {line['unit']} "
        f"| {told(line['largest_difference'])} | {line['remark']} |"
        for line in group["lines"]
    ]
    body = "\n".join([DETAIL_HEAD, *rows])
    return f"<details>\n<summary>{group['title']}: each line</summary>\n\n{body}\n\n</details>"


def overview(groups: list[dict[str, Any]]) -> str:
    """Return how many figures of each subject are as printed."""
    rows = ["| Subject | Lines | Figures | To the last digit |", "|---|---:|---:|---:|"]
    for group in groups:
        figures, exact = (
            sum(each[key] for each in group["lines"]) for key in ("figures", "to_the_last_digit")
        )
        rows.append(f"| {group['title']} | {len(group['lines'])} | {figures} | {exact} |")
    return "\n".join(rows)


def checks_table(found: dict[str, Any]) -> str:
    """Return the overview, every subject's lines, and what has none."""
    groups = found["groups"]
    return "\n\n".join([overview(groups), *(lines(group) for group in groups), LEFT_OUT])


def seasons_table(found: dict[str, Any]) -> str:
    """Return both libraries' tables."""
    return "\n\n".join([pyfao56_table(found["pyfao56"]), aquacrop_table(found["aquacrop"])])


def signed(number: float, places: int = 1) -> str:
    """Write a number with its sign, 0 without one."""
    text = f"{number:+.{places}f}"
    return f"{0:.{places}f}" if float(text) == 0 else text.replace("-", "−")


WATERED = {"rain": "rain alone, planted late", "weekly": "25 mm a week", "full": "all that it takes"}


def pyfao56_table(seasons: list[dict[str, Any]]) -> str:
    """Return how far the seasons lie apart, by coefficient and by how they are watered."""
    lines = [
        (
            "| Coefficient, water | Seasons | Taken up, ours over pyfao56's | Evaporated, ours more by | "
            "Depletion of a day apart: mean, most | Given its need: depletion apart |"
        ),
        "|---|---:|---:|---:|---:|---:|",
    ]
    for coefficient in ("dual", "single"):
        for how, words in WATERED.items():
            some = [each for each in seasons if (each["coefficient"], each["watered"]) == (coefficient, how)]
            shares = [100 * each["ours_over_theirs_less_1"] for each in some]
            more = [each["our_evaporation_mm"] - each["their_evaporation_mm"] for each in some]
            # the single coefficient has none apart
            evaporated = f"{min(more):.0f} to {max(more):.0f} mm" if coefficient == "dual" else "–"
            mean, most, alone = (
                max(each[key] for each in some)
                for key in (
                    "depletion_apart_mean_mm",
                    "depletion_apart_most_mm",
                    "balance_alone_depletion_apart_most_mm",
                )
            )
            lines.append(
                f"| {coefficient}, {words} | {len(some)} | {signed(min(shares))} to {signed(max(shares))} % "
                f"| {evaporated} | {mean:.1f}, {most:.1f} mm | {told(alone)} mm |"
            )
    return "\n".join(lines)


def aquacrop_table(seasons: list[dict[str, Any]]) -> str:
    """Return what each season takes, and what irrigation brings of it."""
    lines = [
        (
            "| Crop, planted | AquaCrop: days, taken up, net irrigation | Ours over its days and stages | "
            "AquaCrop's over ours, taken up | The same by the printed Kcb | "
            "Ours by Table 11: days, taken up, net irrigation |"
        ),
        "|---|---:|---:|---:|---:|---:|",
    ]
    for each in seasons:
        less, printed = (
            f"{signed(100 * each[key], 0)} %"
            for key in ("theirs_over_ours_less_1", "theirs_by_printed_kcb_over_ours_less_1")
        )
        lines.append(
            f"| {each['crop'].replace('_', ', ')}, {each['planted_on']} "
            f"| {each['their_days']}, {each['their_taken_mm']:.0f} mm, {each['their_irrigation_mm']:.0f} mm "
            f"| {each['our_taken_over_their_days_mm']:.0f} mm, {each['our_irrigation_over_their_days_mm']:.0f} mm "
            f"| {less} | {printed} "
            f"| {each['table_days']}, {each['our_taken_mm']:.0f} mm, {each['our_irrigation_mm']:.0f} mm |"
        )
    return "\n".join(lines)
