"""Positions far from the rest go out with a finding."""

import numpy as np
import pytest

from lapwright.errors import LogError
from lapwright.ingest import Log, read_log
from lapwright.ingest.invariants import MAX_EXTENT_M, broken_invariants
from lapwright.ingest.oddities import rough_metres


@pytest.fixture
def read(tmp_path):
    def reader(lat_deg: np.ndarray, lon_deg: np.ndarray) -> Log:
        path = tmp_path / "log.csv"
        rows = enumerate(zip(lat_deg.tolist(), lon_deg.tolist(), strict=True))
        lines = [f"{k / 10:.1f},{lat:.7f},{lon:.7f}" for k, (lat, lon) in rows]
        path.write_text("time,lat,lon\n" + "\n".join(lines) + "\n")
        return read_log(path)

    return reader


def far(log: Log) -> tuple[tuple[int, int], ...]:
    return next((note.lines for note in log.findings if note.code == "far_position"), ())


@pytest.mark.parametrize("lon0", [7.0, 179.9999, -179.9999])
def test_a_sign_turned_and_a_digit_lost_are_left_out(lon0, read, make_drive) -> None:
    drive = make_drive(count=200, lon0_deg=lon0)
    lat, lon = drive.lat_deg.copy(), drive.lon_deg.copy()
    assert far(read(lat, lon)) == ()
    lat[30] = -lat[30]
    lat[60:63] /= 10
    lon[90] = (lon[90] + 180) % 360 - 180 if lon0 != 7.0 else 77.0
    log = read(lat, lon + (lon < -180) * 360)
    lost = 5 if lon0 == 7.0 else 4
    assert len(log.fixes) == 200 - lost
    assert far(log)[:2] == ((32, 32), (62, 64))
    # East and north, in metres, at the latitude of the drive.
    place = rough_metres(log.fixes["lat_deg"].to_numpy(), log.fixes["lon_deg"].to_numpy())
    assert np.ptp(place, axis=0).max() < 400.0


def test_the_way_to_the_circuit_is_kept(read) -> None:
    # 111.32 km a degree: 150 km in 600 steps of 250 m, a road at 2500 m/s that only tests know.
    lat = 50.0 + np.arange(600) * 150 / 111.32 / 600
    log = read(lat, np.full(600, 7.0))
    assert len(log.fixes) == 600
    assert far(log) == ()


def test_positions_all_over_the_globe_are_an_error(read) -> None:
    rng = np.random.default_rng(1)
    with pytest.raises(LogError, match=r"positions of its 500 fixes are scattered: .* column map"):
        read(rng.uniform(-90, 90, 500), rng.uniform(-180, 180, 500))


def test_a_continent_is_cut_to_what_fits_the_invariant(read) -> None:
    rng = np.random.default_rng(1)
    lat, lon = rng.normal(88.0, 0.5, 500), rng.normal(0.0, 9.0, 500)
    log = read(np.minimum(lat, 90.0), lon)
    assert broken_invariants(log) == ()
    assert 0 < len(log.fixes) < 500
    assert MAX_EXTENT_M == 200_000.0
