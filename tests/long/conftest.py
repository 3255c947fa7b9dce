"""The long set: hours. What passed at a commit is not run again at it, so a run can be taken up."""

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.benchmarks.record import record

ROOT = Path(__file__).parents[2]
KEPT = ROOT / ".long"


def commit() -> str:
    """The commit, with a word where files differ from it."""
    command = ["git", "describe", "--always", "--dirty", "--exclude", "*"]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.strip()


class Passed:
    """The tests that passed at this commit, with their seconds, one a line of a file."""

    def __init__(self) -> None:
        self.path = KEPT / f"{commit()}.txt"
        lines = self.path.read_text().splitlines() if self.path.exists() else []
        self.seconds = {name: float(taken) for taken, _, name in (line.partition(" ") for line in lines)}

    def add(self, name: str, taken: float) -> None:
        """Note a test that passed, at once."""
        self.seconds[name] = taken
        KEPT.mkdir(exist_ok=True)
        with self.path.open("a") as stream:
            stream.write(f"{taken:.1f} {name}\n")


PASSED = pytest.StashKey[Passed]()
OF = pytest.StashKey[int]()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark this folder's tests as long, and leave out those that passed at this commit."""
    mine = [item for item in items if Path(__file__).parent in item.path.parents]
    for item in mine:
        item.add_marker(pytest.mark.long)
    if "long" not in config.option.markexpr or "not long" in config.option.markexpr:
        return
    passed = Passed()
    done = [item for item in mine if item.nodeid in passed.seconds]
    config.stash[PASSED], config.stash[OF] = passed, len(mine)
    config.hook.pytest_deselected(items=done)
    items[:] = [item for item in items if item not in done]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """Note each test that passed."""
    report = yield
    if call.when == "call" and report.passed and PASSED in item.config.stash:
        item.config.stash[PASSED].add(item.nodeid, report.duration)
    return report


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write how far the set has come."""
    if PASSED not in session.config.stash or session.config.option.collectonly:
        return
    passed = session.config.stash[PASSED]
    failed = session.testsfailed
    record(
        "long",
        {
            "passed": len(passed.seconds),
            "of": session.config.stash[OF],
            "failed_in_the_last_run": failed,
            "minutes": round(sum(passed.seconds.values()) / 60, 1),
        },
    )


@pytest.fixture(scope="session")
def kept() -> Path:
    """A folder that stays from run to run."""
    KEPT.mkdir(exist_ok=True)
    return KEPT
