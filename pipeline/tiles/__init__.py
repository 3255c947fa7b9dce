"""Background maps: a file with tiles as pictures, given by the user; read tile by tile, never whole."""

from pipeline.tiles.kept import keep, kept, remove
from pipeline.tiles.tile_file import Tile, TileFile, open_tiles

__all__ = ["Tile", "TileFile", "keep", "kept", "open_tiles", "remove"]
