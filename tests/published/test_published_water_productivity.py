"""Harvest per m³ of evapotranspiration, from files to the figure, against the review that has the ranges.

Zwart, S. J., Bastiaanssen, W. G. M. (2004). Agricultural Water Management 69, 115–133, p. 121, on cotton: lint yields of
1300 kg/ha at a seasonal evapotranspiration of 390 mm (Saranga et al. 1998), of which it says that Howell et al. (1984)
"measured similar values (0.33 kg m−3)" at 617 mm; and 0.41–0.95 kg/m³ of seed cotton beside FAO-33's 0.4–0.6. What is
known of the ranges from memory alone is listed as such here.
"""

from datetime import date, timedelta

import pytest

from pipeline.agronomy.crops import built_in_crops
from pipeline.agronomy.water_productivity import published_ranges
from pipeline.measures.harvest import harvest

FIRST, DAYS = date(2026, 3, 1), 125
MEMORY = {  # still to be compared with the printed page; (least, most) kg/m³
    ("tomato", "FAO-33"): (10, 12),
    ("cabbage", "FAO-33"): (12, 20),
    ("onion_dry", "FAO-33"): (8, 10),
    ("potato", "FAO-33"): (4, 7),
    ("pepper_bell", "FAO-33"): (1.5, 3),
    ("beans_green", "FAO-33"): (1.5, 2),
    ("beans_dry", "FAO-33"): (0.3, 0.6),
    ("groundnut", "FAO-33"): (0.6, 0.8),
    ("maize", "FAO-33"): (0.8, 1.6),
    ("maize", "Zwart & Bastiaanssen 2004"): (1.1, 2.7),
    ("wheat", "Zwart & Bastiaanssen 2004"): (0.6, 1.7),
    ("rice", "Zwart & Bastiaanssen 2004"): (0.6, 1.6),
}
QUOTED = {
    ("cotton", "FAO-33"): (0.4, 0.6),
    ("cotton", "Zwart & Bastiaanssen 2004"): (0.41, 0.95),
}


def test_every_range_stands_as_its_source_has_it():
    """Quoted where the text was read, from memory where it wasn't; none beside these."""
    found = [of for ranges in published_ranges().values() for of in ranges]
    for known, how in ((MEMORY, "memory"), (QUOTED, "quoted")):
        assert {
            (of.crop, of.source): (of.least_kg_m3, of.most_kg_m3) for of in found if of.how_known == how
        } == known
    assert {of.crop for of in found} <= set(built_in_crops())


@pytest.mark.parametrize(("yield_kg_ha", "et_mm"), [(1300, 390), (2036, 617)])
def test_kilograms_of_a_hectare_over_its_millimetres(load, weather, yield_kg_ha, et_mm):
    """A hectare of cotton that takes these millimetres in 125 days: 0.33 kg/m³, as the review reckons; 10 m³ a millimetre."""
    days = [FIRST + timedelta(days=n) for n in range(DAYS)]
    stored = load(
        sites="site_id|name|latitude|longitude|elevation_m|commissioned_on\nS1|one|0|0|0|2026-03-01",
        blocks="site_id|block_id|area_ha|soil\nS1|B1|1|loam",
        crops="crop|kc_ini|kc_mid|kc_end|ini_days|dev_days|mid_days|late_days|root_depth_m|depletion_fraction\n"
        "cotton|1|1|1|30|30|30|35|1|0.5",
        plantings=f"site_id|block_id|crop|planted_on\nS1|B1|cotton|{FIRST}",
        harvests=f"site_id|block_id|crop|harvested_on|harvest_kg|how_known\nS1|B1|cotton|{days[-1]}|{yield_kg_ha}|weighed",
        weather=weather((day, et_mm / DAYS) for day in days),
    )
    with stored.store.read() as reader:
        (row,) = harvest(reader, days[0], days[-1]).to_pylist()
    assert row["etc_m3"] == pytest.approx(10 * et_mm, rel=1e-3)
    assert row["et_productivity_kg_m3"] == pytest.approx(0.33, abs=0.005)
    assert (row["compared"], row["published_how_known"]) == ("below", "quoted")
