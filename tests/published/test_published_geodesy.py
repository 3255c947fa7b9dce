"""Distances and grids, as the libraries give them in the way that the programme asks.

The spatial functions of DuckDB want latitude before longitude; the check is as
much on the order of the axes as on the formula.
"""

import duckdb
import geopandas as gpd
import numpy as np
import pytest
from duckdb_extensions import import_extension
from pyproj import Geod

from pipeline.measures.site_weather import Places, distances_km

WGS84 = Geod(ellps="WGS84")


def degrees(whole: int, minutes: int, seconds: float) -> float:
    """An angle of the printed form."""
    return whole + minutes / 60 + seconds / 3600


FLINDERS_PEAK = (-degrees(37, 57, 3.72030), degrees(144, 25, 29.52440))
BUNINYONG = (-degrees(37, 39, 10.15610), degrees(143, 55, 35.38390))

# (latitude, longitude) twice, then the distance [m] and the tolerance [m]
LINES = {
    # Geoscience Australia (ICSM), GDA technical manual, Vincenty's example; on GRS80, which is WGS 84 to 0.1 mm
    "Flinders Peak to Buninyong": (*FLINDERS_PEAK, *BUNINYONG, 54972.271, 0.001),
    # Karney (2013), Algorithms for geodesics, J. Geodesy 87: three lines of its test set
    "test line 1": (35.60777, -139.44815, -11.17491, -69.95921, 8935244.56048183, 1e-5),
    "test line 2": (-10.62672, -32.0898, 5.883, -134.31681, 11470869.386456301, 1e-5),
    "test line 3": (1.74708, 128.32011, -11.16617, 11.87109, 12942901.124134742, 1e-5),
    # GeographicLib, GeodSolve, its example
    "New York to Paris": (40.6, -73.8, 49 + 1 / 60, 2.55, 5853226, 0.6),
    # Karney (2013): where Vincenty's iteration fails; recomputed
    "nearly antipodal": (0.0, 0.0, 0.5, 179.7, 19944127.421, 0.001),
}


@pytest.fixture(scope="module")
def spatial() -> duckdb.DuckDBPyConnection:
    """A connection with the spatial functions."""
    import_extension("spatial")
    connection = duckdb.connect()
    connection.execute("LOAD spatial")
    return connection


@pytest.mark.parametrize("line", LINES)
def test_distance_on_the_ellipsoid_in_the_database(spatial, line):
    """Latitude first."""
    *ends, printed_m, tolerance_m = LINES[line]
    distance = "SELECT ST_Distance_Spheroid(ST_Point(?, ?), ST_Point(?, ?))"
    assert spatial.execute(distance, ends).fetchone()[0] == pytest.approx(printed_m, abs=tolerance_m)


@pytest.mark.parametrize("line", LINES)
def test_distance_on_the_ellipsoid_in_python(line):
    """Longitude first."""
    latitude, longitude, to_latitude, to_longitude, printed_m, tolerance_m = LINES[line]
    distance_m = WGS84.inv(longitude, latitude, to_longitude, to_latitude)[2]
    assert distance_m == pytest.approx(printed_m, abs=tolerance_m)


def place(latitude: float, longitude: float) -> Places:
    """A place of the measures."""
    ids = np.array(["here"], dtype=object)
    return Places(ids, np.array([latitude]), np.array([longitude]), np.array([np.nan]))


@pytest.mark.parametrize("line", LINES)
def test_distance_of_a_site_to_its_station(line):
    """What the weather of a site goes by."""
    latitude, longitude, to_latitude, to_longitude, printed_m, tolerance_m = LINES[line]
    distance_km = distances_km(place(latitude, longitude), place(to_latitude, to_longitude))
    assert 1000 * distance_km.item() == pytest.approx(printed_m, abs=tolerance_m)


@pytest.mark.parametrize(
    ("line", "there_deg", "back_deg", "tolerance_deg"),
    [
        # ICSM, GDA technical manual, Vincenty's example: clockwise from north, each from its own end
        ("Flinders Peak to Buninyong", 306.868158, 127.173631, 2e-6),
        # GeographicLib, GeodSolve, its example; the way back is not printed there
        ("New York to Paris", 53.47022, None, 5e-6),
    ],
)
def test_directions_on_the_ellipsoid(line, there_deg, back_deg, tolerance_deg):
    """Clockwise from north, from either end."""
    latitude, longitude, to_latitude, to_longitude, *_ = LINES[line]
    there, back, _ = WGS84.inv(longitude, latitude, to_longitude, to_latitude)
    assert there % 360 == pytest.approx(there_deg, abs=tolerance_deg)
    assert back_deg is None or back % 360 == pytest.approx(back_deg, abs=tolerance_deg)


@pytest.mark.parametrize("line", ["test line 2", "test line 3"])
def test_a_sphere_would_be_a_thousandth_off(line):
    """Across the equator the great circle of radius 6371.0088 km lies within 0.11 % of ours."""
    # cross-check by the haversine formula; recomputed, not printed
    latitude, longitude, to_latitude, to_longitude, *_ = LINES[line]
    ours_km = distances_km(place(latitude, longitude), place(to_latitude, to_longitude)).item()
    here, there = np.radians([latitude, longitude]), np.radians([to_latitude, to_longitude])
    half = np.sin((there - here) / 2) ** 2
    sphere_km = 2 * 6371.0088 * np.arcsin(np.sqrt(half[0] + np.cos(here[0]) * np.cos(there[0]) * half[1]))
    assert 0 < abs(sphere_km / ours_km - 1) < 0.0012


@pytest.mark.parametrize(
    ("latitude", "longitude", "epsg", "easting_m", "northing_m"),
    [
        # ICSM, GDA technical manual, zones 55 and 54; from memory, recomputed
        (*FLINDERS_PEAK, 28355, 273741.297, 5796489.777),
        (*BUNINYONG, 28354, 758173.797, 5828674.340),
        # EPSG 32636 and 32736: the false northing of the south; recomputed, not printed
        (0.3163, 32.5822, 32636, 453509.609, 34961.593),
        (-0.5, 32.5, 32736, 444363.912, 9944732.844),
    ],
)
def test_grid_coordinates(latitude, longitude, epsg, easting_m, northing_m):
    """Eastings and northings of a point in its zone."""
    point = gpd.GeoSeries.from_xy([longitude], [latitude], crs=4326 if epsg > 32000 else 4283).to_crs(epsg)
    assert [point.x.item(), point.y.item()] == pytest.approx([easting_m, northing_m], abs=0.0015)
