"""Reference evapotranspiration, its steps, and what libraries make of the same year."""

import numpy as np

from pipeline.agronomy.evapotranspiration import (
    HOURLY_AERODYNAMIC,
    hargreaves_mm,
    penman_monteith_mm,
    reference_evapotranspiration_mm,
    soil_heat_mj_m2,
    wind_at_2m_ms,
)
from pipeline.agronomy.humidity import (
    actual_vapour_pressure_kpa,
    mean_saturation_vapour_pressure_kpa,
    pressure_kpa,
    psychrometric_constant_kpa_c,
    saturation_vapour_pressure_kpa,
)
from pipeline.agronomy.radiation import (
    clear_sky_mj_m2,
    daylight_hours,
    extraterrestrial_mj_m2,
    net_longwave_mj_m2,
    net_shortwave_mj_m2,
    solar_from_sunshine_mj_m2,
)
from pipeline.agronomy.station import fill_station_gaps
from tests.published.examples.air import vapour_of_two_humidities_kpa
from tests.published.examples.example import Example
from tests.published.examples.radiation import BANGKOK_DEG, LYON_DEG
from tests.published.examples.year import (
    largest_difference_to_pyet_mm,
    largest_difference_to_refet_mm,
)

# FAO-56, Figure 18, p. 69: Cabinda (5.33° S, 20 m), the printed climate of each month
CABINDA = np.array(
    [
        # tmin_c tmax_c rh wind_km_day sunshine_h solar et0
        [22.8, 29.6, 81, 78, 4.0, 15.7, 3.4],
        [22.7, 30.3, 82, 69, 4.6, 16.9, 3.7],
        [23.0, 30.6, 80, 78, 5.1, 17.4, 3.8],
        [23.0, 30.2, 82, 69, 5.0, 16.4, 3.5],
        [22.0, 28.6, 84, 69, 3.8, 13.5, 2.9],
        [19.2, 26.5, 81, 69, 3.3, 12.2, 2.6],
        [17.6, 25.1, 78, 78, 3.2, 12.3, 2.6],
        [18.6, 25.3, 78, 78, 2.6, 12.4, 2.6],
        [20.5, 26.5, 78, 104, 2.0, 12.4, 2.8],
        [22.5, 28.0, 79, 130, 2.2, 12.9, 3.1],
        [23.0, 28.7, 80, 104, 3.2, 14.4, 3.3],
        [23.0, 29.1, 82, 95, 3.8, 15.2, 3.4],
    ]
)
CABINDA_DEG = -5.33
MID_MONTH = np.floor(30.4 * np.arange(1, 13) - 15)


def uccle_radiation() -> dict[str, float]:
    """Radiation of Example 18, step by step."""
    outside = extraterrestrial_mj_m2(187, 50.8)
    solar = solar_from_sunshine_mj_m2(outside, 9.25, daylight_hours(187, 50.8))
    clear_sky, kept = clear_sky_mj_m2(outside, 100), net_shortwave_mj_m2(solar)
    vapour = vapour_of_two_humidities_kpa(12.3, 21.5, 84, 63)
    sent = net_longwave_mj_m2(12.3, 21.5, vapour, solar / clear_sky)
    steps = {"outside": outside, "solar": solar, "clear_sky": clear_sky, "kept": kept, "sent": sent}
    return {name: float(step) for name, step in steps.items()} | {"net": float(kept - sent)}


def uccle_mm() -> float:
    """ET0 of Example 18, its humidity as a mean one."""
    saturation = mean_saturation_vapour_pressure_kpa(12.3, 21.5)
    rh_pct = 100 * vapour_of_two_humidities_kpa(12.3, 21.5, 84, 63) / saturation
    wind = wind_at_2m_ms(10 / 3.6, 10)
    solar = uccle_radiation()["solar"]
    return float(reference_evapotranspiration_mm(187, 50.8, 100, 12.3, 21.5, rh_pct, wind, solar))


def bangkok_radiation() -> dict[str, float]:
    """Radiation of Example 17, step by step."""
    outside = extraterrestrial_mj_m2(105, BANGKOK_DEG)
    solar = solar_from_sunshine_mj_m2(outside, 8.5, daylight_hours(105, BANGKOK_DEG))
    clear_sky, kept = clear_sky_mj_m2(outside, 2), net_shortwave_mj_m2(solar)
    sent = net_longwave_mj_m2(25.6, 34.8, 2.85, solar / clear_sky)
    steps = {"outside": outside, "solar": solar, "clear_sky": clear_sky, "kept": kept, "sent": sent}
    return {name: float(step) for name, step in steps.items()} | {"net": float(kept - sent)}


def bangkok_mm() -> float:
    """ET0 of Example 17, whose soil grows warmer."""
    return float(
        penman_monteith_mm(
            mean_c=30.2,
            net_radiation_mj_m2=bangkok_radiation()["net"] - soil_heat_mj_m2(30.2 - 29.2),
            wind_2m_ms=2.0,
            vapour_deficit_kpa=mean_saturation_vapour_pressure_kpa(25.6, 34.8) - 2.85,
            psychrometric_kpa_c=psychrometric_constant_kpa_c(pressure_kpa(2)),
        )
    )


def lyon_mm() -> np.ndarray:
    """ET0 of Example 20 without a wind record, at 1 and at 3 m/s."""
    wind = np.array([np.nan, 1.0, 3.0])
    filled = fill_station_gaps(196, LYON_DEG, 14.8, 26.6, np.nan, wind, np.nan)
    return reference_evapotranspiration_mm(
        196, LYON_DEG, 200, 14.8, 26.6, filled.rh_mean_pct, filled.wind_2m_ms, filled.solar_mj_m2
    )


def night_hour_net_mj_m2() -> float:
    """Net radiation of the hour of Example 19."""
    vapour = actual_vapour_pressure_kpa(saturation_vapour_pressure_kpa(28), 90)
    return float(-net_longwave_mj_m2(28, 28, vapour, 0.8) / 24)


def hour_mm(mean_c: float, rh_pct: float, wind_ms: float, taken_up_mj_m2: float) -> float:
    """ET0 of an hour at N'Diaye, 8 m above the sea, FAO-56 eq. 53."""
    saturation = saturation_vapour_pressure_kpa(mean_c)
    return float(
        penman_monteith_mm(
            mean_c=mean_c,
            net_radiation_mj_m2=taken_up_mj_m2,
            wind_2m_ms=wind_ms,
            vapour_deficit_kpa=saturation - actual_vapour_pressure_kpa(saturation, rh_pct),
            psychrometric_kpa_c=psychrometric_constant_kpa_c(pressure_kpa(8)),
            aerodynamic=HOURLY_AERODYNAMIC,
        )
    )


def cabinda_solar_mj_m2() -> np.ndarray:
    """Radiation of the twelve months from their sunshine."""
    outside, hours = (
        extraterrestrial_mj_m2(MID_MONTH, CABINDA_DEG),
        daylight_hours(MID_MONTH, CABINDA_DEG),
    )
    return solar_from_sunshine_mj_m2(outside, CABINDA[:, 4], hours)


def cabinda_mm() -> np.ndarray:
    """ET0 of the twelve months."""
    tmin_c, tmax_c, rh_pct, wind_km_day, _, solar, _ = CABINDA.T
    return reference_evapotranspiration_mm(
        MID_MONTH, CABINDA_DEG, 20, tmin_c, tmax_c, rh_pct, wind_km_day / 86.4, solar
    )


EXAMPLES = (
    Example(
        "Example 13, p. 55",
        "heat into the soil, April, from 14.1 °C in March and 18.8 °C in May",
        0.33,
        "MJ/m²/d",
        0.005,
        lambda: soil_heat_mj_m2((18.8 - 14.1) / 2),
    ),
    Example(
        "Example 14, p. 56",
        "wind at 2 m from 3.2 m/s at 10 m",
        2.4,
        "m/s",
        0.05,
        lambda: wind_at_2m_ms(3.2, 10),
        "the print from memory",
    ),
    Example(
        "Annex 2, Table 2.9, p. 222",
        "wind at 2 m over that at 1, 2, 3, 5 and 10 m",
        (1.178, 1.0, 0.921, 0.838, 0.748),
        "–",
        0.0015,
        lambda: wind_at_2m_ms(1.0, [1, 2, 3, 5, 10]),
        "at 2 m the formula gives 1.0002",
    ),
    Example(
        "Example 17, p. 70",
        "Bangkok, April: outside the air, sun, clear sky, kept, sent back, net",
        (38.06, 22.65, 28.54, 17.44, 3.11, 14.33),
        "MJ/m²/d",
        0.011,
        lambda: [
            bangkok_radiation()[step] for step in ("outside", "solar", "clear_sky", "kept", "sent", "net")
        ],
    ),
    Example(
        "Example 17, p. 70", "daylight there", 12.31, "h", 0.01, lambda: daylight_hours(105, BANGKOK_DEG)
    ),
    Example("Example 17, p. 71", "ET0 there", 5.72, "mm/d", 0.01, bangkok_mm),
    Example(
        "Example 18, p. 72",
        "Uccle, 6 July: wind at 2 m",
        2.078,
        "m/s",
        0.001,
        lambda: wind_at_2m_ms(10 / 3.6, 10),
    ),
    Example(
        "Example 18, p. 72",
        "saturation, and vapour",
        (1.997, 1.409),
        "kPa",
        0.001,
        lambda: [
            mean_saturation_vapour_pressure_kpa(12.3, 21.5),
            vapour_of_two_humidities_kpa(12.3, 21.5, 84, 63),
        ],
    ),
    Example("Example 18, p. 72", "daylight", 16.1, "h", 0.05, lambda: daylight_hours(187, 50.8)),
    Example(
        "Example 18, p. 72",
        "outside the air, sun, clear sky, kept, sent back, net",
        (41.09, 22.07, 30.90, 17.0, 3.71, 13.28),
        "MJ/m²/d",
        0.011,
        lambda: [
            uccle_radiation()[step] for step in ("outside", "solar", "clear_sky", "kept", "sent", "net")
        ],
    ),
    Example("Example 18, p. 73", "ET0", 3.88, "mm/d", 0.01, uccle_mm, "rounded to 3.9 there"),
    Example(
        "Example 19, p. 75",
        "N'Diaye, 2 to 3 h at night: net radiation",
        -0.1,
        "MJ/m²/h",
        0.005,
        night_hour_net_mj_m2,
    ),
    Example(
        "Example 19, p. 75",
        "ET0 of that hour",
        0.0,
        "mm/h",
        0.005,
        lambda: hour_mm(28, 90, 1.9, 0.5 * night_hour_net_mj_m2()),
        "half of the net radiation comes from the soil, eq. 46",
        decimals=2,
    ),
    Example(
        "Example 19, p. 75",
        "ET0 of the hour from 14 to 15 h, from its net radiation",
        0.63,
        "mm/h",
        0.005,
        lambda: hour_mm(38, 52, 3.3, 0.9 * 1.749),
        "the print from memory; a tenth of the net radiation goes into the soil, eq. 45",
    ),
    Example(
        "Example 20, p. 77",
        "Lyon in July from two temperatures, 2 m/s taken for the wind: ET0",
        4.56,
        "mm/d",
        0.005,
        lambda: lyon_mm()[0],
    ),
    Example(
        "Example 20, p. 78", "the same at 1 and at 3 m/s", (4.2, 4.8), "mm/d", 0.05, lambda: lyon_mm()[1:]
    ),
    Example(
        "Example 20, p. 78",
        "the first by Hargreaves",
        5.0,
        "mm/d",
        0.05,
        lambda: hargreaves_mm(extraterrestrial_mj_m2(196, LYON_DEG), 14.8, 26.6),
        "a tenth above: it is not FAO-56's method",
        decimals=1,
    ),
    Example(
        "Figure 18, p. 69",
        "Cabinda (5.33° S): radiation of twelve months",
        tuple(CABINDA[:, 5]),
        "MJ/m²/d",
        0.12,
        cabinda_solar_mj_m2,
        "output of a program from rounded hours of sunshine",
    ),
    Example(
        "Figure 18, p. 69",
        "Cabinda: ET0 of twelve months",
        tuple(CABINDA[:, 6]),
        "mm/d",
        0.2,
        cabinda_mm,
        "the same program, with a rule of its own for vapour",
    ),
    Example(
        "pyet, `pm_fao56`",
        "ET0 of a generated year on the plateau: largest difference of a day",
        0.0,
        "mm/d",
        1e-9,
        largest_difference_to_pyet_mm,
        "a library that others wrote",
        decimals=6,
    ),
    Example(
        'refet, `Daily(method="asce")`',
        "the same year: largest difference of a day",
        0.0,
        "mm/d",
        0.00115,
        largest_difference_to_refet_mm,
        "ASCE's short reference rounds other constants",
        decimals=3,
    ),
)
