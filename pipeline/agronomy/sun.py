"""When the sun rises and sets, and what lies between.

The equations are Meeus' for low precision, as NOAA's solar calculator uses them:
pvlib's are exact to a second, but take one place a call, and a programme has thousands.

References
----------
Meeus, J. (1998). Astronomical Algorithms, 2nd ed., ch. 25. NOAA Global Monitoring
Laboratory, Solar Calculation Details.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from pipeline.agronomy.arrays import Days, Floats, FloatsLike

DAY_S = 86400.0
HOUR_S = 3600.0
RISING_ALTITUDE_DEG = -0.8333  # upper rim of the sun, and 34' of refraction
J2000_S = 946728000.0  # 2000-01-01 12:00 UTC, in seconds since 1970
CENTURY_S = 36525.0 * DAY_S


@dataclass(frozen=True)
class Daylight:
    """Sunrise and sunset, or the start and end of a part of the day.

    Attributes
    ----------
    from_s, to_s
        Seconds since 1970-01-01 00:00 UTC; NaN where the sun does not rise or set,
        or where the day is too short for the part. [s]
    """

    from_s: Floats
    to_s: Floats

    @property
    def hours(self) -> Floats:
        """Length [h]."""
        return (self.to_s - self.from_s) / HOUR_S

    def within(self, after_sunrise_h: float, before_sunset_h: float) -> "Daylight":
        """Return the part between two margins, in which a site is asked to deliver water."""
        from_s, to_s = self.from_s + after_sunrise_h * HOUR_S, self.to_s - before_sunset_h * HOUR_S
        long_enough = to_s > from_s
        return Daylight(np.where(long_enough, from_s, np.nan), np.where(long_enough, to_s, np.nan))


def day_of_year(days: Days) -> Floats:
    """1 on 1 January."""
    since_new_year = days - days.astype("datetime64[Y]").astype("datetime64[D]")
    return np.asarray(since_new_year.astype(np.float64) + 1.0)


def daylight(latitude_deg: FloatsLike, longitude_deg: FloatsLike, day: npt.ArrayLike) -> Daylight:
    """Sunrise and sunset of a day at a place, to a few seconds between 20° S and 20° N.

    Parameters
    ----------
    latitude_deg, longitude_deg
        South and west are negative. [°]
    day
        Days as datetime64, counted by the place's own sun. That is the local day in
        every time zone but those that keep the date of the other side of 180°.

    Examples
    --------
    >>> sun = daylight(-13.5, 33.8, np.array(["2026-06-21"], dtype="datetime64[D]"))
    >>> np.array(sun.from_s, dtype="datetime64[s]").astype("datetime64[m]")
    array(['2026-06-21T04:06'], dtype='datetime64[m]')
    """
    midnight_s = np.asarray(day, dtype="datetime64[D]").astype("datetime64[s]").astype(np.float64)
    latitude = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    mean_noon_s = midnight_s + DAY_S / 2.0 - np.asarray(longitude_deg, dtype=np.float64) / 360.0 * DAY_S
    return Daylight(
        from_s=_crossing_s(latitude, mean_noon_s, -1.0), to_s=_crossing_s(latitude, mean_noon_s, 1.0)
    )


def _crossing_s(latitude_rad: Floats, mean_noon_s: Floats, side: float) -> Floats:
    """When the sun crosses the horizon; NaN if it doesn't."""
    sine, cosine = np.sin(latitude_rad), np.cos(latitude_rad)
    horizon = np.sin(np.radians(RISING_ALTITUDE_DEG))
    crossing_s = mean_noon_s + side * DAY_S / 4.0
    for _ in range(2):  # the sun moves on: the second round takes it as it is by then
        declination_sine, ahead_s = _sun(crossing_s)
        declination_cosine = np.sqrt(1.0 - declination_sine**2)
        hour_angle_cosine = (horizon - sine * declination_sine) / (cosine * declination_cosine)
        crosses = np.abs(hour_angle_cosine) <= 1.0
        hour_angle = np.arccos(np.where(crosses, hour_angle_cosine, np.nan))
        crossing_s = mean_noon_s - ahead_s + side * hour_angle / (2.0 * np.pi) * DAY_S
    return crossing_s


def _sun(at_s: Floats) -> tuple[Floats, Floats]:
    """Sine of the sun's declination, and how far it is ahead of the mean sun [s].

    Meeus, ch. 25; equation of time by eq. 28.3 (Smart).
    """
    century = (at_s - J2000_S) / CENTURY_S
    longitude = np.radians(280.46646 + century * (36000.76983 + 0.0003032 * century))
    anomaly = np.radians(357.52911 + century * (35999.05029 - 0.0001537 * century))
    eccentricity = 0.016708634 - century * (0.000042037 + 0.0000001267 * century)
    node = np.radians(125.04 - 1934.136 * century)
    obliquity = np.radians(23.4392911 - 0.0130042 * century + 0.00256 * np.cos(node))
    anomaly_sine, twice_anomaly_sine = np.sin(anomaly), np.sin(2.0 * anomaly)
    centre_deg = (
        (1.914602 - century * (0.004817 + 0.000014 * century)) * anomaly_sine
        + (0.019993 - 0.000101 * century) * twice_anomaly_sine
        + 0.000289 * np.sin(3.0 * anomaly)
    )
    apparent = longitude + np.radians(centre_deg - 0.00569 - 0.00478 * np.sin(node))
    half_tilt = np.tan(obliquity / 2.0) ** 2
    twice_longitude_sine, twice_longitude_cosine = np.sin(2.0 * longitude), np.cos(2.0 * longitude)
    ahead = (
        half_tilt * twice_longitude_sine
        - 2.0 * eccentricity * anomaly_sine
        + 4.0 * eccentricity * half_tilt * anomaly_sine * twice_longitude_cosine
        - half_tilt**2 * twice_longitude_sine * twice_longitude_cosine
        - 1.25 * eccentricity**2 * twice_anomaly_sine
    )
    return np.sin(obliquity) * np.sin(apparent), ahead / (2.0 * np.pi) * DAY_S
