"""Crop need, from files to figures, against printed tables and arithmetic.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56. The weather is
made so that the reference evapotranspiration is the printed one; sites that want another weather
stand degrees apart, each with a station of its own.
"""

from datetime import date, timedelta

import pytest

from tests.published.examples.crops import DECADE_ET0_MM, DECADE_ETC_MM, DECADE_KC

FIRST = date(2026, 3, 1)
ON_FIRST = ("2026-03-01", "2026-03-01")

# Brouwer, Prins, Heibloem (1989), FAO Training Manual 4, Annex I, Table 8: surface, sprinkler and drip;
# from memory. That spray tubes and hoses count as sprinklers is common practice, no source
EFFICIENCY = {
    "furrow": 0.60,
    "basin": 0.60,
    "sprinkler": 0.75,
    "spray_tube": 0.75,
    "hose": 0.75,
    "drip": 0.90,
}

# site: latitude, Kc, effective rain [mm]
RAINED_ON = {"wet": (5.0, 0.75, 8.4), "damp": (10.0, 1.5, 4.0), "dry": (15.0, 1.625, 0.0)}

BEANS_LATITUDE = 20.0
SITE_LATITUDES = {"young": 0.0, "scheme": 0.0, "beans": BEANS_LATITUDE} | {
    **dict.fromkeys(EFFICIENCY, 0.0),
    **{site: latitude for site, (latitude, _, _) in RAINED_ON.items()},
}


def crop_lines() -> str:
    """Crops of 1 m with one coefficient on each of ten days: it stays as told, whatever the climate."""
    kc = {"grass": 1.0, "seedling": 0.85}
    kc |= {f"decade {n}": value for n, value in enumerate(DECADE_KC)}
    kc |= {f"crop {site}": value for site, (_, value, _) in RAINED_ON.items()}
    head = "crop|height_m|kc_ini|kc_mid|kc_end|ini_days|dev_days|mid_days|late_days\n"
    return head + "\n".join(f"{crop}|1|{value}|{value}|{value}|0|0|10|0" for crop, value in kc.items())


def planting_lines() -> str:
    """What grows where."""
    crops = {"young": "seedling", "scheme": "grass"} | dict.fromkeys(EFFICIENCY, "grass")
    crops |= {site: f"crop {site}" for site in RAINED_ON}
    lines = [f"{site}|B1|{crop}|{FIRST}" for site, crop in crops.items()]
    lines += [f"beans|B1|decade {n}|{FIRST + timedelta(days=10 * n)}" for n in range(10)]
    return "site_id|block_id|crop|planted_on\n" + "\n".join(lines)


@pytest.fixture(scope="module")
def programme(load, weather):
    """All sites of this file, a hectare each."""
    skies = [(FIRST, 4.0)]
    skies += [(FIRST + timedelta(days=n), DECADE_ET0_MM[n // 10], 0.0, BEANS_LATITUDE) for n in range(100)]
    # 80 % of a day's rain is effective
    skies += [(FIRST, 8.0, rain_mm / 0.8, latitude) for latitude, _, rain_mm in RAINED_ON.values()]
    own = {"scheme": ("furrow", 0.48), "young": ("", 1), "beans": ("", 1)} | dict.fromkeys(RAINED_ON, ("", 1))
    blocks = own | {method: (method, "") for method in EFFICIENCY}
    return load(
        sites="site_id|name|latitude|longitude|elevation_m|commissioned_on\n"
        + "\n".join(f"{site}|{site}|{latitude}|0|0|{FIRST}" for site, latitude in SITE_LATITUDES.items()),
        blocks="site_id|block_id|area_ha|irrigation_method|application_efficiency\n"
        + "\n".join(f"{site}|B1|1|{method}|{efficiency}" for site, (method, efficiency) in blocks.items()),
        crops=crop_lines(),
        plantings=planting_lines(),
        weather=weather(skies),
    )


def test_need_of_a_crop_is_coefficient_times_reference(programme):
    """0.85 × 4 mm: 3.4 mm a day in the initial stage."""
    # FAO-56, Example 24, p. 116
    assert programme.site("young", *ON_FIRST)["net_need_mm"] == 3.4


def test_need_of_a_season_by_ten_days(programme):
    """Dry beans, ten times ten days: each as printed, 368 mm in all."""
    # FAO-56, Figure 36, p. 132; the sum is ours
    seen = programme.rows(
        """SELECT avg(etc_mm) FROM block_days WHERE site_id = 'beans' AND etc_mm IS NOT NULL
           GROUP BY (day - DATE '2026-03-01') // 10 ORDER BY min(day)"""
    )
    assert [mean for (mean,) in seen] == pytest.approx(list(DECADE_ETC_MM), abs=0.06)
    season = programme.site("beans", "2026-03-01", "2026-06-30")
    assert season["net_need_mm"] == pytest.approx(368, abs=3)


@pytest.mark.parametrize("method", EFFICIENCY)
def test_gross_need_divides_by_the_methods_efficiency(programme, method):
    """4 mm on 1 ha are 40 m³ at the roots, more at the pump."""
    # FAO-56, Annex 1, p. 211 to 212: 1 m³/ha/d is 0.1 mm/d
    figures = programme.site(method, *ON_FIRST)
    assert figures["net_need_mm"] == 4.0
    assert figures["need_m3"] == pytest.approx(40 / EFFICIENCY[method], abs=0.05)


def test_the_efficiency_of_a_scheme_is_the_product_of_its_parts(programme):
    """80 % in the canal and 60 % on the field are 48 %, told as the block's own efficiency."""
    # Brouwer, Prins, Heibloem (1989), FAO Training Manual 4, Annex I: e = ec · ea / 100
    field_m3 = programme.site("furrow", *ON_FIRST)["need_m3"]
    assert programme.site("scheme", *ON_FIRST)["need_m3"] == pytest.approx(field_m3 / 0.80, abs=0.1)


def test_rain_beyond_one_need_is_not_taken_from_another(programme):
    """Needs of 6, 12 and 13 mm, 8.4, 4 and 0 mm of effective rain: 21.0 mm remain, not 18.6."""
    # definition: max(ETc − Pe, 0), clipped before adding; arithmetic, a tenth of months of
    # 60, 120 and 130 mm with 84, 40 and 0 mm (210, not 186)
    assert [programme.site(site, *ON_FIRST)["net_need_mm"] for site in RAINED_ON] == [0.0, 8.0, 13.0]
    together = programme.programme(*ON_FIRST, sites=tuple(RAINED_ON))
    assert together["need_m3"] == pytest.approx(210.0, abs=0.05)
