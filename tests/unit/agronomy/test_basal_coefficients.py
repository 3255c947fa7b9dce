"""Basal crop coefficients beside the single ones."""

from pipeline.agronomy.basal import basal_coefficients
from pipeline.agronomy.crops import built_in_crops


def test_every_built_in_crop_has_basal_coefficients():
    """The names are those of the crops."""
    assert set(basal_coefficients()) == set(built_in_crops())


def test_a_basal_coefficient_is_below_the_single_one():
    """FAO-56 Table 17 against Table 12: without the soil's evaporation less is left, in each stage."""
    for name, basal in basal_coefficients().items():
        crop = built_in_crops()[name]
        pairs = zip(basal, (crop.kc_ini, crop.kc_mid, crop.kc_end), strict=True)
        assert all(low <= high for low, high in pairs), name
