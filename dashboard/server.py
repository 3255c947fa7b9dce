"""The dashboard's server: the pages, the one without a script beside them, and tiles of a background map."""

import asyncio
import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import streamlit as st
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route

from dashboard import (
    data,
    maps,  # noqa: F401 - its libraries take a second to come: before anybody waits for a page
    plain,
    tiles,
)
from dashboard.access import viewer
from dashboard.week import data as week_data
from pipeline.errors import SunrillError

LOOKED_BACK_AT_MOST = 500  # sites: of more, looking back takes minutes of a laptop that somebody is at


@asynccontextmanager
async def _ready(_app: st.App) -> AsyncIterator[dict[str, Any]]:
    """Ask the first page's questions while the server starts, then the week's: their answers are kept."""
    asking = asyncio.create_task(run_in_threadpool(_ask))
    yield {}
    await asking


def _ask() -> None:
    try:
        version, who = data.version(), viewer()
        plain.plain_page(version, who, {})
        days = data.known_days(version, who) if version else None
        if days and len(data.sites(version, who)) <= LOOKED_BACK_AT_MOST:
            since, to = week_data.usual_days(days)
            if since:
                week_data.changed(version, who, since, to)
    except SunrillError as error:  # the page will say the same to whoever opens it
        logging.getLogger(__name__).warning("%s", error)


HERE = Path(__file__).parent
PAGES = ("", *(page.stem for page in (HERE / "views").glob("[!_]*.py")))
FRAME = (Path(st.__file__).parent / "static" / "index.html").read_text(encoding="utf-8")


async def _framed(_request: Request) -> HTMLResponse:
    """Answer with the framework's own first page, which would be white in the dark until its scripts have come."""
    page = FRAME.replace("<head>", '<head><meta name="color-scheme" content="light dark">', 1)
    return HTMLResponse(page, headers={"Cache-Control": "no-cache"})


app = st.App(
    HERE / "app.py",
    lifespan=_ready,
    routes=[
        Route("/plain", plain.respond),
        Route(tiles.ROUTE, tiles.respond),
        *(Route(f"/{page}", _framed) for page in PAGES),
    ],
)
