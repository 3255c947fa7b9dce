"""Reference evapotranspiration of real days, against what independent programs made of them.

Two stations of dry, windy country, where all parts of the equation count. Both measure the wind at
3 m and tell the dew point.
"""

import numpy as np
import pytest

from pipeline.agronomy.evapotranspiration import reference_evapotranspiration_mm, wind_at_2m_ms
from pipeline.agronomy.humidity import mean_saturation_vapour_pressure_kpa, saturation_vapour_pressure_kpa

ANEMOMETER_M = 3.0

# Fallon, Nevada (39.4575° N, 1208.5 m), 2015: weather of AgriMet (U.S. Bureau of Reclamation), and the short
# reference that REF-ET 4.1 (University of Idaho) gives, as kept with RefET's tests (WSWUP/RefET, Apache-2.0,
# FALN_Agrimet_daily_raw_2015.out). The first and the fifteenth of each month out of its 365 days
FALLON = (39.4575, 1208.5)
FALLON_DAYS = np.array(
    [
        # day of the year, tmax_c, tmin_c, solar_mj_m2, wind_ms, dew_point_c, et0_mm
        [1, -0.2, -17.7, 9.41, 0.63, -17.1, 0.41],
        [15, 9.52, -9.81, 9.41, 0.72, -5.92, 0.66],
        [32, 12.13, -7.40, 10.68, 0.74, -4.28, 0.96],
        [46, 16.08, -1.67, 14.94, 1.33, -2.69, 1.84],
        [60, 10.09, -0.09, 15.87, 1.97, -1.40, 1.82],
        [74, 24.77, 10.62, 9.74, 3.05, -3.69, 4.74],
        [91, 13.18, -4.68, 22.64, 2.50, -10.2, 3.40],
        [105, 12.77, -7.21, 27.32, 1.94, -13.5, 3.57],
        [121, 27.67, 6.38, 29.58, 1.29, -3.11, 5.44],
        [135, 9.73, 6.49, 5.60, 2.79, 5.10, 1.20],
        [152, 29.28, 10.38, 32.28, 3.17, -1.00, 7.91],
        [166, 33.89, 9.65, 33.37, 1.70, -2.07, 7.42],
        [182, 39.33, 19.25, 28.22, 2.15, 9.91, 7.94],
        [196, 33.72, 13.82, 31.23, 1.49, 5.95, 6.75],
        [213, 36.61, 17.83, 20.55, 2.23, 6.29, 6.70],
        [227, 33.89, 9.88, 26.43, 1.10, -1.48, 5.43],
        [244, 33.56, 8.98, 24.80, 1.31, -1.53, 5.22],
        [258, 27.56, 12.09, 17.45, 4.02, 4.02, 5.90],
        [274, 17.93, 10.86, 4.11, 1.61, 10.60, 1.19],
        [288, 28.61, 8.61, 12.50, 1.38, 5.30, 2.88],
        [305, 23.66, 9.91, 6.53, 3.44, -0.40, 4.06],
        [319, 14.39, -4.27, 6.93, 3.12, -3.12, 2.04],
        [335, 8.36, -9.84, 10.58, 0.62, -8.35, 0.54],
        [349, 3.84, -9.17, 8.47, 1.34, -9.47, 0.65],
    ]
)

# Maricopa, Arizona (33.069° N, 361 m), 2003: weather of AZMET (University of Arizona), and the short
# reference kept with pyfao56's tests (kthorp/pyfao56, public domain, AZMET_Maricopa_ETo.wth). Each fifteenth
# of the first 166 days out of 6575
MARICOPA = (33.069, 361.0)
MARICOPA_DAYS = np.array(
    [
        [1, 17.50, -0.50, 12.48, 1.00, -0.10, 1.45],
        [16, 25.40, 3.00, 13.04, 1.10, 3.50, 2.16],
        [31, 28.70, 3.20, 15.13, 1.20, 2.10, 2.86],
        [46, 21.30, 9.90, 15.23, 1.30, 11.90, 2.18],
        [61, 16.90, 4.20, 17.34, 1.60, 5.20, 2.37],
        [76, 16.90, 6.60, 13.57, 2.80, 5.60, 2.66],
        [91, 33.50, 10.30, 25.18, 3.30, -2.80, 7.94],
        [106, 26.90, 5.70, 27.58, 1.30, 2.90, 4.85],
        [121, 30.20, 8.50, 27.32, 1.50, -3.80, 5.77],
        [136, 37.60, 13.30, 29.56, 1.00, 3.40, 6.21],
        [151, 38.50, 22.20, 27.58, 1.30, 10.90, 6.76],
        [166, 42.10, 18.10, 31.10, 1.60, 1.80, 8.00],
    ]
)


def differences_mm(place: tuple[float, float], days: np.ndarray) -> np.ndarray:
    """Ours less theirs on each day."""
    day_of_year, tmax_c, tmin_c, solar, wind_ms, dew_point_c, theirs_mm = days.T
    vapour = saturation_vapour_pressure_kpa(dew_point_c)
    humidity_pct = 100 * vapour / mean_saturation_vapour_pressure_kpa(tmin_c, tmax_c)
    wind_2m_ms = wind_at_2m_ms(wind_ms, ANEMOMETER_M)
    ours_mm = reference_evapotranspiration_mm(
        day_of_year, *place, tmin_c, tmax_c, humidity_pct, wind_2m_ms, solar
    )
    return ours_mm - theirs_mm


def test_days_of_fallon():
    """24 days from 0.4 to 7.9 mm: largest difference 0.113 mm, 1.0 % over their sum."""
    apart_mm = differences_mm(FALLON, FALLON_DAYS)
    assert np.abs(apart_mm).max() == pytest.approx(0.113, abs=0.0005)
    assert apart_mm.sum() / FALLON_DAYS[:, -1].sum() == pytest.approx(0.010, abs=0.0005)


def test_days_of_maricopa():
    """12 days from 1.5 to 8 mm: largest difference 0.005 mm, the rounding of the print."""
    assert np.abs(differences_mm(MARICOPA, MARICOPA_DAYS)).max() == pytest.approx(0.0051, abs=0.0001)
