"""How soon a page shows what it is opened for, by number of sites, and what it weighs.

`python -m tests.benchmarks.pages` writes results/pages.json. Times are ratios to an empty page of the
framework, served and opened the same way in the same run.
"""

import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from typing import Any

import click
from playwright.sync_api import Browser, Page, sync_playwright

from tests.benchmarks.programmes import loaded
from tests.benchmarks.record import record
from tests.benchmarks.slow_link import slow_link
from tests.browser.conftest import CHROMIUM, FLAGS, serve, serve_script, stop

WAIT_MS = 600_000
EMPTY = 'import streamlit as st\nst.html("<p class=\\"answer\\">Nothing.</p>")\n'


@contextmanager
def empty_page(folder: Path) -> Iterator[str]:
    """Serve a page with one word."""
    script = folder / "empty.py"
    script.write_text(EMPTY)
    process, address = serve_script(script)
    yield address
    stop(process)


class Weighed:
    """A fresh page, and the bytes that came for it, compressed as they came."""

    def __init__(self, browser: Browser) -> None:
        self.page = browser.new_page(viewport={"width": 1366, "height": 768})
        self.bytes = 0
        session = self.page.context.new_cdp_session(self.page)
        session.send("Network.enable")
        session.on("Network.loadingFinished", self._came)
        session.on("Network.webSocketFrameReceived", self._told)

    def _came(self, event: dict[str, Any]) -> None:
        self.bytes += int(event["encodedDataLength"])

    def _told(self, event: dict[str, Any]) -> None:
        data = event["response"]["payloadData"]
        self.bytes += len(data) * 3 // 4 if event["response"]["opcode"] == 2 else len(data)


def sentence(page: Page) -> None:
    page.locator("p.answer").first.wait_for(timeout=WAIT_MS)


def useful(page: Page) -> None:
    """Sentence, map and list are there."""
    sentence(page)
    page.frame_locator("iframe").first.locator(".patch, canvas").first.wait_for(timeout=WAIT_MS)
    page.locator(".list tbody tr").first.wait_for(timeout=WAIT_MS)


def opened(browser: Browser, address: str, ready: Callable[[Page], None]) -> tuple[float, int]:
    """Open a page afresh; return the seconds until it is ready, and the bytes that came."""
    weighed = Weighed(browser)
    start = time.perf_counter()
    weighed.page.goto(address, timeout=WAIT_MS, wait_until="commit")
    ready(weighed.page)
    taken = time.perf_counter() - start
    weighed.page.wait_for_timeout(500)
    weighed.page.close()
    return taken, weighed.bytes


def filtered(browser: Browser, address: str) -> float:
    """Return the seconds from choosing a district to the sentence about it."""
    page = browser.new_page(viewport={"width": 1366, "height": 768})
    page.goto(address, timeout=WAIT_MS)
    useful(page)
    page.wait_for_timeout(1500)
    field = page.locator(".st-key-chosen-district input, .st-key-chosen\\.district input").first
    before = page.locator("p.answer").first.inner_text()
    field.click()
    page.get_by_role("option").first.wait_for()
    start = time.perf_counter()
    page.get_by_role("option").first.click()
    page.wait_for_function(
        "before => document.querySelector('p.answer')?.innerText != before", arg=before, timeout=WAIT_MS
    )
    useful(page)
    taken = time.perf_counter() - start
    page.close()
    return taken


def of_size(browser: Browser, store: Path, empty_s: float) -> dict[str, Any]:
    """Return the first view (nobody has asked yet), a later one, and a filter, over the empty page."""
    process, address = serve(store)
    try:
        first, _ = opened(browser, address, useful)
        later = [opened(browser, address, useful) for _ in range(3)]
        plain = [opened(browser, f"{address}/plain", sentence) for _ in range(3)]
        choice = median(filtered(browser, address) for _ in range(3))
    finally:
        stop(process)
    later_s = median(seconds for seconds, _ in later)
    return {
        "first_view_s": round(first, 2),
        "later_view_s": round(later_s, 2),
        "later_over_empty": round(later_s / empty_s, 2),
        "filter_s": round(choice, 2),
        "filter_over_empty": round(choice / empty_s, 2),
        "later_kb": round(later[-1][1] / 1000),
        "plain_s": round(median(seconds for seconds, _ in plain), 2),
        "plain_kb": round(plain[-1][1] / 1000),
    }


def on_a_slow_link(browser: Browser, store: Path) -> dict[str, Any]:
    """Return the times over 256 kbit/s with 400 ms: without scripts, with them cold, with them cached."""
    process, address = serve(store)
    try:
        opened(browser, address, useful)  # the answers are kept: the link is what is measured
        with slow_link(int(address.rpartition(":")[2])) as slow:
            plain_s, plain_bytes = opened(browser, f"{slow}/plain", sentence)
            context = browser.new_context(viewport={"width": 1366, "height": 768})
            taken = []
            for _ in ("cold", "warm"):
                page = context.new_page()
                start = time.perf_counter()
                page.goto(slow, timeout=WAIT_MS, wait_until="commit")
                useful(page)
                taken.append(round(time.perf_counter() - start, 1))
                page.close()
            context.close()
    finally:
        stop(process)
    return {
        "plain_s": round(plain_s, 1),
        "plain_kb": round(plain_bytes / 1000),
        "cold_s": taken[0],
        "warm_s": taken[1],
    }


@click.command()
@click.option("--sites", multiple=True, type=int, default=(60, 1000, 10_000), show_default=True)
@click.option(
    "--keep", type=click.Path(path_type=Path), help="Lay the programmes here, or take those that lie here."
)
def main(sites: tuple[int, ...], keep: Path | None) -> None:
    """Lay a programme of each size, and open it."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        folder = keep or Path(name)
        stores = {n: laid(folder / str(n), n) for n in sites}
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        with empty_page(Path(name)) as address:
            opened(browser, address, sentence)
            views = [opened(browser, address, sentence) for _ in range(5)]
        empty_s = median(seconds for seconds, _ in views)
        found: dict[str, Any] = {"empty_s": round(empty_s, 2), "empty_kb": round(views[-1][1] / 1000)}
        for n, store in stores.items():
            found[f"sites_{n}"] = of_size(browser, store, empty_s)
        found["slow_link"] = on_a_slow_link(browser, stores[min(sites)])
        record("pages", found)
        browser.close()


def laid(folder: Path, sites: int) -> Path:
    """Return the store of a programme on paper, 60 days long."""
    store = folder / "store"
    return store if store.exists() else loaded(folder, sites=sites, days=60, paper_only=True)[1].path


if __name__ == "__main__":
    main()
