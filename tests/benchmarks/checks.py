"""What others print beside what we compute, as the README shows it.

`python -m tests.benchmarks.checks` writes results/checks.json from the list in `tests/published/examples`.
"""

from typing import Any

import numpy as np

from tests.benchmarks.record import record
from tests.published.examples import GROUPS, Example

SHOWN_ALL, SHOWN_SOME = 6, 12  # figures of a line


def decimals(example: Example) -> int:
    """Return how many decimals the print has, the most of its figures."""
    if example.decimals is not None:
        return example.decimals
    texts = (repr(round(float(figure), 6)) for figure in example.expected())
    return max(len(text.partition(".")[2]) if not text.endswith(".0") else 0 for text in texts)


def shown(figures: list[float], places: int) -> str:
    """Write a few figures out, of many the ends, of a whole table the number."""
    texts = [f"{figure + 0.0:.{places}f}" for figure in figures]
    if len(texts) > SHOWN_SOME:
        return f"{len(texts)} figures"
    return ", ".join(texts) if len(texts) <= SHOWN_ALL else f"{texts[0]}, {texts[1]} … {texts[-1]}"


def line(example: Example) -> dict[str, Any]:
    """Return a line of the table: texts as they are shown, and how far ours lie from the print."""
    places = decimals(example)
    off = np.abs(example.computed() - example.expected())
    return {
        "source": example.source,
        "what": example.what,
        "printed": shown(list(example.expected()), places),
        "ours": shown(list(example.computed()), places + 1),
        "unit": example.unit,
        "largest_difference": round(example.difference(), 4 if places < 4 else 6),
        "figures": len(off),
        "to_the_last_digit": int((off <= 0.5 * 10.0**-places + 1e-9).sum()),
        "remark": example.remark,
    }


def groups() -> list[dict[str, Any]]:
    """Return the lines by subject."""
    return [{"title": group.title, "lines": [line(each) for each in group.examples]} for group in GROUPS]


if __name__ == "__main__":
    record("checks", {"groups": groups()})
