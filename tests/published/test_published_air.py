"""Vapour of the air, against what FAO-56 says of it; its figures are in the list of examples.

FAO-56 is Allen, Pereira, Raes, Smith (1998), FAO Irrigation and Drainage Paper 56.
"""

from pipeline.agronomy.humidity import mean_saturation_vapour_pressure_kpa, saturation_vapour_pressure_kpa


def test_saturation_pressure_is_not_taken_at_the_mean_temperature():
    """At the mean of two temperatures it would be too low, by nearly a tenth of a kilopascal."""
    # FAO-56, Example 3, note, p. 36
    assert mean_saturation_vapour_pressure_kpa(15.0, 24.5) > saturation_vapour_pressure_kpa(19.75) + 0.08
