"""The built-in crops, against rows of FAO-56 read from the print.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56:
Tables 11 (p. 104 to 108), 12 (p. 110 to 113), 22 (p. 163 to 165) and 24 (p. 181).
"""

import pytest

from pipeline.agronomy.crops import built_in_crops

# crop: (stage lengths), total; (Kc), height; (root depth), depletion fraction
PRINTED = {
    "tomato": ((30, 40, 45, 30), 145, (0.6, 1.15, 0.8), 0.6, (0.7, 1.5), 0.40),  # Kc end prints 0.70–0.90
    "onion_dry": ((15, 25, 70, 40), 150, (0.7, 1.05, 0.75), 0.4, (0.3, 0.6), 0.30),
    "pepper_bell": ((30, 35, 40, 20), 125, (0.6, 1.05, 0.9), 0.7, (0.5, 1.0), 0.30),  # initial prints 25/30
    "eggplant": ((30, 45, 40, 25), 140, (0.6, 1.05, 0.9), 0.8, (0.7, 1.2), 0.45),
    "beans_green": ((20, 30, 30, 10), 90, (0.5, 1.05, 0.9), 0.4, (0.5, 0.7), 0.45),
    "maize": ((30, 50, 60, 40), 180, (0.3, 1.2, 0.6), 2.0, (1.0, 1.7), 0.55),  # harvested wet
    "sweet_potato": ((15, 30, 50, 30), 125, (0.5, 1.15, 0.65), 0.4, (1.0, 1.5), 0.65),
    "groundnut": ((25, 35, 45, 25), 130, (0.4, 1.15, 0.6), 0.4, (0.5, 1.0), 0.50),
    "cassava_year_1": ((20, 40, 90, 60), 210, (0.3, 0.8, 0.3), 1.0, (0.5, 0.8), 0.35),
    "banana_first_year": ((120, 90, 120, 60), 390, (0.5, 1.1, 1.0), 3.0, (0.5, 0.9), 0.35),
    "citrus": ((60, 90, 120, 95), 365, (0.65, 0.6, 0.65), 3.0, (1.1, 1.5), 0.50),  # canopy 50 %
    "carrot": ((30, 40, 60, 20), 150, (0.7, 1.05, 0.95), 0.3, (0.5, 1.0), 0.35),
    "pineapple": ((60, 120, 600, 10), 790, (0.5, 0.3, 0.3), 0.9, (0.3, 0.6), 0.50),  # height prints 0.6–1.2
    "rice": ((30, 30, 60, 30), 150, (1.05, 1.2, 0.75), 1.0, (0.5, 1.0), 0.20),  # Kc end prints 0.90–0.60
}

# FAO-56, Table 24, p. 181, after FAO-33 (Doorenbos, Kassam 1979)
PRINTED_YIELD_RESPONSE = {
    "onion_dry": 1.10,
    "tomato": 1.05,
    "maize": 1.25,
    "cabbage": 0.95,
    "beans_dry": 1.15,
    "watermelon": 1.10,
    "potato": 1.10,
    "pepper_bell": 1.10,
}


@pytest.mark.parametrize("name", PRINTED)
def test_crop_is_as_printed(name):
    """Lengths and their total, coefficients, height, root depth and depletion fraction."""
    crop = built_in_crops()[name]
    lengths = (crop.ini_days, crop.dev_days, crop.mid_days, crop.late_days)
    coefficients = (crop.kc_ini, crop.kc_mid, crop.kc_end)
    roots = (crop.root_depth_min_m, crop.root_depth_max_m)
    seen = (lengths, crop.season_days, coefficients, crop.height_m, roots, crop.depletion_fraction)
    assert seen == PRINTED[name]


@pytest.mark.parametrize("name", PRINTED_YIELD_RESPONSE)
def test_yield_response_is_as_printed(name):
    """The seasonal factor Ky."""
    assert built_in_crops()[name].yield_response == PRINTED_YIELD_RESPONSE[name]
