"""The table of passes on drives made by hand, and its error bars in closed form."""

from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace
from typing import cast

import numpy as np
import pandas as pd
import pytest
from straight_motion import (
    ACCEL_MPS2,
    AHEAD,
    HEADING_RAD,
    OWN_M,
    SHARED_M,
    VELOCITY_MPS,
    Straight,
)
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.corners.driver_inputs import Channel
from lapwright.corners.pass_table import corner_passes, corner_table, with_error_bars
from lapwright.geometry import Corner, Track
from lapwright.laps.lap_trace import LapTrace
from lapwright.plane import Plane

STEP_S, LENGTH_M = 0.02, 5000.0


def drive(
    *knots: tuple[float, float], lap: int = 1, start_m: float = 0.0, end_m: float = LENGTH_M
) -> LapTrace:
    """
    A right-hand drive whose speed goes in straight lines in time between stations.

    Offset and lateral acceleration are straight lines over the station, so that each place has its
    own: a hundredth of the station to the left, and a thousandth of it to the right.
    """
    time, speed = [0.0], [knots[0][1]]
    for (from_m, v0), (to_m, v1) in pairwise(knots):
        # At a steady acceleration the mean speed is the mean of the two.
        time.append(time[-1] + 2.0 * (to_m - from_m) / (v0 + v1))
        speed.append(v1)
    t = np.arange(0.0, time[-1], STEP_S)
    v = np.interp(t, time, speed)
    station = knots[0][0] + np.concatenate([[0.0], np.cumsum(0.5 * (v[1:] + v[:-1]) * STEP_S)])
    start, end = np.interp([start_m, end_m], station, t)
    return LapTrace(
        lap, float(start), float(end), LENGTH_M, t, station, 0.01 * station, station, 0.0 * t, v,
        np.gradient(v, t), -0.001 * station, 0.0 * t,
    )  # fmt: skip


CORNER = Corner(1, "1", "right", entry_m=1600.0, apex_m=1760.0, exit_m=1860.0, radius_m=60.0)
FAR = Corner(2, "2", "right", entry_m=4000.0, apex_m=4050.0, exit_m=4100.0, radius_m=60.0)
# 40 to 20 m/s in 100 m are 6 m/s2 (uniform acceleration), 20 to 40 m/s in 400 m 1.5 m/s2.
DRIVE = drive((0.0, 40.0), (1700.0, 40.0), (1800.0, 20.0), (2200.0, 40.0), (5000.0, 40.0))


def passes_of(
    *traces: LapTrace, corners: tuple[Corner, ...] = (CORNER, FAR), brake: Channel | None = None,
    throttle: Channel | None = None,
) -> pd.DataFrame:  # fmt: skip
    track = cast("Track", SimpleNamespace(corners=corners, length_m=LENGTH_M))
    return corner_passes(track, list(traces), brake, throttle)


def test_every_number_of_a_pass_is_that_of_its_place() -> None:
    row = passes_of(DRIVE).iloc[0]
    assert (row["lap"], row["corner"]) == (1, 1)
    # One sample is 0.8 m at 40 m/s; a steady drive is exact.
    assert row["entry_speed_mps"] == pytest.approx(40.0)
    # v^2 = 20^2 + 2 * 1.5 * 60 at the exit, 60 m behind the slowest point.
    assert row["exit_speed_mps"] == pytest.approx(np.sqrt(400.0 + 180.0), abs=0.03)
    assert row["min_speed_mps"] == pytest.approx(20.0, abs=0.1)
    assert row["min_speed_station_m"] == pytest.approx(1800.0, abs=0.5)
    assert row["brake_station_m"] == pytest.approx(1700.0, abs=0.8)
    # 1700 m is 100 m into the corner that begins at 1600 m: before it is positive.
    assert row["brake_to_corner_m"] == pytest.approx(-100.0, abs=0.8)
    assert row["peak_decel_mps2"] == pytest.approx(6.0, abs=0.01)
    assert row["throttle_station_m"] == pytest.approx(1800.0, abs=0.5)
    # At apex and exit a hundredth of 1760 and 1860 m; the bend is little until the slowest point.
    assert row["apex_offset_m"] == pytest.approx(17.60)
    assert row["exit_offset_m"] == pytest.approx(18.60)
    assert row["turn_in_offset_m"] == pytest.approx(0.01 * row["turn_in_station_m"])
    # Within the corner the force is largest at its end, to the right.
    assert row["peak_lateral_mps2"] == pytest.approx(1.86, abs=0.002)
    # 100 m at 40 m/s, 100 m at 30 m/s on average, then from 20 to 24.08 m/s at 1.5 m/s2.
    assert row["time_s"] == pytest.approx(2.5 + 100 / 30 + (np.sqrt(580.0) - 20.0) / 1.5, abs=0.02)
    assert row["exit_s"] - row["entry_s"] == row["time_s"]
    assert row["entry_s"] == pytest.approx(1600.0 / 40.0, abs=1e-6)
    assert row["brake_s"] == pytest.approx(1700.0 / 40.0, abs=0.02)
    assert row["min_speed_s"] == pytest.approx(1700.0 / 40.0 + 100.0 / 30.0, abs=0.02)
    assert row["throttle_s"] == pytest.approx(row["min_speed_s"], abs=0.04)
    assert row["lift_s"] <= row["brake_s"]
    assert (row["brake_source"], row["throttle_source"]) == ("motion", "motion")


def test_braking_before_the_corner_is_counted_from_its_entry() -> None:
    early = drive((0.0, 40.0), (1550.0, 40.0), (1700.0, 20.0), (2100.0, 40.0), (5000.0, 40.0))
    assert passes_of(early).iloc[0]["brake_to_corner_m"] == pytest.approx(50.0, abs=0.8)


def test_without_braking_the_hardest_slowing_is_that_from_the_top_speed_on() -> None:
    # 40 to 37 m/s in 160 m: 0.72 m/s2, less than counts as braking.
    row = passes_of(drive((0.0, 30.0), (1600.0, 40.0), (1760.0, 37.0), (5000.0, 45.0))).iloc[0]
    assert np.isnan(row["brake_s"])
    assert np.isnan(row["brake_station_m"])
    assert row["peak_decel_mps2"] == pytest.approx((40.0**2 - 37.0**2) / 320.0, abs=0.01)


def test_slowing_for_the_corner_before_is_not_this_corners_hardest() -> None:
    # 8 m/s2 for something at 1000 m, then 6 m/s2 for the corner.
    row = passes_of(
        drive(
            (0.0, 40.0), (1000.0, 40.0), (1075.0, 20.0), (1400.0, 40.0), (1700.0, 40.0),
            (1800.0, 20.0), (2200.0, 40.0), (5000.0, 40.0),
        )
    ).iloc[0]  # fmt: skip
    assert row["peak_decel_mps2"] == pytest.approx(6.0, abs=0.01)


def test_a_pass_belongs_to_the_lap_its_slowest_point_lies_in() -> None:
    # The same drive, cut before and behind the corner.
    assert len(passes_of(drive_cut(0.0, LENGTH_M), corners=(CORNER,))) == 1
    assert passes_of(drive_cut(0.0, 1700.0), corners=(CORNER,)).empty
    assert passes_of(drive_cut(1900.0, LENGTH_M), corners=(CORNER,)).empty


def drive_cut(start_m: float, end_m: float) -> LapTrace:
    return drive(
        (0.0, 40.0), (1700.0, 40.0), (1800.0, 20.0), (2200.0, 40.0), (5000.0, 40.0),
        start_m=start_m, end_m=end_m,
    )  # fmt: skip


def pressed(at_s: float) -> Channel:
    """A pedal that goes all the way down within 0.2 s."""
    times = np.array([at_s - 100.0, at_s, at_s + 0.2, at_s + 100.0])
    return Channel("brake", times, np.array([0.0, 0.0, 1.0, 1.0]))


def test_a_pedal_is_before_what_the_car_does() -> None:
    # Pressed 0.4 s before the car slows: a tenth of the way down is 0.02 s later.
    row = passes_of(DRIVE, brake=pressed(42.5 - 0.4)).iloc[0]
    assert row["brake_source"] == "channel"
    assert row["brake_s"] == pytest.approx(42.5 - 0.4 + 0.02)
    # The car does 40 m/s there.
    assert row["brake_station_m"] == pytest.approx(1700.0 - 0.38 * 40.0, abs=0.01)


def test_each_pedal_is_asked_for_its_own_point() -> None:
    # The throttle opens 1 s behind the slowest point; a fifth of the way is 0.04 s later.
    slowest = float(DRIVE.time_s[np.argmin(DRIVE.speed_mps)])
    row = passes_of(DRIVE, brake=pressed(42.1), throttle=pressed(slowest + 1.0)).iloc[0]
    assert (row["brake_source"], row["throttle_source"]) == ("channel", "channel")
    assert row["brake_s"] == pytest.approx(42.12)
    assert row["throttle_s"] == pytest.approx(slowest + 1.04)


def test_of_what_happened_before_the_trace_no_place_is_made_up() -> None:
    late = drive((1590.0, 40.0), (1690.0, 20.0), (2090.0, 40.0), (5000.0, 40.0), start_m=1590.0)
    row = passes_of(late, brake=pressed(-0.4)).iloc[0]
    assert row["brake_s"] == pytest.approx(-0.38)
    assert np.isnan(row["brake_station_m"])


def test_a_trace_that_begins_or_ends_in_a_corner_has_no_run_through_it() -> None:
    # The entry is at 1600 m, the exit at 1860 m: speeds and times there would be made up.
    for from_m, until_m, there in ((1590.0, 5000.0, True), (1610.0, 5000.0, False),
                                   (0.0, 1870.0, True), (0.0, 1850.0, False)):  # fmt: skip
        trace = drive((from_m, 40.0), (1720.0, 30.0), (until_m, 40.0), start_m=from_m)
        assert passes_of(trace, corners=(CORNER,)).empty != there


def test_a_corner_that_is_not_slowed_for_keeps_its_row() -> None:
    rows = passes_of(DRIVE).set_index("corner")
    assert rows["flat"].tolist() == [False, True]
    flat = rows.loc[2]
    nothing = [
        "min_speed_mps", "min_speed_s", "min_speed_station_m", "lift_s", "lift_station_m",
        "brake_s", "brake_station_m", "brake_to_corner_m", "turn_in_station_m", "turn_in_offset_m",
        "throttle_s", "throttle_station_m", "radius_driven_m",
    ]  # fmt: skip
    assert flat[nothing].isna().all()
    # 100 m at 40 m/s, 40.5 m to the left at the apex.
    assert (flat["entry_speed_mps"], flat["exit_speed_mps"]) == pytest.approx((40.0, 40.0))
    assert flat["time_s"] == pytest.approx(2.5)
    assert flat["apex_offset_m"] == pytest.approx(40.5)
    assert flat["peak_decel_mps2"] == 0.0
    assert flat["peak_lateral_mps2"] == pytest.approx(4.1, abs=1e-3)


def test_the_corners_of_a_track(world: World) -> None:
    track = world.session.track
    table = corner_table(track)
    for row, corner in zip(table.to_dict("records"), track.corners, strict=True):
        assert (row["corner"], row["name"]) == (corner.order, corner.name)
        assert (row["entry_m"], row["apex_m"], row["exit_m"]) == (
            corner.entry_m, corner.apex_m, corner.exit_m,
        )  # fmt: skip
        assert track.path is not None
        there = track.path.at(corner.apex_m)
        east, north = track.plane.to_metres(row["apex_lat_deg"], row["apex_lon_deg"])
        assert (east, north) == pytest.approx((there.east_m, there.north_m), abs=1e-3)


def missed_in_sds(world: World) -> np.ndarray:
    """Against when the car truly crossed the path's normals at entry and exit."""
    session, run, passes = world.session, world.run, world.session.passes
    path, plane = session.track.path, session.track.plane
    assert path is not None
    place = {c.order: c for c in session.track.corners}
    true = {}
    for end in ("entry", "exit"):
        at = path.at(np.array([getattr(place[c], f"{end}_m") for c in passes["corner"]]))
        ahead = np.stack([np.cos(at.heading_rad), np.sin(at.heading_rad)], axis=1)
        moment = passes[f"{end}_s"].to_numpy() + world.zero_s
        # Newton's method: what the car is beyond the normal, over how fast it leaves it.
        for _ in range(4):
            degrees = run.circuit.to_degrees(run.position(moment))
            here = np.stack(plane.to_metres(degrees[:, 0], degrees[:, 1]), axis=1)
            beyond = ((here - np.stack([at.east_m, at.north_m], axis=1)) * ahead).sum(axis=1)
            moment = moment - beyond / (run.velocity(moment) * ahead).sum(axis=1)
        true[end] = moment
    missed = passes["time_s"] - (true["exit"] - true["entry"])
    return np.asarray(missed / passes["time_sd_s"])


def test_times_through_corners_miss_the_truth_as_their_error_bars_say(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    # Where a session lies moves a corner's times on all laps alike, so of each session only its two
    # coordinates are by chance: twelve numbers in six, whose root mean square has an sd of 0.2.
    z = [
        missed_in_sds(make_world(tmp_path_factory.mktemp("times"), sim.Plan((1,)), seed=seed))
        for seed in range(31, 37)
    ]
    assert 0.6 < float(np.sqrt(np.mean(np.concatenate(z) ** 2))) < 1.4


# --- error bars ---------------------------------------------------------------------------------

CLOCK = 0.002
# Speeds 40, 25 and 30 m/s at entry, slowest point and exit; the acceleration falls at 4 m/s3
# through the braking point at 12 s (38 m/s) and rises at 2 m/s3 through the throttle at 22 s
# (26 m/s).
MOTION = Straight(
    np.array([0.0, 10.0, 11.0, 12.0, 13.0, 20.0, 21.0, 22.0, 23.0, 30.0, 100.0]),
    np.array([40.0, 40.0, 39.0, 38.0, 37.0, 25.0, 25.0, 26.0, 27.0, 30.0, 30.0]),
    np.array([3.0, 3.0, 3.0, -1.0, -5.0, -1.0, -1.0, 1.0, 3.0, 0.0, 0.0]),
)
PLANE = Plane(51.0, 2.0)


def sure(motion: Straight, times: int = 1) -> pd.DataFrame:
    table = pd.DataFrame(
        {
            "corner": [1, 1], "min_speed_s": [20.0, 20.0], "entry_s": [10.0, 30.0],
            "exit_s": [30.0, 50.0], "brake_s": [12.0, np.nan], "throttle_s": [22.0, np.nan],
        }
    )  # fmt: skip
    table = pd.concat([table] * times, ignore_index=True)
    path = SimpleNamespace(at=lambda s: SimpleNamespace(heading_rad=np.full(len(s), HEADING_RAD)))
    track = SimpleNamespace(corners=(CORNER,), path=path, length_m=LENGTH_M, plane=PLANE)
    return with_error_bars(cast("Track", track), motion.motion(), table)


def test_the_bar_of_a_time_holds_what_entry_and_exit_share_and_what_they_do_not() -> None:
    # A place wrong by e along the way is a time wrong by e / v.  The shared part of entry and exit
    # counts with the difference of 1 / v: at one speed it drops out, as if it were not there.
    table = sure(MOTION)
    first = SHARED_M**2 * (1 / 40 - 1 / 30) ** 2 + OWN_M**2 * (1 / 40**2 + 1 / 30**2)
    second = 2.0 * OWN_M**2 / 30**2
    np.testing.assert_allclose(table["time_sd_s"], np.sqrt([first, second]), rtol=1e-9)
    # As if entry and exit were independent it would be fifteen times as much.
    assert table["time_sd_s"].iloc[1] < 0.1 * np.hypot(SHARED_M / 30, SHARED_M / 30)


def test_the_bar_of_a_time_holds_the_clock_by_the_time_that_went_by() -> None:
    bare = sure(MOTION)["time_sd_s"].to_numpy()
    clocked = sure(replace(MOTION, clock_rate_sd=CLOCK))
    # 20 s on a clock good to 2 in 1000: 0.04 s, independent of where the car was.
    np.testing.assert_allclose(clocked["time_sd_s"], np.hypot(bare, 20.0 * CLOCK), rtol=1e-9)
    # Speeds and places do not hang on it.
    for name in ("min_speed_sd_mps", "brake_sd_m", "throttle_sd_m"):
        np.testing.assert_allclose(clocked[name], sure(MOTION)[name], rtol=1e-12)


def test_the_bars_of_speed_and_places() -> None:
    table = sure(MOTION)
    np.testing.assert_allclose(table["min_speed_sd_mps"], VELOCITY_MPS, rtol=1e-9)
    # By the module's own formula e_p - (v / j) e_a: 38 / 4 s2 and 26 / 2 s2.
    place = np.hypot(SHARED_M, OWN_M)
    for name, lag_s2 in (("brake_sd_m", 38.0 / 4.0), ("throttle_sd_m", 26.0 / 2.0)):
        assert table[name].iloc[0] == pytest.approx(np.hypot(place, lag_s2 * ACCEL_MPS2), rel=1e-9)
        # What did not happen has no error bar.
        assert np.isnan(table[name].iloc[1])


def test_bars_are_the_same_however_many_passes_there_are() -> None:
    one, many = sure(MOTION), sure(MOTION, 90)
    for name in ("min_speed_sd_mps", "time_sd_s", "brake_sd_m", "throttle_sd_m"):
        np.testing.assert_allclose(many[name], np.tile(one[name], 90), rtol=1e-9)


def test_places_on_earth() -> None:
    table = sure(MOTION)
    # 10 m along the way each second: at 20 s and at 12 s.
    for prefix, second in (("min_speed", 20.0), ("brake", 12.0)):
        lat, lon = table[f"{prefix}_lat_deg"].iloc[0], table[f"{prefix}_lon_deg"].iloc[0]
        east, north = PLANE.to_metres(lat, lon)
        assert (east, north) == pytest.approx(tuple(10.0 * second * AHEAD), abs=1e-4)
    assert np.isnan(table["brake_lat_deg"].iloc[1])
    assert np.isnan(table["brake_lon_deg"].iloc[1])
