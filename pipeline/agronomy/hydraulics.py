"""Energy that lifts water."""

import numpy as np

from pipeline.agronomy.arrays import Floats, FloatsLike

WATER_KN_M3 = 9.80665  # ρ·g at 1000 kg/m³ and standard gravity (3rd CGPM 1901, CR 70)
KJ_PER_KWH = 3600.0


def lifting_energy_kwh(water_m3: FloatsLike, total_dynamic_head_m: FloatsLike) -> Floats:
    """Energy that the lift alone takes, ρ·g·H·V: 2.724 Wh for 1 m³ by 1 m [kWh].

    Parameters
    ----------
    water_m3
        Water lifted. [m³]
    total_dynamic_head_m
        Static lift plus losses. [m]

    Examples
    --------
    >>> float(lifting_energy_kwh(1.0, 1.0).round(6))
    0.002724
    """
    water, head = np.asarray(water_m3, dtype=np.float64), np.asarray(total_dynamic_head_m, dtype=np.float64)
    return np.asarray(WATER_KN_M3 * head * water / KJ_PER_KWH)


def lift_efficiency(water_m3: FloatsLike, total_dynamic_head_m: FloatsLike, energy_kwh: FloatsLike) -> Floats:
    """Share of the electrical energy that became lifted water [-].

    Parameters
    ----------
    water_m3
        Water through the source meter. [m³]
    total_dynamic_head_m
        Static lift plus losses. [m]
    energy_kwh
        Energy at the controller's input, over the time of `water_m3`. [kWh]

    Returns
    -------
    (n,)
        NaN where an input is NaN or no energy was used. Above 1 is kept: it shows
        a wrong meter or head.

    Examples
    --------
    >>> lift_efficiency([13.0, 13.0], [30.0, 90.0], 3.0).round(3)
    array([0.354, 1.062])
    """
    lifting = lifting_energy_kwh(water_m3, total_dynamic_head_m)
    lifting, energy = np.broadcast_arrays(lifting, np.asarray(energy_kwh, dtype=np.float64))
    return np.asarray(np.divide(lifting, energy, out=np.full(lifting.shape, np.nan), where=energy > 0))
