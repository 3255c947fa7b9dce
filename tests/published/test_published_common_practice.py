"""The demo programme is laid out as the trade does it. All of this is common practice, no source."""

import pytest

from data_demo import generate
from pipeline.store import open_store


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """A store with what the demo's programme keeps of its sites, and the books of the field."""
    folder = tmp_path_factory.mktemp("demo")
    generate(folder, sites=24, days=60)
    store = open_store(folder / "store", create=True)
    wanted = ("sites", "blocks", "field_book")
    store.load(path for path in sorted((folder / "deliveries").glob("*/*")) if path.name.startswith(wanted))
    with store.read() as reader:
        yield reader.connection


def test_arrays_near_the_equator_lie_flat_but_for_the_rain(demo):
    """15° of tilt, a few more or less, so that rain washes them."""
    tilts = demo.execute("SELECT pv_tilt_deg FROM sites WHERE pv_tilt_deg IS NOT NULL").fetchall()
    assert tilts
    assert all(12 <= tilt <= 18 for (tilt,) in tilts)


def test_spray_tubes_lie_as_far_apart_as_they_wet(demo):
    """3 m from tube to tube, and 1.5 m of throw to each side: no overlap."""
    tubes = demo.execute(
        """SELECT lateral_spacing_m, wetted_diameter_m / 2 FROM blocks
           WHERE irrigation_method = 'spray_tube' AND lateral_spacing_m IS NOT NULL"""
    ).fetchall()
    assert tubes
    for spacing_m, throw_m in tubes:
        assert spacing_m == pytest.approx(3.0, abs=0.2)
        assert throw_m == pytest.approx(1.5, abs=0.2)


def test_lights_and_alarm_live_on_24_volts(demo):
    """A battery of 24 V: from empty, 21 V, to charging, 29 V; the middle within 1 V."""
    ((lowest, middle, highest),) = demo.execute(
        "SELECT min(auxiliary_voltage_v), median(auxiliary_voltage_v), max(auxiliary_voltage_v) FROM surveys"
    ).fetchall()
    assert 21 <= lowest <= highest <= 29
    assert middle == pytest.approx(24, abs=1)
