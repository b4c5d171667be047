"""Laps that look held up: planted ones are seen, and nothing is claimed without evidence."""

from dataclasses import replace

import numpy as np
import pytest
from race_worlds import HELD_UP_LAP, mine, theirs

from lapwright.race.held_up import LapProfile, held_up

LENGTH_M, CELLS = 2000.0, 100


def _profiles(laps: int = 6) -> LapProfile:
    """Laps at 40 m/s that brake to 20 m/s between 1000 and 1200 m, with a little scatter."""
    rng = np.random.default_rng(8)
    station = np.linspace(0.0, LENGTH_M, CELLS + 1)
    shape = np.interp(station, [0, 1000, 1200, 1400], [40.0, 40.0, 20.0, 40.0])
    speed = shape * (1.0 + 0.002 * rng.normal(size=(laps, 1)))
    offset = 0.3 * rng.normal(size=(laps, CELLS + 1))
    return _with_times(np.arange(1, laps + 1), station, speed, offset)


def _with_times(
    lap: np.ndarray, station: np.ndarray, speed: np.ndarray, offset: np.ndarray
) -> LapProfile:
    time = 20.0 / (0.5 * (speed[:, 1:] + speed[:, :-1]))
    return LapProfile(lap, np.ones(len(lap), dtype=bool), station, time, speed, offset, 0.2)


def _changed(laps: LapProfile, speed: np.ndarray, offset: np.ndarray | None = None) -> LapProfile:
    moved = laps.offset_m if offset is None else offset
    return _with_times(laps.lap, laps.station_m, speed, moved)


def test_laps_as_usual_are_not_held_up() -> None:
    assert held_up(_profiles()).empty


def test_a_lift_where_nobody_lifts() -> None:
    laps = _profiles()
    speed = laps.speed_mps.copy()
    # Lap 3 is at 30 m/s from 400 to 640 m: 240 m at 30 instead of 40 m/s cost 2 s.
    speed[2, 20:33] = 30.0
    row = held_up(_changed(laps, speed)).iloc[0]
    assert row["lap"] == 3
    assert row["lost_s"] == pytest.approx(2.0, abs=0.15)
    assert row["lifted_mps"] == pytest.approx(10.0, abs=0.3)
    assert (row["start_m"], row["end_m"]) == (
        pytest.approx(380, abs=25),
        pytest.approx(660, abs=25),
    )


def test_time_lost_alone_is_no_evidence() -> None:
    laps = _profiles()
    speed = laps.speed_mps.copy()
    # Slower by a tenth through the whole corner: a poor corner as well as a car in front.
    speed[2, 53:68] *= 0.9
    changed = _changed(laps, speed)
    lost = changed.time_s[2].sum() - laps.time_s[2].sum()
    assert lost > 0.6
    assert held_up(changed).empty


def test_braking_a_little_earlier_is_no_lift_of_its_own() -> None:
    laps = _profiles()
    speed = laps.speed_mps.copy()
    shape = np.interp(laps.station_m, [0, 970, 1200, 1450], [40.0, 40.0, 18.0, 40.0])
    speed[2] = shape
    assert held_up(_changed(laps, speed)).empty


def test_beside_the_line_where_nobody_goes() -> None:
    laps = _profiles()
    speed, offset = laps.speed_mps.copy(), laps.offset_m.copy()
    speed[2, 53:68] *= 0.9
    offset[2, 54:64] = -4.0
    row = held_up(_changed(laps, speed, offset)).iloc[0]
    assert (row["lap"], row["lifted_mps"]) == (3, 0.0)
    assert row["aside_m"] == pytest.approx(-4.0, abs=0.6)
    # The same way aside, but no surer than 2 m: nothing to show for it.
    unsure = replace(_changed(laps, speed, offset), offset_sd_m=2.0)
    assert held_up(unsure).empty


def test_much_slower_than_any_other_lap() -> None:
    laps = _profiles()
    speed = laps.speed_mps.copy()
    # From the corner on it does not pick up: no lift, but 300 m at the corner's speed.
    speed[2, 60:76] = 20.0
    row = held_up(_changed(laps, speed)).iloc[0]
    assert (row["lap"], row["lifted_mps"]) == (3, 0.0)
    assert row["slow_m"] >= 100.0


def test_a_lap_slow_all_along_is_not_held_up_in_a_place() -> None:
    laps = _profiles()
    speed = laps.speed_mps.copy()
    speed[2] *= 0.9
    assert held_up(_changed(laps, speed)).empty


def test_with_few_laps_nothing_is_never() -> None:
    laps = _profiles(4)
    speed = laps.speed_mps.copy()
    speed[2, 20:33] = 30.0
    assert held_up(_changed(laps, speed)).empty


def test_the_planted_lap_is_found_and_no_other() -> None:
    table = mine().session.held_up
    assert table["lap"].tolist() == [HELD_UP_LAP]
    row = table.iloc[0]
    # From 0.02 laps on for 200 m: 63 to 263 m after the line.
    assert row["start_m"] < 150.0
    assert row["end_m"] > 200.0
    true = mine().run.delta(HELD_UP_LAP, HELD_UP_LAP + 1, np.array([row["start_m"], row["end_m"]]))
    assert row["lost_s"] == pytest.approx(float(np.diff(true)[0]), abs=0.4)
    assert theirs().session.held_up.empty
