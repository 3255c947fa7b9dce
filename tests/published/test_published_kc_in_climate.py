"""Kc adjusted to the climate, from files to figures, as the programme's setting asks for it.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56. A day's lowest
humidity follows from its mean: e°(24) is 2.984, e°(28) 3.780, e°(16) 1.818 and e°(32) 4.755 kPa
(eq. 11; Annex 2, Table 2.3, p. 215). Without the setting the tables count: `test_published_need.py`.
"""

import pytest

DAY = "2026-03-01"
# climate of a station: latitude, tmin_c, tmax_c, the lowest and the mean humidity [%], wind_2m_ms
CLIMATES = {
    "humid": (0.0, 24, 28, 75 * 3.780 / 3.382, 1.3),
    "arid": (5.0, 16, 32, 44 * 4.755 / 3.287, 4.6),
    "dry": (10.0, 16, 32, 30 * 4.755 / 3.287, 2.2),
}
# crop, as tabulated: Kc of the middle and of the end, height; days of the middle and of the end
CROPS = {
    "tall maize": (1.20, 0.60, "2.0", 1, 0),
    "beans": (1.15, 0.35, "0.4", 1, 0),
    "beans at the end": (1.15, 0.35, "0.4", 0, 1),
    "maize at the end": (1.20, 0.60, "2.0", 0, 1),
    "nobody measured it": (1.20, 0.60, "", 1, 0),
}


@pytest.fixture(scope="module")
def programme(load):
    """A site in each climate, where each crop stands on a block of its own for one day."""
    blocks = {crop: f"B{n}" for n, crop in enumerate(CROPS)}
    return load(
        settings={"kc_in_climate": "yes"},
        sites="site_id|name|latitude|longitude|elevation_m|commissioned_on\n"
        + "\n".join(f"{site}|{site}|{latitude}|0|0|{DAY}" for site, (latitude, *_) in CLIMATES.items()),
        blocks="site_id|block_id|area_ha\n"
        + "\n".join(f"{site}|{block}|1" for site in CLIMATES for block in blocks.values()),
        crops="crop|kc_ini|kc_mid|kc_end|height_m|ini_days|dev_days|mid_days|late_days\n"
        + "\n".join(
            f"{crop}|0.3|{middle}|{end}|{height}|0|0|{mid}|{late}"
            for crop, (middle, end, height, mid, late) in CROPS.items()
        ),
        plantings="site_id|block_id|crop|planted_on\n"
        + "\n".join(f"{site}|{block}|{crop}|{DAY}" for site in CLIMATES for crop, block in blocks.items()),
        weather="station_id|latitude|longitude|elevation_m|day|tmin_c|tmax_c|rh_mean_pct|wind_2m_ms|rain_mm\n"
        + "\n".join(
            f"{site}|{latitude}|0|0|{DAY}|{tmin}|{tmax}|{humidity}|{wind}|0"
            for site, (latitude, tmin, tmax, humidity, wind) in CLIMATES.items()
        ),
    )


@pytest.mark.parametrize(
    ("site", "crop", "kc"),
    [
        # FAO-56, Example 27, p. 125, eq. 62: 1.3 m/s and 75 %, 4.6 m/s and 44 %
        ("humid", "tall maize", 1.07),
        ("arid", "tall maize", 1.30),
        # FAO-56, Box 15, p. 130: 2.2 m/s and 30 %
        ("dry", "beans", 1.19),
        # FAO-56, p. 127, eq. 65: below 0.45 the end stays as tabulated, in any climate
        ("humid", "beans at the end", 0.35),
        ("arid", "beans at the end", 0.35),
        # without a height there is nothing to adjust by
        ("arid", "nobody measured it", 1.20),
    ],
)
def test_coefficient_in_a_climate(programme, site, crop, kc):
    """Each as printed, by two digits."""
    block = f"B{list(CROPS).index(crop)}"
    query = f"SELECT kc FROM block_days WHERE site_id = '{site}' AND block_id = '{block}' AND day = '{DAY}'"
    assert programme.rows(query) == [(pytest.approx(kc, abs=0.0051),)]


def test_an_end_above_the_limit_is_adjusted(programme):
    """Maize harvested wet: 0.60 goes up where it is arid and down where it is humid."""
    # FAO-56, p. 127, eq. 65
    query = "SELECT kc FROM block_days WHERE site_id = '{}' AND block_id = 'B3'"
    humid, arid = (programme.rows(query.format(site))[0][0] for site in ("humid", "arid"))
    assert humid < 0.60 < arid
