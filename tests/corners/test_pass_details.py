"""Error bars of speeds and accelerations, and the usual line, against exact truth."""

from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pandas as pd
import pytest
from straight_motion import (
    ACCEL_MPS2,
    HEADING_RAD,
    OWN_M,
    SHARED_M,
    VELOCITY_MPS,
    Straight,
)
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.corners.pass_details import POINTS, pass_details, peaks, usual_offset
from lapwright.corners.pass_table import corner_passes
from lapwright.geometry import Corner, Track
from lapwright.laps.lap_trace import LapTrace
from lapwright.report.cards import LINE_AT, ONE_SD, corner_cards, line_words
from lapwright.report.report_data import ReportData, gather
from lapwright.units import Units


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    return make_world(tmp_path_factory.mktemp("details"), sim.Plan((6,)), seed=23)


@pytest.fixture(scope="module")
def known(world: World) -> ReportData:
    return gather(world.session)


def details(world: World, known: ReportData, clean: "list[int] | None" = None) -> pd.DataFrame:
    laps = [int(n) for n in known.clean["lap"]] if clean is None else clean
    session = world.session
    return pass_details(session.track, session.motion, known.traces, laps, known.passes)


def test_speeds_and_accelerations_miss_the_truth_as_their_error_bars_say(
    world: World, known: ReportData
) -> None:
    d = passes = known.passes
    z = {}
    for end in ("entry", "exit"):
        velocity = world.run.velocity(passes[f"{end}_s"].to_numpy() + world.zero_s)
        missed = passes[f"{end}_speed_mps"] - np.hypot(*velocity.T)
        z[end] = missed / d[f"{end}_speed_sd_mps"]
    for missed in z.values():
        assert 0.6 < float(np.sqrt(np.mean(missed**2))) < 1.5


def test_distance_from_the_usual_line_misses_the_truth_as_its_error_bar_says(
    world: World, known: ReportData
) -> None:
    d = passes = known.passes
    clean = [int(n) for n in known.clean["lap"]]
    z = []
    for corner in world.session.track.corners:
        rows = passes[passes["corner"] == corner.order]
        times = [known.traces[n].time_at(corner.apex_m)[0] for n in rows["lap"]]
        true = world.run.offset(np.array(times) + world.zero_s)
        own = rows["lap"].isin(clean).to_numpy()
        mine = d.loc[rows.index, "apex_aside_m"].to_numpy()
        missed = (mine - mine[own].mean()) - (true - true[own].mean())
        z.append(missed / d.loc[rows.index, "apex_aside_sd_m"].to_numpy())
    assert 0.6 < float(np.sqrt(np.mean(np.concatenate(z) ** 2))) < 1.5


def test_a_shift_of_all_fixes_moves_no_pass_from_the_usual_line(
    world: World, known: ReportData
) -> None:
    moved = {n: replace(t, offset_m=t.offset_m + 0.6) for n, t in known.traces.items()}
    again = details(world, replace(known, traces=moved))
    for name in POINTS:
        column = f"{name}_aside_m"
        np.testing.assert_allclose(again[column], known.passes[column], atol=1e-9)
    clean = known.passes["lap"].isin(known.clean["lap"])
    for name in ("apex", "exit"):
        middles = known.passes[clean].groupby("corner")[f"{name}_aside_m"].median()
        np.testing.assert_allclose(middles, 0.0, atol=1e-9)


def test_of_one_clean_lap_there_is_no_usual_line(world: World, known: ReportData) -> None:
    assert known.best is not None
    one = details(world, known, [known.best])
    assert one["apex_aside_m"].isna().all()
    assert one["entry_speed_sd_mps"].notna().all()
    fewer = known.passes.assign(**{name: one[name] for name in one})
    card = corner_cards(replace(known, passes=fewer), Units(), pictures=False)[0]
    assert "one clean lap has no usual line" in line_words(card)


def test_every_column_has_an_error_bar(known: ReportData) -> None:
    for card in corner_cards(known, Units(), pictures=False):
        assert card.sds.lead == ONE_SD
        braked = known.passes.loc[known.passes["corner"] == card.number, "brake_s"].notna().any()
        for column, bar in zip(card.columns, card.sds.cells, strict=True):
            if "braking" not in column.head or braked:
                assert bar.startswith("± "), column.head
        shown = card.sds.cells[[c.head for c in card.columns].index(LINE_AT["apex"])]
        assert f"good to about {shown} m." in line_words(card)
        # In km/h, where the table is in m/s.
        speed = card.sds.cells[[c.head for c in card.columns].index("entry speed")]
        rows = known.passes["corner"] == card.number
        middle = 3.6 * float(known.passes.loc[rows, "entry_speed_sd_mps"].median())
        assert float(speed.removeprefix("± ").lstrip("<")) == pytest.approx(middle, abs=0.06)


def test_peaks_and_slowest_places_miss_the_truth_as_their_error_bars_say(
    world: World, known: ReportData
) -> None:
    d = passes = known.passes
    motion = world.session.motion
    brake, side = peaks(known.traces, passes)
    for moment, name in ((brake, "peak_decel"), (side, "peak_lateral")):
        there = np.isfinite(moment)
        state = motion.at(moment[there])
        acceleration = world.run.acceleration(moment[there] + world.zero_s)
        if name == "peak_decel":
            true = (acceleration * state.direction).sum(axis=1)
            missed = state.accel_long_mps2 - true
            shown = -state.accel_long_mps2
        else:
            left = np.stack([-state.direction[:, 1], state.direction[:, 0]], axis=-1)
            missed = state.accel_lat_mps2 - (acceleration * left).sum(axis=1)
            shown = np.abs(state.accel_lat_mps2)
        # It is the moment of the figure in the table, but for the samples around it.
        np.testing.assert_allclose(shown, passes.loc[there, f"{name}_mps2"], atol=0.05)
        sd = d.loc[there, f"{name}_sd_mps2"].to_numpy()
        assert 0.6 < float(np.sqrt(np.mean((missed / sd) ** 2))) < 1.5
    around = np.linspace(-0.5, 0.5, 401)
    slowest = passes["min_speed_s"].to_numpy()
    speed = [np.hypot(*world.run.velocity(slowest + world.zero_s + dt).T) for dt in around]
    at = np.argmin(np.stack(speed), axis=0)
    # Where the car slows on for the next corner there is no true minimum to miss.
    there = (at > 0) & (at < len(around) - 1)
    assert there.mean() > 0.9
    missed_m = (around[at] * passes["min_speed_mps"].to_numpy())[there]
    z = missed_m / d["min_speed_station_sd_m"].to_numpy()[there]
    assert 0.6 < float(np.sqrt(np.mean(z**2))) < 1.5


def test_turn_in_and_radius_are_no_surer_than_their_error_bars_say(
    world: World, known: ReportData
) -> None:
    # The same search on what the car truly did, at the same times and stations.
    true = []
    for trace in known.traces.values():
        velocity, acceleration = (
            of(trace.time_s + world.zero_s) for of in (world.run.velocity, world.run.acceleration)
        )
        speed = np.hypot(*velocity.T)
        ahead = velocity / speed[:, None]
        along = (acceleration * ahead).sum(axis=1)
        left = ahead[:, 0] * acceleration[:, 1] - ahead[:, 1] * acceleration[:, 0]
        true.append(
            replace(trace, speed_mps=speed, accel_long_mps2=along, accel_lat_mps2=left)
        )  # fmt: skip
    truth = corner_passes(world.session.track, true, None, None)
    both = known.passes.merge(truth, on=["lap", "corner"], suffixes=("", "_true"))
    for name, sd in (
        ("turn_in_station_m", "turn_in_station_sd_m"), ("radius_driven_m", "radius_driven_sd_m")
    ):  # fmt: skip
        missed = np.abs(both[name] - both[f"{name}_true"]) / both[sd]
        # Wide: a car turns in more evenly than the smoothing supposes.
        assert 0.80 < float((missed < 1.0).mean()) < 0.995, name
        # A bar ten times as wide would hold everything; this one is of the size of the errors.
        assert 0.3 < float(np.sqrt(np.mean(missed**2))) < 1.0, name


# --- in closed form -----------------------------------------------------------------------------


def _line(lap: int, offset_m: float, *, left_mps2: float = 0.0, brake: bool = True) -> LapTrace:
    """A steady 10 m/s, so that the car is at 10 m a second; a place aside, and one braking."""
    t = np.arange(0.0, 100.0, 0.1)
    still = np.zeros(len(t))
    along, left = still.copy(), np.full(len(t), left_mps2)
    if brake:
        along[(t > 48.95) & (t < 49.55)] = -6.0
        # Harder, but 22 s before the slowest point: for another corner.
        along[(t > 27.95) & (t < 28.55)] = -9.0
    left[np.isclose(t, 51.0)] = -7.0
    return LapTrace(
        lap, 0.0, 100.0, 1000.0, t, 10.0 * t, still + offset_m, still, still, still + 10.0,
        along, left, still,
    )  # fmt: skip


_CORNER = Corner(1, "1", "left", entry_m=480.0, apex_m=500.0, exit_m=520.0, radius_m=50.0)
# The lateral acceleration is 4 m/s2 at 50 s, and grows by 2 m/s2 a second at 48.5 s.
_MOTION = Straight(
    np.array([0.0, 100.0]), np.array([10.0, 10.0]), np.zeros(2),
    left_mps2=np.array([0.0, 0.0, 4.0, 4.0]), left_knots_s=np.array([0.0, 47.5, 49.5, 100.0]),
)  # fmt: skip


def _made_up(
    offsets: dict[int, float], clean: list[int], motion: Straight = _MOTION, **of_pass: float
) -> pd.DataFrame:
    table = pd.DataFrame(
        {
            "lap": list(offsets), "corner": 1, "entry_s": 48.0, "exit_s": 52.0, "min_speed_s": 50.0,
            "turn_in_station_m": 485.0, "peak_decel_mps2": 6.0, "radius_driven_m": 25.0,
        }
    ).assign(**of_pass)  # fmt: skip
    path = SimpleNamespace(at=lambda s: SimpleNamespace(heading_rad=np.full(len(s), HEADING_RAD)))
    track = cast("Track", SimpleNamespace(corners=(_CORNER,), path=path, length_m=1000.0))
    traces = {lap: _line(lap, by) for lap, by in offsets.items()}
    return pass_details(track, motion.motion(), traces, clean, table)


def test_aside_is_to_the_left_of_the_middle_of_the_clean_laps() -> None:
    # Clean at 0.2, 0.3 and 5 m: the middle is 0.3 m, whatever the one far off does.
    found = _made_up({1: 0.2, 2: 0.3, 3: 5.0, 4: -1.0}, [1, 2, 3])
    for name in POINTS:
        np.testing.assert_allclose(found[f"{name}_aside_m"], [-0.1, 0.0, 4.7, -1.3], atol=1e-12)
        # What all share drops out against the mean of three: 1 - 1/3 of one's own variance for
        # those three and 1 + 1/3 for another.
        own = OWN_M * np.sqrt([2 / 3, 2 / 3, 2 / 3, 4 / 3])
        np.testing.assert_allclose(found[f"{name}_aside_sd_m"], own, rtol=1e-6)


def test_each_point_is_looked_for_at_its_own_station() -> None:
    at = {1: 0.0, 2: 0.0}
    table = pd.DataFrame(
        {
            "lap": [1, 2], "corner": 1, "entry_s": 48.0, "exit_s": 52.0, "min_speed_s": 50.0,
            "turn_in_station_m": [485.0, np.nan], "peak_decel_mps2": 6.0, "radius_driven_m": 25.0,
        }
    )  # fmt: skip
    traces = {lap: _line(lap, by) for lap, by in at.items()}
    # Lap 2 drifts left by a hundredth of the way from 400 m on.
    traces[2] = replace(traces[2], offset_m=0.01 * (traces[2].station_m - 400.0))
    path = SimpleNamespace(at=lambda s: SimpleNamespace(heading_rad=np.full(len(s), HEADING_RAD)))
    track = cast("Track", SimpleNamespace(corners=(_CORNER,), path=path, length_m=1000.0))
    found = pass_details(track, _MOTION.motion(), traces, [1, 2], table)
    # Half the difference of the two, at the apex (500 m) and the exit (520 m).
    np.testing.assert_allclose(found["apex_aside_m"], [-0.5, 0.5], atol=1e-12)
    np.testing.assert_allclose(found["exit_aside_m"], [-0.6, 0.6], atol=1e-12)
    # One turn-in alone makes no usual one.
    assert found["turn_in_aside_m"].isna().all()
    assert np.isnan(found["turn_in_station_sd_m"].iloc[1])


def test_bars_of_speeds_and_accelerations_are_those_of_the_motion() -> None:
    found = _made_up({1: 0.0, 2: 0.0}, [1, 2])
    for name in ("entry_speed_sd_mps", "exit_speed_sd_mps"):
        np.testing.assert_allclose(found[name], VELOCITY_MPS, rtol=1e-9)
    for name in ("peak_decel_sd_mps2", "peak_lateral_sd_mps2"):
        np.testing.assert_allclose(found[name], ACCEL_MPS2, rtol=1e-9)
    place = np.hypot(SHARED_M, OWN_M)
    # The way's acceleration does not change: the least slope, 1 m/s3, at 10 m/s; and a velocity
    # wrong across the way turns a part of the 4 m/s2 to the left into the way.
    lag = 10.0 / 1.0 * np.hypot(ACCEL_MPS2, VELOCITY_MPS * 4.0 / 10.0)
    slowest = np.hypot(place, lag)
    np.testing.assert_allclose(found["min_speed_station_sd_m"], slowest, rtol=1e-6)
    # The force grows by 2 m/s2 a second at turn-in, at 10 m/s: an error of it is one of 5 s2.
    turn_in = np.hypot(place, 10.0 / 2.0 * ACCEL_MPS2)
    np.testing.assert_allclose(found["turn_in_station_sd_m"], turn_in, rtol=1e-6)
    # r = v^2 / a: dr = 2 r / v dv - (r / v)^2 da, with 25 m at 10 m/s.
    radius = np.hypot(2 * 25.0 / 10.0 * VELOCITY_MPS, (25.0 / 10.0) ** 2 * ACCEL_MPS2)
    np.testing.assert_allclose(found["radius_driven_sd_m"], radius, rtol=1e-6)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_radius_knows_that_speed_and_force_err_together(side: float) -> None:
    # Where a car truly quicker also turned truly harder, on either side, the radius is surer:
    # the variance is less by 2 (2 r / v) (r / v)^2 cov.
    cov = 0.5 * VELOCITY_MPS * ACCEL_MPS2
    motion = replace(_MOTION, left_mps2=side * _MOTION.left_mps2, speed_left_cov=side * cov)
    speed, force = 2 * 25.0 / 10.0, (25.0 / 10.0) ** 2
    apart = (speed * VELOCITY_MPS) ** 2 + (force * ACCEL_MPS2) ** 2
    found = _made_up({1: 0.0, 2: 0.0}, [1, 2], motion)
    expected = np.sqrt(apart - 2.0 * speed * force * cov)
    np.testing.assert_allclose(found["radius_driven_sd_m"], expected, rtol=1e-6)


def test_of_what_did_not_happen_there_is_no_bar() -> None:
    found = _made_up({1: 0.0, 2: 0.0}, [1, 2], peak_decel_mps2=0.0, entry_s=np.nan)
    assert found["peak_decel_sd_mps2"].isna().all()
    assert found["entry_speed_sd_mps"].isna().all()
    assert found["exit_speed_sd_mps"].notna().all()


def test_the_hardest_braking_and_turning_are_where_they_were() -> None:
    table = pd.DataFrame(
        {"lap": [1, 2], "entry_s": 48.0, "exit_s": 52.0, "min_speed_s": 50.0,
         "peak_decel_mps2": [6.0, 0.0]}
    )  # fmt: skip
    brake, side = peaks({1: _line(1, 0.0), 2: _line(2, 0.0, brake=False)}, table)
    # The last moment of the braking for this corner; a turn to the right is as hard as to the left.
    assert brake[0] == pytest.approx(49.5)
    assert np.isnan(brake[1])
    np.testing.assert_allclose(side, 51.0)
    # However gently it was braked.
    gentle = replace(_line(1, 0.0), accel_long_mps2=_line(1, 0.0).accel_long_mps2 / 12.0)
    brake, _ = peaks({1: gentle}, table[:1].assign(peak_decel_mps2=0.5))
    assert brake[0] == pytest.approx(49.5)
    # A long way: 15 s before the slowest point is this corner's braking still.
    early = np.where(np.abs(gentle.time_s - 35.0) < 0.35, -6.0, 0.0)
    brake, _ = peaks({1: replace(gentle, accel_long_mps2=early)}, table[:1])
    assert brake[0] == pytest.approx(35.3)


def test_the_usual_line_takes_two_clean_laps() -> None:
    traces = {1: _line(1, 0.2), 2: _line(2, 0.5), 3: _line(3, 9.0)}
    at = np.array([100.0, 500.0])
    assert np.isnan(usual_offset(traces, [1], at)).all()
    np.testing.assert_allclose(usual_offset(traces, [1, 2], at), 0.35, atol=1e-12)
    np.testing.assert_allclose(usual_offset(traces, [1, 2, 3], at), 0.5, atol=1e-12)
