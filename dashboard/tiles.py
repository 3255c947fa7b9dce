"""The background map that the user gave, and its tiles one by one."""

import os
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from dashboard import data
from pipeline.errors import FileFault
from pipeline.tiles import TileFile, kept, open_tiles

ROUTE = "/tiles/{zoom}/{column}/{row}"
DIGITS = 8  # of a column at the deepest zoom, and one more
DAY_S = 86_400


def background() -> TileFile | None:
    """Return the file that this dashboard was started with, or that the store keeps; None: neither.

    Raises
    ------
    FileFault
        Where it is gone, or can't be shown.
    """
    given = os.environ.get("SUNRILL_BASEMAP")
    path = Path(given) if given else kept(data.store().path)
    return None if path is None else open_tiles(path)


def address(tiles: TileFile) -> str:
    """Return the address of its tiles for a map; another file has another, so that a browser may keep them."""
    return f"/tiles/{{z}}/{{x}}/{{y}}?of={tiles.mark}"


def respond(request: Request) -> Response:
    """Answer with a tile, with nothing where the file has none, or with 404 where there is no such place or file."""
    asked = [request.path_params[name] for name in ("zoom", "column", "row")]
    if not all(text.isascii() and text.isdigit() and len(text) <= DIGITS for text in asked):
        return Response(status_code=404)
    try:
        tiles = background()
        if tiles is None:
            return Response(status_code=404)
        mark = f'"{tiles.mark}"'
        headers = {
            "ETag": mark,
            "Cache-Control": f"private, max-age={DAY_S}",
            "X-Content-Type-Options": "nosniff",
        }
        if request.headers.get("If-None-Match") == mark:
            return Response(status_code=304, headers=headers)
        tile = tiles.tile(*map(int, asked))
    except FileFault:  # the page tells of it
        return Response(status_code=404)
    if tile is None:
        return Response(status_code=204, headers=headers)
    return Response(tile.content, media_type=tile.media_type, headers=headers)
