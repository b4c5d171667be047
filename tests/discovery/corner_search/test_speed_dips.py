import numpy as np
import pytest

from lapwright.discovery.corner_search.speed_dips import (
    CELL_M,
    LapSpeeds,
    find_speed_dips,
)
from lapwright.geometry import Corner

LENGTH_M = 3000.0
STATION_M = np.arange(CELL_M / 2, LENGTH_M, CELL_M)
TOP_MPS = 50.0
# 20 km/h, which is 11 % of 180 km/h.
LOST_MPS = 20.0 / 3.6


def kink(at_m: float, lost_mps: float, down_m: float = 60.0, up_m: float = 150.0):
    """Speed lost by station: a straight way down and a straight way back up."""
    ahead = np.mod(STATION_M - at_m + LENGTH_M / 2, LENGTH_M) - LENGTH_M / 2
    side = np.where(ahead < 0.0, -ahead / down_m, ahead / up_m)
    return lost_mps * np.maximum(1.0 - side, 0.0)


def laps_of(*lost_mps, noise: float = 0.005) -> LapSpeeds:
    rng = np.random.default_rng(5)
    speed = np.array([TOP_MPS - lost for lost in lost_mps])
    return LapSpeeds(speed * (1.0 + noise * rng.normal(size=speed.shape)), LENGTH_M)


@pytest.mark.parametrize("at_m", [1205.0, 5.0, 2985.0])
def test_twenty_km_h_lost_on_every_lap_are_a_dip_where_they_are_lost(at_m: float) -> None:
    (dip,) = find_speed_dips(laps_of(*[kink(at_m, LOST_MPS)] * 6), ())
    assert dip.slowest_m == pytest.approx(at_m, abs=CELL_M)
    assert dip.lost == pytest.approx(LOST_MPS / TOP_MPS, abs=0.015)
    # Half is lost 30 m before and won back 75 m after.
    assert dip.slowest_m - dip.begin_m == pytest.approx(30.0, abs=CELL_M)
    assert dip.end_m - dip.slowest_m == pytest.approx(75.0, abs=1.5 * CELL_M)


@pytest.mark.parametrize(("slowed", "found"), [(2, 0), (3, 0), (5, 0), (6, 1), (8, 1)])
def test_traffic_and_slips_on_a_few_laps_are_no_corner(slowed: int, found: int) -> None:
    laps = [kink(1205.0, LOST_MPS)] * slowed + [kink(1205.0, 0.0)] * (8 - slowed)
    assert len(find_speed_dips(laps_of(*laps), ())) == found


def test_a_loss_that_is_another_on_every_lap_is_no_corner() -> None:
    # The median is 6.8 % and every lap loses 3 %, but the robust sd is 2.5 of the 3.4 m/s.
    lost = np.array([1.7, 1.8, 1.9, 2.0, 3.4, 8.0, 9.0, 10.0, 11.0])
    assert not find_speed_dips(laps_of(*(kink(1205.0, one) for one in lost), noise=0.0), ())


def test_a_gear_change_is_no_corner() -> None:
    # Half a second without drive at 50 m/s: 25 m, and 2 m/s2 of air: 1 m/s, 2 %; taken double.
    shift = kink(1205.0, 2.0, 25.0, 60.0)
    assert not find_speed_dips(laps_of(*[shift] * 8), ())


@pytest.mark.parametrize(("gradient", "found"), [(0.10, 0), (0.25, 1)])
def test_a_hill_at_full_throttle_is_no_corner(gradient: float, found: int) -> None:
    # The car loses g times the gradient over 300 m and gets it back: v^2 = v0^2 - 2 g s.
    ahead = STATION_M - 1205.0
    part = np.where(ahead < 0.0, 1.0 + ahead / 300.0, 1.0 - ahead / 300.0)
    fall = 2.0 * 9.81 * gradient * 300.0 * np.maximum(part, 0.0)
    hill = TOP_MPS - np.sqrt(TOP_MPS**2 - fall)
    # 6 % and more is lost in both, so that it is the deceleration that tells.
    assert hill.max() > 0.06 * TOP_MPS
    assert len(find_speed_dips(laps_of(*[hill] * 8, noise=0.0), ())) == found


def test_the_first_of_two_brakings_for_a_corner_is_no_corner() -> None:
    # 50 to 44 m/s, held for 60 m, then down to 20 m/s in a corner.
    steps = np.interp(STATION_M, [1000, 1060, 1120, 1220, 1400], [0.0, 6.0, 6.0, 30.0, 0.0])
    corner = Corner(1, "1", "left", 1180.0, 1220.0, 1260.0, 25.0)
    assert not find_speed_dips(laps_of(*[steps] * 8, noise=0.002), [corner])


@pytest.mark.parametrize(("away_m", "found"), [(20.0, 0), (80.0, 1)])
def test_a_dip_beside_a_corner_is_that_corner_s(away_m: float, found: int) -> None:
    corner = Corner(1, "1", "left", 1050.0, 1100.0, 1205.0 - away_m, 60.0)
    dips = find_speed_dips(laps_of(*[kink(1205.0, LOST_MPS)] * 6), [corner])
    assert len(dips) == found


def test_two_laps_are_too_few_for_a_habit_of_the_circuit() -> None:
    lost = kink(1205.0, LOST_MPS)
    assert not find_speed_dips(laps_of(lost, lost), ())
    assert len(find_speed_dips(laps_of(lost, lost, lost), ())) == 1


def test_a_hole_in_every_log_hides_what_lies_in_it_and_no_more() -> None:
    speeds = laps_of(*[kink(1205.0, LOST_MPS) + kink(2205.0, LOST_MPS)] * 6)
    speeds.speed_mps[:, (STATION_M > 1000.0) & (STATION_M < 1500.0)] = np.nan
    assert [dip.slowest_m for dip in find_speed_dips(speeds, ())] == [pytest.approx(2205.0, abs=10)]
