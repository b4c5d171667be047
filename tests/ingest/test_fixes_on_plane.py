"""Positions on a plane: those of the plane, each worked out once."""

import numpy as np
import pytest

import lapwright as lw
from lapwright.ingest.fixes_on_plane import fixes_on_plane

LOG = "sample_sessions/saturday_qualifying.gpx"


def test_they_are_the_planes_own_and_had_once() -> None:
    log = lw.read_log(LOG)
    here, there = lw.Plane(-43.0, 144.0), lw.Plane(-43.0, 144.0, 500.0)
    found = fixes_on_plane(log, here)
    expected = here.to_metres(log.fixes["lat_deg"].to_numpy(), log.fixes["lon_deg"].to_numpy())
    np.testing.assert_array_equal(found, expected)
    assert fixes_on_plane(log, here) is found
    assert fixes_on_plane(log, there) is not found
    assert abs(fixes_on_plane(log, there)[0] - found[0]).max() > 1e-3
    # Another log is another log, also where it has the same content.
    assert fixes_on_plane(lw.read_log(LOG), here) is not found


def test_nobody_can_spoil_them_for_the_next() -> None:
    east_m, _ = fixes_on_plane(lw.read_log(LOG), lw.Plane(-43.0, 144.0))
    with pytest.raises(ValueError, match="read-only"):
        east_m += 1.0
