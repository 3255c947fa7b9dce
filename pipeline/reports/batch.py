"""The wall sheets of many sites: planned together, drawn one by one; where one can't be made, why."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.errors import SunrillError
from pipeline.reports import pages
from pipeline.reports.wall_sheet import WallSheet
from pipeline.reports.wall_sheets import file_name, wall_sheets
from pipeline.scheduling import Week, weeks_of
from pipeline.scheduling.standing import Standing
from pipeline.store import Reader

AT_ONCE = 50  # sites that are planned between two steps of a bar: each step asks the store anew
REPORT = "sheets.csv"
REPORT_COLUMNS = ("site_id", "site", "file", "remark", "about_the_week")


@dataclass(frozen=True)
class Made:
    """What became of a site's sheet.

    Attributes
    ----------
    site_id, site
        Where.
    file
        The name for its file; empty where it can't be made.
    remark
        Why not and how to mend that, or what the page says otherwise than the records.
    about_the_week
        What the office must know of the week.
    pdf, sheet
        The page, and what stands on it; empty and None where it can't be made.
    """

    site_id: str
    site: str
    file: str = ""
    remark: str = ""
    about_the_week: str = ""
    pdf: bytes = b""
    sheet: WallSheet | None = None

    @property
    def row(self) -> dict[str, str]:
        """The site's row of the report."""
        return {name: getattr(self, name) for name in REPORT_COLUMNS}


def plan(
    reader: Reader,
    sites: Sequence[str],
    first_day: date,
    *,
    standing: Standing | None = None,
    watch: Callable[[int, int], None],
) -> tuple[list[Week], list[Made]]:
    """Return the weeks that can be planned, and what is to be said of each site whose week can't.

    Parameters
    ----------
    sites
        Ids that the store knows.
    first_day
        The first of the seven days.
    watch
        Told how many sites are done, of how many.
    """
    weeks, refused = [], []
    names = {row["site_id"]: row["name"] for row in reader.rows("SELECT site_id, name FROM sites")}
    for at in range(0, len(sites), AT_ONCE):
        found = weeks_of(reader, sites[at : at + AT_ONCE], first_day, standing=standing)
        for site_id, week in found.items():
            if isinstance(week, Week):
                weeks.append(week)
            else:
                refused.append(_refused(site_id, names[site_id], week))
        watch(min(at + AT_ONCE, len(sites)), len(sites))
    return weeks, refused


def draw(reader: Reader, weeks: Sequence[Week], language: str) -> Iterator[Made]:
    """Yield what becomes of each week's sheet, in their order, as soon as it is drawn."""
    sheets = wall_sheets(reader, weeks, language, reader.settings.changeover_min)
    for week, sheet in zip(weeks, sheets, strict=True):
        try:
            pdf = pages.pdf([sheet])
        except SunrillError as error:  # such as more blocks than a page has room for
            made = _refused(sheet.site_id, sheet.site_name, error, " ".join(week.remarks))
        else:
            made = Made(
                sheet.site_id,
                sheet.site_name,
                file_name(sheet.site_id, week.from_day),
                " ".join(pages.unlike(sheet)),
                " ".join(week.remarks),
                pdf,
                sheet,
            )
        yield made


def _refused(site_id: str, site: str, error: SunrillError, about: str = "") -> Made:
    return Made(site_id, site, remark=error.fault.in_a_line(), about_the_week=about)
