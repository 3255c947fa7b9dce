"""Start the dashboard: `python -m dashboard.serve --store DIR`, on this machine's own address."""

import os
import subprocess
import sys
from pathlib import Path

import click

from dashboard.look import DARK, LIGHT, Palette


def _theme(name: str, colours: Palette) -> dict[str, str]:
    """The framework's own fields and menus in our colours; of two themes it shows the one of the reader's system."""
    return {
        f"theme.{name}.backgroundColor": colours.ground,
        f"theme.{name}.secondaryBackgroundColor": colours.paper,
        f"theme.{name}.textColor": colours.ink,
        f"theme.{name}.primaryColor": colours.water,
    }


OPTIONS = (
    {
        "server.address": "127.0.0.1",
        "server.enableStaticServing": "true",
        "server.fileWatcherType": "none",
        "server.maxUploadSize": "1000",
        "browser.gatherUsageStats": "false",
        "client.showErrorDetails": "none",
        "client.toolbarMode": "minimal",
    }
    | _theme("light", LIGHT)
    | _theme("dark", DARK)
)


def command(port: int, *, open_browser: bool) -> list[str]:
    """Return the command that serves the dashboard."""
    server = Path(__file__).with_name("server.py")
    options = OPTIONS | {"server.port": str(port), "server.headless": str(not open_browser).lower()}
    flags = [text for name, value in options.items() for text in (f"--{name}", value)]
    return [sys.executable, "-m", "streamlit", "run", str(server), *flags]


@click.command()
@click.option("--store", type=click.Path(path_type=Path), required=True)
@click.option("--port", default=8501, show_default=True)
@click.option("--no-browser", is_flag=True)
@click.option("--basemap", type=click.Path(path_type=Path))
def serve(store: Path, port: int, no_browser: bool, basemap: Path | None) -> None:  # noqa: FBT001 - a flag
    """Serve the dashboard on a store until it is stopped."""
    root = Path(__file__).parent.parent
    paths = [str(root), os.environ.get("PYTHONPATH", "")]
    environment = os.environ | {
        "SUNRILL_STORE": str(store),
        "SUNRILL_BASEMAP": str(basemap or ""),
        "PYTHONPATH": os.pathsep.join(p for p in paths if p),
    }
    try:
        done = subprocess.run(  # noqa: S603 - our own command
            command(port, open_browser=not no_browser), env=environment, check=False
        )
        sys.exit(done.returncode)
    except KeyboardInterrupt:
        sys.exit(0)


if __name__ == "__main__":
    serve()
