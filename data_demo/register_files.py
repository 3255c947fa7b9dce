"""The lists that are laid when a programme begins: sites, blocks, meters, people, funding, roads."""

from data_demo import people, registers
from data_demo.arrivals import delivery_of
from data_demo.chunks import Chunk
from data_demo.paper import Paper


def write_registers(paper: Paper, chunk: Chunk, *, shapes: bool) -> None:
    """Write a chunk's lists; blocks with their outlines where somebody has walked round them."""
    first, tag, sites = chunk.first_day, chunk.tag, chunk.sites
    kept = people.kept(chunk.seed, chunk.number, sites, first)
    lists = {
        "sites": list(registers.site_rows(chunk.seed, chunk.number, sites, first)),
        "site_aliases": kept.pop("site_aliases"),
    }
    paper.book(first, f"sites{tag}.xlsx", lists, title="List of sites, kept at the main office")
    blocks = list(registers.block_rows(chunk.seed, chunk.number, sites, shapes=shapes))
    if shapes:
        paper.geopackage(first, f"blocks{tag}.gpkg", blocks)
    else:
        paper.comma(first, f"blocks{tag}.csv", blocks)
    _write_meters(paper, chunk)
    paper.book(first, f"people{tag}.xlsx", kept)
    funding = registers.agreements(sites, first)
    if chunk.number:
        funding = {"agreement_sites": funding["agreement_sites"]}
    paper.book(first, f"funding{tag}.xlsx", funding)
    given_up = registers.closed_rows(sites, first, chunk.days)
    if given_up:
        paper.comma(delivery_of(given_up[0]["decommissioned_on"]), f"sites{tag}_given_up.csv", given_up)
    exchanged = people.exchanged_controllers(sites, chunk.jobs, first)
    if exchanged:
        paper.comma(delivery_of(chunk.day(chunk.days - 1)), f"components{tag}_exchanged.csv", exchanged)
    paper.features(first, f"roads_tracks{tag}.geojson", registers.track_rows(chunk.seed, chunk.number, sites))


def _write_meters(paper: Paper, chunk: Chunk) -> None:
    """The list of meters, and some that nobody put on it until their readings had come."""
    rows = list(registers.meter_rows(chunk.meters, chunk.sites, chunk.first_day))
    late = rows[11::23]
    early = [row for row in rows if row not in late]
    paper.semicolon(chunk.first_day, f"meters{chunk.tag}.csv", early)
    if late:
        second = delivery_of(delivery_of(chunk.first_day))
        name = f"meters{chunk.tag}_late.csv"
        paper.comma(second, name, late)
        paper.note_all(second, name, [("unknown_meter_at_first", str(row["meter_id"])) for row in late])
