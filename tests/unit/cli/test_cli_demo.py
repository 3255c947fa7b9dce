"""`sunrill demo`: laid once, taken up where it was stopped, and kept out of a programme's own store."""

from pathlib import Path

import pytest

from pipeline.store import Store, open_store


@pytest.fixture
def killed(monkeypatch):
    """Stop the program before its third load."""
    took, loads = Store.load, []

    def load(store, *arguments, **named):
        if len(loads) == 2:
            raise SystemExit(1)
        loads.append(store)
        return took(store, *arguments, **named)

    with monkeypatch.context() as patch:
        patch.setattr(Store, "load", load)
        yield patch


def days_loaded(folder: Path) -> list[str]:
    with open_store(folder).read() as reader:
        return [
            d for (d,) in reader.connection.execute("SELECT arrived_at::DATE::VARCHAR FROM loads").fetchall()
        ]


def test_a_demo_that_was_stopped_is_taken_up_where_it_was(sunrill, tmp_path, killed):
    """Two deliveries are in when it stops; the next run loads the others, and a third one none."""
    command = ("demo", "--no-dashboard", "--store", tmp_path, "--sites", "2", "--days", "100")
    sunrill(*command, code=1)
    deliveries = sorted(p.name for p in (tmp_path / "demo" / "deliveries").iterdir())
    assert days_loaded(tmp_path) == deliveries[:2]
    killed.undo()
    for _ in range(2):
        sunrill(*command)
        assert days_loaded(tmp_path) == deliveries


def test_the_demo_stays_out_of_a_store_of_ones_own(sunrill, files, tmp_path):
    """A store that holds a programme already gets no invented site."""
    sunrill("load", files, "--store", tmp_path)
    done = sunrill("demo", "--no-dashboard", "--store", tmp_path, "--sites", "2", "--days", "100")
    assert str(tmp_path) in done.stderr.replace("\n", "")
    assert not (tmp_path / "demo").exists()
