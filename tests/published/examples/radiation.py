"""Radiation of a day, and the day's length."""

import numpy as np

from pipeline.agronomy.evapotranspiration import MJ_TO_MM
from pipeline.agronomy.radiation import (
    black_body_mj_m2,
    clear_sky_mj_m2,
    daylight_hours,
    declination_rad,
    extraterrestrial_mj_m2,
    inverse_distance,
    net_longwave_mj_m2,
    net_shortwave_mj_m2,
    solar_from_sunshine_mj_m2,
    solar_from_temperature_range_mj_m2,
    sunset_hour_angle_rad,
)
from tests.published.examples.example import Example

RIO_DE_JANEIRO_DEG = -(22 + 54 / 60)
BANGKOK_DEG = 13 + 44 / 60
LYON_DEG = 45 + 43 / 60
LONGEST_DAY = 172


def latitude_from_sunset_rad(latitude_deg: list[float]) -> np.ndarray:
    """The latitude that the hour of sunset gives back, FAO-56 eq. 25 turned round."""
    sunset = sunset_hour_angle_rad(LONGEST_DAY, latitude_deg)
    return np.arctan(-np.cos(sunset) / np.tan(declination_rad(LONGEST_DAY)))


def rio_in_may() -> list[float]:
    """Clear-sky, kept, sent and net radiation of Examples 11 and 12."""
    clear_sky = clear_sky_mj_m2(extraterrestrial_mj_m2(135, RIO_DE_JANEIRO_DEG), 0)
    kept, sent = net_shortwave_mj_m2(14.45), net_longwave_mj_m2(19.1, 25.1, 2.1, 14.45 / clear_sky)
    return [float(clear_sky), float(kept), float(sent), float(kept - sent)]


def bangkok_without_measured_radiation() -> list[float]:
    """Kept, sent and net radiation of Example 16."""
    solar = solar_from_temperature_range_mj_m2(105, BANGKOK_DEG, 25.6, 34.8, krs=0.19)
    clear_sky = clear_sky_mj_m2(extraterrestrial_mj_m2(105, BANGKOK_DEG), 0)
    kept, sent = net_shortwave_mj_m2(solar), net_longwave_mj_m2(25.6, 34.8, 2.85, solar / clear_sky)
    return [float(kept), float(sent), float(kept - sent)]


EXAMPLES = (
    Example(
        "Example 1, p. 4",
        "water that 80 % of 15 MJ/m² evaporate",
        4.9,
        "mm/d",
        0.05,
        lambda: 0.8 * 15 * MJ_TO_MM,
        "the print from memory",
    ),
    Example(
        "Example 7, p. 46",
        "latitude of 13°44' N and of 22°54' S",
        (0.24, -0.40),
        "rad",
        0.0006,
        lambda: latitude_from_sunset_rad([BANGKOK_DEG, RIO_DE_JANEIRO_DEG]),
    ),
    Example(
        "Example 8, p. 47",
        "3 September at 20° S: the sun's distance",
        0.985,
        "–",
        0.0005,
        lambda: inverse_distance(246),
    ),
    Example(
        "Example 8, p. 47",
        "its declination, and the hour angle of the sunset",
        (0.120, 1.527),
        "rad",
        0.0005,
        lambda: [declination_rad(246), sunset_hour_angle_rad(246, -20)],
    ),
    Example(
        "Example 8, p. 47",
        "radiation outside the air",
        32.2,
        "MJ/m²/d",
        0.05,
        lambda: extraterrestrial_mj_m2(246, -20),
    ),
    Example(
        "Example 8, p. 47",
        "the same as a depth of water",
        13.1,
        "mm/d",
        0.05,
        lambda: extraterrestrial_mj_m2(246, -20) * MJ_TO_MM,
    ),
    Example(
        "Example 9, p. 48",
        "daylight on that day",
        11.7,
        "h",
        0.05,
        lambda: daylight_hours(246, -20),
        "the print from memory",
    ),
    Example(
        "Example 10, p. 50",
        "Rio de Janeiro, 220 h of sunshine in May",
        14.5,
        "MJ/m²/d",
        0.06,
        lambda: solar_from_sunshine_mj_m2(
            extraterrestrial_mj_m2(135, RIO_DE_JANEIRO_DEG),
            220 / 31,
            daylight_hours(135, RIO_DE_JANEIRO_DEG),
        ),
    ),
    Example(
        "Examples 11 and 12, p. 52",
        "there: clear sky, kept, sent back, net",
        (18.8, 11.1, 3.5, 7.6),
        "MJ/m²/d",
        0.06,
        rio_in_may,
        "prints 22.70° for 22°54'; its 3.1 mm come of 7.7 MJ/m²",
    ),
    Example(
        "Example 15, p. 61",
        "Lyon in July: outside the air, and from the range of temperature",
        (40.6, 22.3),
        "MJ/m²/d",
        0.06,
        lambda: [
            extraterrestrial_mj_m2(196, LYON_DEG),
            solar_from_temperature_range_mj_m2(196, LYON_DEG, 14.8, 26.6),
        ],
    ),
    Example(
        "Example 16, p. 62",
        "Bangkok in April, on a coast: kept, sent back, net",
        (16.9, 3.0, 13.9),
        "MJ/m²/d",
        0.06,
        bangkok_without_measured_radiation,
    ),
    Example(
        "Annex 2, Table 2.8, p. 221",
        "a black body at 20, 25 and 30 °C",
        (36.21, 38.75, 41.41),
        "MJ/m²/d",
        0.006,
        lambda: black_body_mj_m2([20, 25, 30]),
    ),
    Example("Table 3, p. 45", "water that 1 MJ/m² evaporates", 0.408, "mm", 0.0005, lambda: MJ_TO_MM),
    Example("Table 3, p. 45", "what 1 mm takes", 2.45, "MJ/m²", 0.005, lambda: 1 / MJ_TO_MM),
)
