"""Which site is meant: by its id, its alias or its own name; near names where none is."""

from difflib import get_close_matches

from duckdb import DuckDBPyConnection

from pipeline.errors import UnknownName
from pipeline.words import say

NAMES = """
    SELECT site_id, site_id AS name, 0 AS turn FROM sites
    UNION ALL SELECT site_id, alias, 1 FROM site_aliases
    UNION ALL SELECT any_value(site_id), name, 2 FROM sites GROUP BY name HAVING count(*) = 1
    ORDER BY turn, site_id, name"""


def site_of(connection: DuckDBPyConnection, written: str) -> str:
    """Return the id of the site that is meant.

    Parameters
    ----------
    connection
        With the tables sites and site_aliases.
    written : str
        An id, an alias, or a name that only one site has; case and spaces around a name don't matter.

    Raises
    ------
    UnknownName
        Where there is none, with the nearest names.
    """
    sites: dict[str, str] = {}
    for site_id, name, _ in connection.execute(NAMES).fetchall():
        sites.setdefault(name, site_id)
    if written in sites:
        return sites[written]
    folded = {_folded(name): site_id for name, site_id in sites.items()}
    if _folded(written) in folded:
        return folded[_folded(written)]
    spelled = {_folded(name): name for name in sites}
    near = [
        f"{sites[spelled[n]]} ({spelled[n]})" if sites[spelled[n]] != spelled[n] else spelled[n]
        for n in get_close_matches(_folded(written), folded, n=3)
    ]
    mend = say("measures.near_sites", names=", ".join(near)) if near else say("measures.no_such_site_mend")
    raise UnknownName(say("measures.no_such_site", site=written), mend=mend)


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())
