"""By which values a planting's crop goes: rows of the printed table, and Kc ini by wetting."""

from datetime import date

import pytest

from pipeline.agronomy.kc_ini import kc_ini
from pipeline.config import Settings
from pipeline.measures.planting_water import planting_water

BLOCKS = """
    site_id | block_id | area_ha | irrigation_method | soil
    S1      | B1       | 1       | drip              | sand
    S2      | B1       | 1       | furrow            | silt
"""
SITES = """
    site_id | latitude | commissioned_on
    S1      | -13.5    | 2026-01-01
    S2      | 13.5     | 2026-01-01
"""
PLANTINGS = """
    site_id | block_id | crop   | planted_on
    S1      | B1       | tomato | 2026-04-01
    S2      | B1       | tomato | 2026-04-01
"""
SPANS = "SELECT site_id, crop_row, last_day - planted_on + 1 FROM planting_spans ORDER BY 1"


def weather(days, rain=None):
    """Days of April, dry but for those named."""
    rows = [
        f"W{sign} | {sign}13.5 | 2026-04-{day:02d} | {(rain or {}).get(day, 0)}"
        for sign in ("-", "")
        for day in days
    ]
    return "station_id | latitude | day | rain_mm\n" + "\n".join(rows)


@pytest.fixture
def programme(measure):
    """Two sites with tomato, planted in April south and north of the equator."""

    def of(settings=None, **given):
        plain = {"sites": SITES, "blocks": BLOCKS, "plantings": PLANTINGS, "weather": weather(range(1, 31))}
        return measure(settings, **plain | given)

    return of


def test_a_crop_goes_by_its_default_row(programme):
    """Tomato of the Mediterranean, 145 days (FAO-56 Table 11), wherever it stands."""
    assert programme().rows(SPANS) == [("S1", "", 145), ("S2", "", 145)]


def test_a_planting_goes_by_the_row_of_its_month_where_it_is_set_so(programme):
    """April is autumn in the south: tomato of an arid region planted in October and November, 180 days."""
    found = programme(Settings(crop_rows="by_planting"))
    assert found.rows(SPANS) == [("S1", "arid region, oct nov", 180), ("S2", "", 145)]


def test_the_programmes_own_crop_goes_before_any_row(programme):
    """Own tomato of 40 days, planted in any month."""
    own = """
        crop   | kc_ini | kc_mid | kc_end | ini_days | dev_days | mid_days | late_days
        Tomato | 0.6    | 1.1    | 0.8    | 10       | 10       | 10       | 10
    """
    found = programme(Settings(crop_rows="by_planting"), crops=own)
    assert found.rows(SPANS) == [("S1", "", 40), ("S2", "", 40)]


def test_kc_ini_follows_how_often_the_soil_is_wetted(programme):
    """Drip on sand every other day with 10 mm: eq. 60 on 0.35 of the surface; furrows wet 0.8 of it."""
    found = programme(Settings(kc_ini_by_wetting=True))
    days = found.rows(
        """SELECT site_id, min(kc), max(kc), avg(et0_mm) FROM block_days JOIN site_weather USING (site_id, day)
           GROUP BY ALL ORDER BY 1"""
    )
    for (_, low, high, et0), coarse, share in zip(days, (True, False), (0.35, 0.8), strict=True):
        assert low == high == pytest.approx(float(kc_ini(et0, 2.0, 10.0, coarse, share)))


def test_rain_that_comes_oftener_than_irrigation_wets_the_whole_soil(programme):
    """12 mm on every third day, irrigation each tenth: by the rain, on all of the surface."""
    rained = weather(range(1, 31), dict.fromkeys(range(1, 31, 3), 12))
    found = programme(Settings(kc_ini_by_wetting=True, wetting_interval_days=10.0), weather=rained)
    ((kc, et0),) = found.rows(
        """SELECT max(kc), avg(et0_mm) FROM block_days JOIN site_weather USING (site_id, day) WHERE site_id = 'S1'"""
    )
    assert kc == pytest.approx(float(kc_ini(et0, 30 / 10.5, 12.0, coarse=True)))


def test_kc_ini_reaches_no_further_than_the_development(programme):
    """Of 30 and 40 days: half of the change is left in the middle of the second stage, none at mid-season."""
    planted = PLANTINGS.replace("2026-04-01", "2026-02-01")
    early = weather(range(1, 31)).replace("2026-04", "2026-02").replace("2026-02-29", "2026-03-01")
    days = early.replace("2026-02-30", "2026-03-22")  # the 50th day: 20 into the second stage
    plain, wetted = (
        programme(Settings(kc_ini_by_wetting=on), plantings=planted, weather=days) for on in (False, True)
    )
    query = (
        "SELECT kc FROM block_days WHERE site_id = 'S1' AND day IN ('2026-02-01', '2026-03-22') ORDER BY day"
    )
    (first, half), (first_wetted, half_wetted) = ([kc for (kc,) in p.rows(query)] for p in (plain, wetted))
    assert first_wetted != first
    assert half_wetted - half == pytest.approx((first_wetted - first) / 2)


def test_roots_grow_through_the_stages_of_the_row(programme):
    """Half grown after half of the first two stages: 35 of 70 days by default, 40 of 80 by the row."""
    rows = []
    for choice, day in (("default", "2026-05-06"), ("by_planting", "2026-05-11")):
        days = weather(range(1, 31)).replace("2026-04-30", day)
        found = programme(Settings(crop_rows=choice, default_soil="sand"), weather=days)
        rows += found.rows(f"SELECT taw_mm FROM root_zone_days WHERE site_id = 'S1' AND day = '{day}'")
    (half, other) = (taw for (taw,) in rows)
    assert half == other == pytest.approx(80 * (0.2 + 0.7) / 2)  # 0.7 m in Table 22, 0.2 m at planting


def test_a_planting_says_by_which_values_it_goes(programme):
    """The default row, the row of its month, and none where the programme has its own crop."""
    own = """
        crop   | kc_ini | kc_mid | kc_end | ini_days | dev_days | mid_days | late_days
        Tomato | 0.6    | 1.1    | 0.8    | 10       | 10       | 10       | 10
    """
    told = []
    for settings, given in (
        (Settings(), {}),
        (Settings(crop_rows="by_planting"), {}),
        (Settings(), {"crops": own}),
    ):
        found = planting_water(
            programme(settings, **given), date(2026, 4, 1), date(2026, 4, 30), sites=["S1"]
        )
        told += found.column("stages_of").to_pylist()
    assert told == ["mediterranean, apr may", "arid region, oct nov", None]
