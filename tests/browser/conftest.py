"""A real dashboard on a real store, in a real Chromium."""

import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Dialog, Page, sync_playwright

from dashboard.serve import flags
from pipeline.measures import run
from pipeline.store import Store
from tests.browser.hostile import NAMES, write_every_text, write_hostile
from tests.unit.dashboard.conftest import lay_programme

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"]  # fmt: skip


@dataclass
class Visit:
    """A page and every request that it sent."""

    page: Page
    requests: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)

    def dismiss(self, dialog: Dialog) -> None:
        """Close a box that something opened, and keep what it said."""
        self.dialogs.append(dialog.message)
        dialog.dismiss()

    @staticmethod
    def is_own(url: str) -> bool:
        """Whether an address is on this machine, or none at all."""
        return url.startswith(("http://127.0.0.1:", "ws://127.0.0.1:", "data:", "blob:", "about:"))

    def outside(self) -> list[str]:
        """Return the requests that were meant for another machine; each was stopped."""
        return [url for url in self.requests if not self.is_own(url)]

    def ran(self) -> list[object]:
        """Return what any frame's `window.ran` was set to by what should have stayed text."""
        found = [frame.evaluate("window.ran") for frame in self.page.frames]
        return [value for value in found if value is not None] + list(self.dialogs)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """A Chromium; without one the browser tests are skipped."""
    if CHROMIUM is None:
        pytest.skip("browser tests need Chromium: apt install chromium")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def programme(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """A programme of three sites in two districts."""
    return lay_programme(tmp_path_factory.mktemp("browser"))


@pytest.fixture(scope="session")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The same, and names that would run if they could."""
    folder = tmp_path_factory.mktemp("hostile")
    store = lay_programme(folder)
    write_hostile(folder / "hostile")
    rows = 6 * len(NAMES) + write_every_text(folder / "every_text")
    report = store.load([folder / "hostile", folder / "every_text"])
    assert sum(line.taken for line in report.files) == rows
    run.refresh(store)
    return store


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def serve(store: Path, *more: str) -> tuple[subprocess.Popen[bytes], str]:
    """Start the dashboard on a store and return it with its address once it answers."""
    port = free_port()
    command = [
        sys.executable,
        "-m",
        "dashboard.serve",
        "--store",
        str(store),
        "--port",
        str(port),
        "--no-browser",
        *more,
    ]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    wait_until_healthy(process, address)
    return process, address


def serve_script(script: Path) -> tuple[subprocess.Popen[bytes], str]:
    """Start a script of the framework's with the dashboard's options, and return it with its address."""
    port = free_port()
    command = [sys.executable, "-m", "streamlit", "run", str(script), *flags(port, open_browser=False)]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    wait_until_healthy(process, address)
    return process, address


def wait_until_healthy(process: subprocess.Popen[bytes], address: str) -> None:
    """Return once a server answers."""
    for _ in range(120):
        try:
            urllib.request.urlopen(f"{address}/_stcore/health", timeout=1).close()
        except OSError:
            time.sleep(0.25)
        else:
            return
    process.kill()
    raise AssertionError("the dashboard did not answer within half a minute")


def stop(process: subprocess.Popen[bytes]) -> None:
    """Stop a served dashboard."""
    process.terminate()
    process.wait(timeout=20)


@pytest.fixture(scope="session")
def address(programme: Store) -> Iterator[str]:
    """The address of the dashboard on the programme."""
    process, found = serve(programme.path)
    yield found
    stop(process)


@pytest.fixture(scope="session")
def hostile_address(hostile: Store) -> Iterator[str]:
    """The address of the dashboard on the programme with hostile names."""
    process, found = serve(hostile.path)
    yield found
    stop(process)


@pytest.fixture
def visit(chromium: Browser) -> Iterator[Visit]:
    """A fresh page on a laptop's screen, from which nothing gets off the machine."""
    context = chromium.new_context(viewport={"width": 1366, "height": 768})
    found = Visit(context.new_page())
    context.route(lambda url: not found.is_own(url), lambda route: route.abort())
    found.page.on("request", lambda request: found.requests.append(request.url))
    found.page.on("websocket", lambda socket_: found.requests.append(socket_.url))
    found.page.on("dialog", found.dismiss)
    yield found
    context.close()
