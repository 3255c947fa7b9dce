"""Each page by the keyboard alone: whatever can be clicked is reached by Tab, shows that it is, and lets go again."""

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Visit

pytestmark = pytest.mark.browser

WAIT_MS = 60_000
PERIOD = "from=2026-08-01&to=2026-09-30"
PAGES = {  # address, and what is drawn last
    "portfolio": (f"?{PERIOD}&site=N2&agreement=AGN", ".list tbody tr"),
    "week": ("week?since=2026-09-15&to=2026-09-30", "h2"),
    "site": (f"site?{PERIOD}&site=N2", ".st-key-site_after .stDownloadButton >> nth=-1"),
    "crop_water": (f"crop_water?{PERIOD}&site=N2", "ul.ground"),
    "files": ("files", "[class*=downloads]"),
    "figures": (f"figures?{PERIOD}", "#part-settings"),
    "find": ("find?find=n", "ol.found"),
    "sprays": ("sprays", "p.answer"),
    "harvest": (f"harvest?{PERIOD}", "p.answer"),
    "plain": ("plain", "tbody tr"),
}
MOST_STEPS = 400

# what can be clicked and is seen. Left out: what stands in a field whose own keys do the same (a calendar beside the
# segments of a day, a cross beside the text), as the framework says by a negative tabindex
CLICKABLE = """() => {
  const seen = e => e.checkVisibility({visibilityProperty: true}) && e.getClientRects().length && !e.disabled
    && !e.closest('[inert], [aria-hidden=true], .js-plotly-plot');
  const field = '[data-testid=stDateInput], [data-testid=stTextInput], [data-testid=stSelectbox], [data-testid=stFileUploader]';
  const all = root => [...root.querySelectorAll('*')].flatMap(e => [e, ...(e.shadowRoot ? all(e.shadowRoot) : [])]);
  window.wanted = all(document).filter(e => e.matches('a[href], button, input, select, textarea, summary, [role=button], [onclick], .patch'))
    .filter(e => seen(e) && (e.tabIndex >= 0 || !e.closest(field)));
  window.reached = new Map();
}"""
# what has the focus in this frame, and how it is drawn
HERE = """() => {
  let e = document.activeElement;
  while (e && e.shadowRoot && e.shadowRoot.activeElement) e = e.shadowRoot.activeElement;
  if (!e || e === document.body || e.tagName === 'IFRAME') return null;
  const around = []; for (let p = e; p && around.length < 5; p = p.parentElement) around.push(p);
  const drawn = around.some(p => getComputedStyle(p).outlineStyle !== 'none' && parseFloat(getComputedStyle(p).outlineWidth) > 0);
  const inner = e.shadowRoot ? e.shadowRoot.innerHTML.slice(0, 50) : '';
  window.reached.set(e, (window.reached.get(e) || false) || drawn);
  return e.outerHTML.slice(0, 90) + inner;
}"""
UNREACHED = "window.wanted.filter(e => !window.reached.has(e)).map(e => e.outerHTML.slice(0, 150))"
UNSEEN = "[...window.reached].filter(([e, drawn]) => !drawn).map(([e]) => e.outerHTML.slice(0, 150))"


def walk(page: Page) -> list[str]:
    """Where Tab leads, from the page's top until it has left it."""
    steps: list[str] = []
    for _ in range(MOST_STEPS):
        page.keyboard.press("Tab")
        here = [found for frame in page.frames if (found := frame.evaluate(HERE))]
        if not here and steps:
            return steps
        steps += here[-1:]
    raise AssertionError(f"the focus is still in the page after {MOST_STEPS} steps, at {steps[-3:]}")


@pytest.mark.parametrize("name", PAGES)
def test_tab_reaches_all_shows_where_it_is_and_leaves(visit: Visit, address: str, name: str) -> None:
    """Nothing that can be clicked is left out, no focus is unseen, and none is a trap; in frames and lists too."""
    page = visit.page
    query, last = PAGES[name]
    page.goto(f"{address}/{query}")
    expect(page.locator("p.answer").first).to_be_visible(timeout=WAIT_MS)
    expect(page.locator(last).first).to_be_visible(timeout=WAIT_MS)
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(1000)  # the map's frame is drawn after the last request
    for frame in page.frames:
        frame.evaluate(CLICKABLE)
    assert len(walk(page)) >= 10
    for frame in page.frames:
        assert frame.evaluate(UNREACHED) == []
        assert frame.evaluate(UNSEEN) == []
    assert visit.outside() == []


def test_enter_and_space_do_what_a_click_does(visit: Visit, address: str) -> None:
    """A site on the map and in the list, a column's head, what unfolds, a tick, a file, and the menu."""
    page = visit.page

    def press(what: Locator, key: str) -> None:
        what.focus()
        page.keyboard.press(key)

    page.goto(f"{address}/?{PERIOD}")
    marker = page.frame_locator("iframe").first.locator(".patch[title^='Chigwa']")
    expect(marker).to_be_visible(timeout=WAIT_MS)
    press(marker, "Enter")
    expect(page.locator("h2#site")).to_contain_text("Chigwa", timeout=WAIT_MS)
    press(page.locator(".list button", has_text="Kwacha"), "Space")
    expect(page.locator("h2#site")).to_contain_text("Kwacha", timeout=WAIT_MS)
    press(page.locator(".list th.site button"), "Space")
    expect(page.locator(".list th.site")).to_have_attribute("aria-sort", "ascending")
    press(page.locator(".tools summary"), "Enter")
    press(page.get_by_label("Hours on site"), "Space")
    expect(page.locator(".list th", has_text="Hours on site")).to_be_visible()
    with page.expect_download(timeout=WAIT_MS):
        press(page.get_by_role("button", name="Download as CSV", exact=True).last, "Enter")
    press(page.get_by_role("link", name="Data"), "Enter")
    page.wait_for_url("**/files*", timeout=WAIT_MS)
    lid = page.locator("summary", has_text="Empty sheets for the field")
    expect(lid).to_be_visible(timeout=WAIT_MS)
    press(lid, "Space")
    expect(page.get_by_role("button", name="All sheets as ZIP")).to_be_visible(timeout=WAIT_MS)
