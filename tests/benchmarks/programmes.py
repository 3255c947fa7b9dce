"""Stores of the demo programme for the benchmarks."""

from datetime import UTC, datetime
from pathlib import Path

from data_demo import generate
from pipeline.measures import run
from pipeline.store import Store, open_store


def loaded(folder: Path, *, measured: bool = True, **options: int | bool) -> tuple[Path, Store]:
    """Return the demo's files, and a store that took them delivery by delivery."""
    files = generate(folder / "files", **options)  # type: ignore[arg-type]
    store = open_store(folder / "store", create=True)
    store.change_setting("timezone", "Africa/Blantyre")
    for delivery in sorted((files / "deliveries").iterdir()):
        moment = datetime.fromisoformat(f"{delivery.name}T12:00:00").replace(tzinfo=UTC)
        store.load([delivery], arrived_at=moment)
    if measured:
        run.refresh(store)
    return files, store
