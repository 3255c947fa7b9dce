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
