"""A real dashboard on a real store, in a real Chromium."""

import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from data_demo import generate
from pipeline.measures import run
from pipeline.store import Store, open_store

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"]  # fmt: skip

HOSTILE = (
    "<script>window.ran=1</script>",
    "<img src=x onerror=window.ran=1>",
    "${window.ran=1}`\\",
    "![x](http://example.invalid/a.png)",
    "=cmd|'/c calc'!A0",
    "{{7*7}} **bold** :red[x]",
    "A" * 200,
)


@dataclass
class Visit:
    """A page and every request that it sent."""

    page: Page
    requests: list[str] = field(default_factory=list)

    def outside(self) -> list[str]:
        """Return the requests that left the machine."""
        return [
            u
            for u in self.requests
            if not u.startswith(("http://127.0.0.1:", "ws://127.0.0.1:", "data:", "blob:"))
        ]


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
def small_store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    """The demo programme in small, and sites whose names would run if they could."""
    folder = tmp_path_factory.mktemp("browser")
    files = generate(folder / "demo", sites=8, days=150)
    store = open_store(folder / "store", create=True)
    store.change_setting("timezone", "Africa/Blantyre")
    for delivery in sorted((files / "deliveries").iterdir()):
        store.load(
            [delivery], arrived_at=datetime.fromisoformat(f"{delivery.name}T12:00:00").replace(tzinfo=UTC)
        )
    store.load([_hostile(folder)])
    run.refresh(store)
    return store


def _hostile(folder: Path) -> Path:
    path = folder / "sites_hostile.csv"
    rows = [f'H{i},"{name.replace(chr(34), chr(34) * 2)}","{name.replace(chr(34), chr(34) * 2)}",-13.6,{33.5 + i / 50}' for i, name in enumerate(HOSTILE)]  # fmt: skip
    path.write_text("site_id,name,district,latitude,longitude\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def serve(store: Path) -> tuple[subprocess.Popen[bytes], str]:
    """Start the dashboard on a store and return it with its address once it answers."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [
        sys.executable,
        "-m",
        "dashboard.serve",
        "--store",
        str(store),
        "--port",
        str(port),
        "--no-browser",
    ]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    for _ in range(120):
        try:
            urllib.request.urlopen(f"{address}/_stcore/health", timeout=1).close()
        except OSError:
            time.sleep(0.25)
        else:
            return process, address
    process.kill()
    raise AssertionError("the dashboard did not answer within half a minute")


def stop(process: subprocess.Popen[bytes]) -> None:
    """Stop a served dashboard with the process that it started."""
    subprocess.run(["pkill", "-P", str(process.pid)], check=False)
    process.terminate()
    process.wait(timeout=20)


@pytest.fixture(scope="session")
def address(small_store: Store) -> Iterator[str]:
    """The address of the dashboard on the small store."""
    process, found = serve(small_store.path)
    yield found
    stop(process)


@pytest.fixture
def visit(chromium: Browser) -> Iterator[Visit]:
    """A fresh page on a laptop's screen."""
    page = chromium.new_page(viewport={"width": 1366, "height": 768})
    found = Visit(page)
    page.on("request", lambda request: found.requests.append(request.url))
    page.on("websocket", lambda socket_: found.requests.append(socket_.url))
    yield found
    page.close()
