"""Files: dropped in, and what became of each row."""

import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from pipeline.store import Store
from tests.browser.conftest import serve, stop

pytestmark = pytest.mark.browser
WAIT_MS = 60_000


def test_a_dropped_file_shows_its_five_fates_and_what_to_mend(
    chromium: Browser, small_store: Store, tmp_path: Path
) -> None:
    """Of four rows one is taken, one held, one rejected and one unchanged; the reject says how to mend it."""
    copy = tmp_path / "store"
    shutil.copytree(small_store.path, copy)
    process, address = serve(copy)
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    page.goto(f"{address}/files")
    file = tmp_path / "meter_readings_dropped.csv"
    file.write_text(
        "meter_id,read_at,value\n"
        "W00001,2026-10-31 17:55,987654\n"
        "W00001,2026-10-31 17:55,987654\n"
        "NOBODYS,2026-10-31 18:00,1\n"
        'W00001,2026-10-31 19:00,"1,234"\n'
    )
    page.locator("input[type=file]").set_input_files(str(file))
    page.get_by_role("button", name="Take them in").click()
    table = page.locator("table.figures").first
    expect(table).to_be_visible(timeout=WAIT_MS)
    cells = table.locator("td.number").all_inner_texts()
    assert [int(c) for c in cells] == [4, 1, 1, 0, 1, 1, 0]
    expect(page.get_by_role("button", name="Download this list as CSV")).to_be_visible(timeout=WAIT_MS)
    page.close()
    stop(process)


def test_an_empty_store_shows_the_way_out(chromium: Browser, tmp_path: Path) -> None:
    """Nothing loaded: a sentence that says what to do, and no trace."""
    process, address = serve(tmp_path / "empty")
    page = chromium.new_page()
    page.goto(address)
    expect(page.get_by_text("Nothing has been loaded yet")).to_be_visible(timeout=WAIT_MS)
    page.close()
    stop(process)
