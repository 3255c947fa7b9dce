"""Data: dropped in, looked at, taken or put aside; what became of each row."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Visit
from tests.browser.taking import SIZES

pytestmark = pytest.mark.browser
WAIT_MS = 60_000
NAME = "meter_readings_<img src=x onerror=window.ran=1>.csv"
TEXT = (
    "meter_id,read_at,value\n"
    "WN1,2026-09-30 17:55,3405\n"
    "WN1,2026-09-30 07:00,3400\n"
    "NOBODYS,2026-09-30 18:00,1\n"
    "<script>window.ran=2</script>,2026-09-30 18:00,1\n"  # of no meter
    'WN1,2026-09-30 19:00,"<img src=x onerror=window.ran=1>"\n'
    "WN1,2026-09-29 07:00,3361\n"
)


def drop(page: Page, address: str, file: Path) -> None:
    """Choose a file in the browser's own chooser, opened by the page's button."""
    page.goto(f"{address}/files")
    with page.expect_file_chooser(timeout=WAIT_MS) as chooser:
        page.locator("[data-testid=stFileUploaderDropzone] button").click(timeout=WAIT_MS)
    chooser.value.set_files(str(file))


def numbers(page: Page) -> list[int]:
    """The numbers of the first table: the file's fates."""
    fates = page.locator("table.figures").first
    expect(fates).to_be_visible(timeout=WAIT_MS)
    return [int(cell) for cell in fates.locator("td.number").all_inner_texts()]


def nothing_too_wide(page: Page, width: int) -> None:
    widest = (
        "Math.max(...[...document.querySelectorAll('html,[data-testid=stMain]')].map(e => e.scrollWidth))"
    )
    assert page.evaluate(widest) <= width


@pytest.mark.parametrize("size", SIZES)
def test_a_drop_is_looked_at_and_put_aside(
    visit: Visit, hostile_address: str, tmp_path: Path, size: str
) -> None:
    """The five fates, what to mend and the cell before and after; hostile cells and file names stay text."""
    page = visit.page
    width, height = SIZES[size]
    page.set_viewport_size({"width": width, "height": height})
    file = tmp_path / NAME
    file.write_text(TEXT, encoding="utf-8")
    drop(page, hostile_address, file)
    expect(page.get_by_role("button", name="Take them in")).to_be_visible(timeout=WAIT_MS)
    assert numbers(page) == [6, 1, 1, 1, 2, 1, 0]
    assert NAME in page.locator("table.figures").first.inner_text()
    assert "<img src=x onerror=window.ran=1>" in page.locator("table.figures").nth(1).inner_text()
    change = page.locator("table.figures").nth(2)
    assert [change.locator("td.old").inner_text(), change.locator("td.new").inner_text()] == ["3360", "3361"]
    expect(page.get_by_role("button", name="Download this list as CSV")).to_be_visible(timeout=WAIT_MS)
    nothing_too_wide(page, width)
    page.get_by_role("button", name="Put them aside").click()
    told = page.get_by_text("The file was put aside: nothing of it was taken or kept.")
    expect(told).to_be_in_viewport(timeout=WAIT_MS)
    assert visit.ran() == []
    assert visit.outside() == []


def test_a_drop_is_taken_in_and_its_file_comes_back_byte_for_byte(
    visit: Visit, hostile_address: str, tmp_path: Path
) -> None:
    """What the page said it would take it takes; a name in the list leads to the file, and that to its bytes."""
    page = visit.page
    file = tmp_path / NAME
    file.write_text(TEXT, encoding="utf-8")
    drop(page, hostile_address, file)
    page.get_by_role("button", name="Take them in").click(timeout=WAIT_MS)
    told = page.get_by_text("6 rows came: 1 taken, 1 unchanged, 1 corrected")
    expect(told).to_be_in_viewport(timeout=WAIT_MS)
    assert numbers(page) == [6, 1, 1, 1, 2, 1, 0]
    page.get_by_role("link", name=NAME).click(timeout=WAIT_MS)
    expect(page.locator("#came-file")).to_be_focused(timeout=WAIT_MS)
    assert len(page.context.pages) == 1
    with page.expect_download(timeout=WAIT_MS) as download:
        page.get_by_role("button", name="Download the file as it came").click(timeout=WAIT_MS)
    assert Path(download.value.path()).read_text(encoding="utf-8") == TEXT
    assert download.value.suggested_filename == "meter_readings__img src_x onerror_window.ran_1_.csv"
    nothing_too_wide(page, 1366)
    assert visit.ran() == []
    assert visit.outside() == []


def test_empty_sheets_can_be_had(visit: Visit, address: str) -> None:
    """All of them in one file."""
    page = visit.page
    page.goto(f"{address}/files")
    page.get_by_text("Empty sheets for the field").click(timeout=WAIT_MS)
    with page.expect_download(timeout=WAIT_MS) as download:
        page.get_by_role("button", name="All sheets as ZIP").click(timeout=WAIT_MS)
    assert download.value.suggested_filename == "sunrill_templates.zip"
    assert Path(download.value.path()).stat().st_size > 10_000
