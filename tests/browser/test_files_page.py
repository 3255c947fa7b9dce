"""Files: dropped in, and what became of each row."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Visit

pytestmark = pytest.mark.browser
WAIT_MS = 60_000


def test_a_dropped_file_shows_its_five_fates_and_what_to_mend(
    visit: Visit, hostile_address: str, tmp_path: Path
) -> None:
    """Two of five rows are taken or unchanged, two held, one rejected; hostile cells and file names stay text."""
    page = visit.page
    page.goto(f"{hostile_address}/files")
    file = tmp_path / "meter_readings_<img src=x onerror=window.ran=1>.csv"
    file.write_text(
        "meter_id,read_at,value\n"
        "WN1,2026-09-30 17:55,3405\n"
        "WN1,2026-09-30 07:00,3400\n"
        "NOBODYS,2026-09-30 18:00,1\n"
        "<script>window.ran=1</script>,2026-09-30 18:00,1\n"
        'WN1,2026-09-30 19:00,"<img src=x onerror=window.ran=1>"\n',
        encoding="utf-8",
    )
    page.locator("input[type=file]").set_input_files(str(file))
    page.get_by_role("button", name="Take them in").click()
    fates = page.locator("table.figures").first
    expect(fates).to_be_visible(timeout=WAIT_MS)
    assert [int(c) for c in fates.locator("td.number").all_inner_texts()] == [5, 1, 1, 0, 2, 1, 0]
    assert file.name in fates.inner_text()
    mend = page.locator("table.figures").nth(1)
    assert "<img src=x onerror=window.ran=1>" in mend.inner_text()
    expect(page.get_by_role("button", name="Download this list as CSV")).to_be_visible(timeout=WAIT_MS)
    assert page.evaluate("document.documentElement.scrollWidth") <= 1366
    assert visit.ran() == []
    assert visit.outside() == []
