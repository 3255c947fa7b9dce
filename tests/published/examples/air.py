"""Pressure and vapour of the air."""

from pipeline.agronomy.humidity import (
    actual_vapour_pressure_kpa,
    humidity_from_temperature_pct,
    mean_saturation_vapour_pressure_kpa,
    pressure_kpa,
    psychrometric_constant_kpa_c,
    saturation_slope_kpa_c,
    saturation_vapour_pressure_kpa,
    vapour_pressure_from_wet_bulb_kpa,
)
from tests.published.examples.example import Example


def vapour_of_two_humidities_kpa(tmin_c: float, tmax_c: float, rh_max_pct: float, rh_min_pct: float) -> float:
    """Vapour of a day from the humidity at both its temperatures, FAO-56 eq. 17."""
    ends = actual_vapour_pressure_kpa(
        saturation_vapour_pressure_kpa([tmin_c, tmax_c]), [rh_max_pct, rh_min_pct]
    )
    return float(ends.mean())


EXAMPLES = (
    Example("Example 2, p. 32", "pressure at 1800 m", 81.8, "kPa", 0.05, lambda: pressure_kpa(1800)),
    Example(
        "Example 2, p. 32",
        "psychrometric constant at 81.8 kPa",
        0.054,
        "kPa/°C",
        0.0005,
        lambda: psychrometric_constant_kpa_c(81.8),
    ),
    Example(
        "Example 3, p. 36",
        "saturation at 24.5 and at 15 °C, and its mean",
        (3.075, 1.705, 2.39),
        "kPa",
        0.001,
        lambda: [
            *saturation_vapour_pressure_kpa([24.5, 15.0]),
            mean_saturation_vapour_pressure_kpa(15.0, 24.5),
        ],
    ),
    Example(
        "Example 3, note, p. 36",
        "saturation at the mean of 19.75 °C, which is too low for a day",
        2.30,
        "kPa",
        0.005,
        lambda: saturation_vapour_pressure_kpa(19.75),
        decimals=2,
    ),
    Example("Example 4, p. 38", "pressure at 1200 m", 87.9, "kPa", 0.05, lambda: pressure_kpa(1200)),
    Example(
        "Example 4, p. 38",
        "vapour from 25.6 °C dry and 19.5 °C wet at 1200 m",
        1.91,
        "kPa",
        0.005,
        lambda: vapour_pressure_from_wet_bulb_kpa(25.6, 19.5, pressure_kpa(1200)),
    ),
    Example(
        "Example 5, p. 39",
        "vapour from 82 % at 18 °C and 54 % at 25 °C",
        1.70,
        "kPa",
        0.005,
        lambda: vapour_of_two_humidities_kpa(18.0, 25.0, 82.0, 54.0),
        "the printed working forgets to halve, its result does not",
        decimals=2,
    ),
    Example(
        "Example 6, p. 39",
        "what that day's air lacks",
        0.91,
        "kPa",
        0.006,
        lambda: (
            mean_saturation_vapour_pressure_kpa(18.0, 25.0)
            - vapour_of_two_humidities_kpa(18.0, 25.0, 82.0, 54.0)
        ),
        "the print goes on from rounded pressures",
    ),
    Example(
        "Example 20, p. 77",
        "vapour at Lyon in July from the lowest temperature, 14.8 °C",
        1.68,
        "kPa",
        0.005,
        lambda: actual_vapour_pressure_kpa(
            mean_saturation_vapour_pressure_kpa(14.8, 26.6), humidity_from_temperature_pct(14.8, 26.6)
        ),
    ),
    Example(
        "Annex 2, Table 2.3, p. 215",
        "saturation at 1, 10, 20, 25, 30, 35, 40, 45 and 48.5 °C",
        (0.657, 1.228, 2.338, 3.168, 4.243, 5.623, 7.376, 9.582, 11.447),
        "kPa",
        0.0006,
        lambda: saturation_vapour_pressure_kpa([1, 10, 20, 25, 30, 35, 40, 45, 48.5]),
    ),
    Example(
        "Annex 2, Table 2.4, p. 216",
        "slope of the saturation curve at 10, 20, 25, 30, 35 and 40 °C",
        (0.082, 0.145, 0.189, 0.243, 0.311, 0.393),
        "kPa/°C",
        0.0006,
        lambda: saturation_slope_kpa_c([10, 20, 25, 30, 35, 40]),
    ),
    Example(
        "IAPWS-IF97 (1997)",
        "saturation over water at 20, 25 and 30 °C by the steam tables",
        (2.339, 3.170, 4.247),
        "kPa",
        0.01,
        lambda: saturation_vapour_pressure_kpa([20, 25, 30]),
        "recomputed, not printed; FAO-56 has a shorter formula",
    ),
)
