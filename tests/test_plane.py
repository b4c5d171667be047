"""The local plane against geodesics, closed forms and printed coordinates."""

import pickle

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Transformer

from lapwright.plane import Plane

WGS84 = Geodesic(6_378_137.0, 1.0 / 298.257223563)


def ring(lat0: float, lon0: float, radius: float, count: int = 24) -> tuple[list, list, list]:
    """Points all round an origin at a geodesic distance, with their azimuths."""
    azimuths = np.linspace(0.0, 360.0, count, endpoint=False)
    points = [WGS84.Direct(lat0, lon0, azimuth, radius) for azimuth in azimuths]
    return [p["lat2"] for p in points], [p["lon2"] for p in points], list(azimuths)


@pytest.mark.parametrize("lat0", [-78.0, -33.9, 0.0, 35.0, 50.0, 69.0])
@pytest.mark.parametrize("lon0", [-180.0, -179.99, 0.0, 8.5, 179.995])
def test_distances_within_5_km_equal_the_geodesic_to_1_ppm(lat0: float, lon0: float) -> None:
    # Karney's geodesics as computed by geographiclib, an independent library.
    plane = Plane(lat0, lon0)
    rng = np.random.default_rng(7)
    lat, lon = np.empty(40), np.empty(40)
    for i, (azimuth, radius) in enumerate(
        zip(rng.uniform(0, 360, 40), 5000.0 * np.sqrt(rng.uniform(0, 1, 40)), strict=True)
    ):
        end = WGS84.Direct(lat0, lon0, azimuth, radius)
        lat[i], lon[i] = end["lat2"], end["lon2"]
    east, north = plane.to_metres(lat, lon)
    for i in range(39):
        geodesic = WGS84.Inverse(lat[i], lon[i], lat[i + 1], lon[i + 1])["s12"]
        ours = np.hypot(east[i + 1] - east[i], north[i + 1] - north[i])
        assert ours == pytest.approx(geodesic, rel=1e-6)


def test_the_scale_5_km_from_the_origin_is_that_of_a_transverse_mercator() -> None:
    # Closed form: the scale is 1 + x^2/2R^2 (Snyder, USGS PP 1395, eq. 8-11), 0.31 ppm at 5 km,
    # and 1 along the central meridian.
    plane = Plane(50.0, 8.0)
    lat, lon, azimuth = ring(50.0, 8.0, 5000.0)
    for la, lo, az in zip(lat, lon, azimuth, strict=True):
        for direction in (az, az + 90.0):
            end = WGS84.Direct(la, lo, direction, 100.0)
            east, north = plane.to_metres([la, end["lat2"]], [lo, end["lon2"]])
            scale = np.hypot(np.diff(east), np.diff(north))[0] / 100.0
            expected = 1.0 + np.mean(east) ** 2 / (2.0 * 6_381_000.0**2)
            assert scale == pytest.approx(expected, abs=2e-9)


@pytest.mark.parametrize(
    ("lat", "per_degree_lat", "per_degree_lon"),
    [
        # Radii of curvature M and N of WGS 84 in closed form, M = a(1-e^2)/W^3, N = a/W
        # (NIMA TR8350.2); a handbook's table agrees to 1 m.
        (0.0, 110_574.2758, 111_319.4908),
        (35.0, 110_940.5745, 91_288.1696),
        (50.0, 111_229.0640, 71_695.7536),
        (-50.0, 111_229.0640, 71_695.7536),
        (75.0, 111_618.3841, 28_902.0058),
    ],
)
def test_degree_lengths(lat: float, per_degree_lat: float, per_degree_lon: float) -> None:
    plane, small = Plane(lat, 10.0), 1e-3
    _, north = plane.to_metres([lat - small, lat + small], [10.0, 10.0])
    east, _ = plane.to_metres([lat, lat], [10.0 - small, 10.0 + small])
    # Printed to 1e-4 m.
    assert np.diff(north)[0] / (2 * small) == pytest.approx(per_degree_lat, abs=1e-3)
    assert np.diff(east)[0] / (2 * small) == pytest.approx(per_degree_lon, abs=1e-3)


def test_a_printed_transverse_mercator_coordinate() -> None:
    # 55 N 12 E in UTM zone 32 is 691875.63214 E, 6098907.82501 N: PROJ test suite,
    # more_builtins.gie (GRS 80, whose semi-minor axis is 0.1 mm longer than WGS 84's).
    # UTM is k 0.9996 on the central meridian 9 E and 500 km false easting.
    east, north = Plane(0.0, 9.0).to_metres(55.0, 12.0)
    assert 0.9996 * east + 500_000.0 == pytest.approx(691_875.63214, abs=2e-4)
    assert 0.9996 * north == pytest.approx(6_098_907.82501, abs=2e-4)


@pytest.mark.parametrize(
    ("height", "longer_ppm"),
    # h/R with R = 6371 km, as for circuits at 150, 680 and 2232 m.
    [(150.0, 24.0), (680.0, 107.0), (2232.0, 350.0)],
)
def test_lengths_are_longer_at_height(height: float, longer_ppm: float) -> None:
    low, high = Plane(48.0, 11.0), Plane(48.0, 11.0, height)
    lat, lon, _ = ring(48.0, 11.0, 2000.0)
    ratio = np.hypot(*high.to_metres(lat, lon)) / np.hypot(*low.to_metres(lat, lon))
    assert (ratio - 1.0) * 1e6 == pytest.approx(longer_ppm, abs=1.0)


@pytest.mark.parametrize("lat0", [0.0, 19.4, 50.0, -70.0])
def test_lengths_at_height_equal_those_in_space(lat0: float) -> None:
    # Straight lines between geocentric coordinates (PROJ's cart, EPSG method 9602) of points
    # 100 m apart at the height; the arc is 1e-11 longer than the chord.
    geocentric = Transformer.from_pipeline("+proj=cart +ellps=WGS84")
    plane = Plane(lat0, 20.0, 2232.0)
    lat, lon, azimuth = ring(lat0, 20.0, 1000.0)
    for la, lo, az in zip(lat, lon, azimuth, strict=True):
        end = WGS84.Direct(la, lo, 2 * az, 100.0)
        space = np.array(
            geocentric.transform([lo, end["lon2"]], [la, end["lat2"]], [2232.0, 2232.0])
        )
        expected = np.linalg.norm(space[:, 1] - space[:, 0])
        east, north = plane.to_metres([la, end["lat2"]], [lo, end["lon2"]])
        # 0.012 ppm is the plane's own scale 1 km from the origin, x^2/2R^2.
        assert np.hypot(*np.diff([east, north]))[0] == pytest.approx(expected, rel=3e-8)


@given(
    lat0=st.floats(-85, 85),
    lon0=st.floats(-180, 180),
    height=st.floats(-400, 5000),
    east=st.floats(-5000, 5000),
    north=st.floats(-5000, 5000),
)
@settings(max_examples=200, deadline=None)
def test_there_and_back_to_a_micrometre(
    lat0: float, lon0: float, height: float, east: float, north: float
) -> None:
    plane = Plane(lat0, lon0, height)
    lat, lon = plane.to_degrees(east, north)
    assert -180.0 <= lon < 180.0
    assert plane.to_metres(lat, lon) == pytest.approx((east, north), abs=1e-6)


@given(lon0=st.floats(-180, 179.9), shift=st.floats(-0.05, 0.05))
@settings(max_examples=100, deadline=None)
def test_every_meridian_is_like_any_other(lon0: float, shift: float) -> None:
    # The earth is round: only the difference of longitude counts.
    here = Plane(-37.0, lon0).point_m((-37.01, lon0 + shift))
    there = Plane(-37.0, 0.0).point_m((-37.01, shift))
    assert here == pytest.approx(there, abs=1e-6)


def test_a_north_shift_is_north_in_both_hemispheres() -> None:
    for lat0 in (-33.0, 33.0):
        east, north = Plane(lat0, 151.0).to_metres([lat0, lat0 + 0.01], [151.01, 151.0])
        assert east[0] > 900.0
        assert abs(east[1]) < 1e-6
        assert north[1] > 1000.0


def test_the_middle_of_positions_on_both_sides_of_the_180_degree_meridian() -> None:
    plane = Plane.centred_on([-16.1, -16.3, np.nan], [179.9, -179.7, 0.0], height_m=12.0)
    assert (plane.lat0_deg, plane.height_m) == (pytest.approx(-16.2), 12.0)
    # Halfway from 179.9 E to 179.7 W = 180.3 is 180.1, which is 179.9 W.
    assert plane.lon0_deg == pytest.approx(-179.9)


def test_what_is_not_a_place_is_nan() -> None:
    plane = Plane(50.0, 8.0)
    east, north = plane.to_metres([np.nan, 50.0], [8.0, np.nan])
    assert np.isnan(east).all()
    assert np.isnan(north).all()
    assert np.isnan(plane.to_degrees([np.nan], [0.0])[0]).all()


def test_a_plane_is_a_value() -> None:
    plane = Plane(np.float64(50.0), 180.0, 100)
    assert plane == Plane(50.0, -180.0, 100.0)
    assert hash(plane) == hash(Plane(50.0, -180.0, 100.0))
    plane.to_metres(50.0, 180.0)
    copy = pickle.loads(pickle.dumps(plane))
    assert copy == plane
    assert copy.to_metres(50.001, 179.999) == plane.to_metres(50.001, 179.999)
    assert plane.point_deg(plane.point_m((50.001, 179.999))) == pytest.approx((50.001, 179.999))


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((91.0, 0.0), "latitude 91.0 is not within"),
        ((np.nan, 0.0), "latitude nan"),
        ((0.0, np.inf), "longitude inf is not finite"),
        ((0.0, 0.0, np.nan), "height nan m is not within"),
        ((0.0, 0.0, 12_000.0), "height 12000.0 m is not within"),
    ],
)
def test_a_plane_refuses_nonsense(arguments: tuple[float, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Plane(*arguments)


def test_no_position_at_all_has_no_middle() -> None:
    with pytest.raises(ValueError, match="at least one finite position"):
        Plane.centred_on([np.nan], [1.0])
