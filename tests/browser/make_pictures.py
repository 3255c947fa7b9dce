"""Make the pictures anew: `uv run python -m tests.browser.make_pictures`.

`portfolio.png`, which the README shows, is the portfolio of the whole demo programme on a laptop.
The others are of the browser tests' programme of three sites, which compare themselves with them
(`test_browser_pictures.py`). Look at each before committing it.
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from pipeline.store import Store
from tests.browser.conftest import CHROMIUM, FLAGS, serve, stop
from tests.browser.taking import PICTURES, SIZES, TAKEN, VIEWS, picture_of, take
from tests.unit.dashboard.conftest import lay_programme
from tests.unit.dashboard.sprays_programme import lay_sprays


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        small = lay_programme(Path(folder))
        process, address = serve(small.path)
        for view, size, look in TAKEN:
            seen = take(browser, f"{address}/{VIEWS[view]}", size, look)
            picture_of(view, size, look).write_bytes(seen)
        stop(process)
        process, address = serve(lay_sprays(small, Path(folder) / "sprays").path)
        for size in SIZES:
            (PICTURES / f"sprays_{size}.png").write_bytes(take(browser, f"{address}/sprays?site=N1", size))
        stop(process)
        whole = Path(folder) / "whole"
        command = shutil.which("sunrill", path=str(Path(sys.executable).parent)) or "sunrill"
        subprocess.run([command, "demo", "--no-dashboard", "--store", str(whole)], check=True)
        process, address = serve(Store(whole).path)
        (PICTURES / "portfolio.png").write_bytes(take(browser, f"{address}/", "laptop"))
        stop(process)
        browser.close()


if __name__ == "__main__":
    main()
