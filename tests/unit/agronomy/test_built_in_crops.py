"""The list of built-in crops and the names that lead to it."""

from collections import Counter

import pytest

from pipeline.agronomy.crops import OTHER_NAMES, built_in_crops, crop_name, crops_by_region
from pipeline.agronomy.soils import soils


def test_there_are_the_crops_of_smallholder_irrigation():
    """At least thirty, the staples among them."""
    staples = {"maize", "rice", "tomato", "onion_dry", "cabbage", "beans_dry", "sweet_potato", "groundnut"}
    assert len(built_in_crops()) >= 30
    assert staples <= built_in_crops().keys()


def test_each_crop_has_one_default_region():
    """Never none, never two."""
    defaults = Counter(crop.crop for crop in crops_by_region() if crop.is_default)
    assert set(defaults) == {crop.crop for crop in crops_by_region()}
    assert set(defaults.values()) == {1}


def test_a_crop_and_region_and_planting_time_is_one_row():
    """No row stands twice, but where Table 11 has two lengths for one place and time."""
    rows = Counter((c.crop, c.region, c.planting, c.season_days) for c in crops_by_region())
    assert max(rows.values()) == 1


@pytest.mark.parametrize("crop", crops_by_region(), ids=lambda c: f"{c.crop}, {c.region}, {c.planting}")
def test_values_are_possible(crop):
    """Kc within 0.15 to 1.25, stages of at least a day, roots and fractions in their ranges."""
    assert all(0.15 <= kc <= 1.25 for kc in (crop.kc_ini, crop.kc_mid, crop.kc_end))
    assert min(crop.ini_days, crop.dev_days, crop.mid_days, crop.late_days) >= 1
    assert 0 < crop.root_depth_min_m <= crop.root_depth_max_m <= 3
    assert 0.1 <= crop.depletion_fraction <= 0.8
    assert crop.height_m > 0
    assert crop.yield_response is None or 0.5 < crop.yield_response < 1.5


@pytest.mark.parametrize("written", OTHER_NAMES)
def test_another_name_leads_to_a_crop_and_hides_none(written):
    """Its target is on the list, and it is not itself a name on the list."""
    assert crop_name(written) == OTHER_NAMES[written]
    assert written not in built_in_crops()


@pytest.mark.parametrize("written", ["Tomato", " tomato ", "TOMATOES", "tomatoes"])
def test_case_and_spaces_do_not_matter(written):
    """However the sheet has it."""
    assert crop_name(written) == "tomato"


@pytest.mark.parametrize("written", ["fallow", "", "dragon fruit", "tomato\n; drop"])
def test_an_unknown_crop_is_not_guessed(written):
    """None, so that its need stays unknown."""
    assert crop_name(written) is None


@pytest.mark.parametrize("soil", soils().values(), ids=lambda s: s.soil)
def test_a_soil_holds_more_at_field_capacity_than_at_wilting_point(soil):
    """Ranges the right way round, and water between them."""
    assert soil.theta_wp_min < soil.theta_wp_max < soil.theta_fc_max
    assert soil.theta_fc_min < soil.theta_fc_max
    assert soil.readily_evaporable_max_mm < soil.total_evaporable_max_mm
    assert 50 < soil.available_water_mm_m < 200
