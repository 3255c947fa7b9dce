"""Start the dashboard: `python -m dashboard.serve --store DIR`, on this machine's own address."""

import os
from pathlib import Path

import click
from streamlit.web.cli import main as framework

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
        "server.showEmailPrompt": "false",  # the dashboard comes up without a question
        "browser.gatherUsageStats": "false",
        "client.showErrorDetails": "none",
        "client.showErrorLinks": "false",
        "client.toolbarMode": "minimal",
        "logger.level": "error",  # that no page runs yet is no news while the server starts
    }
    | _theme("light", LIGHT)
    | _theme("dark", DARK)
)


def flags(port: int, *, open_browser: bool) -> list[str]:
    """Return the options as the framework's command takes them."""
    options = OPTIONS | {"server.port": str(port), "server.headless": str(not open_browser).lower()}
    return [text for name, value in options.items() for text in (f"--{name}", value)]


@click.command()
@click.option("--store", type=click.Path(path_type=Path), required=True)
@click.option("--port", default=8501, show_default=True)
@click.option("--no-browser", is_flag=True)
@click.option("--basemap", type=click.Path(path_type=Path))
def serve(store: Path, port: int, no_browser: bool, basemap: Path | None) -> None:  # noqa: FBT001 - a flag
    """Serve the dashboard on a store until it is stopped."""
    os.environ |= {"SUNRILL_STORE": str(store), "SUNRILL_BASEMAP": str(basemap or "")}
    server = Path(__file__).with_name("server.py")
    framework(["run", str(server), *flags(port, open_browser=not no_browser)])


if __name__ == "__main__":
    serve()
