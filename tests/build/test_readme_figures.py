"""The README's figures are those of the result files, and every file that it names is there."""

import re
from pathlib import Path

from tests.benchmarks.tables import README, filled


def test_the_readmes_figures_are_those_that_were_measured() -> None:
    """Making the tables anew from the result files changes no letter."""
    text = README.read_text(encoding="utf-8")
    assert filled(text) == text
    assert "| on paper, " in text
    assert "rows/s" in text


def test_every_file_that_the_readme_names_is_there() -> None:
    """No link of the README leads nowhere."""
    links = re.findall(r"\]\(([^)#:]+)\)", README.read_text(encoding="utf-8"))
    assert links
    assert [link for link in links if not (Path(README).parent / link).exists()] == []
