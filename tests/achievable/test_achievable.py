"""The calculated lap of simulated sessions, against the lap that the simulator drives."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from worlds import World

import lapwright as lw
from lapwright import simulate as sim
from lapwright.columns import names
from lapwright.columns.achievable import ACHIEVABLE
from lapwright.errors import LapError
from lapwright.notes.weekend_notes import LogNotes
from lapwright.session import Session

# Of the lap time: what the page on the method promises.
WITHIN = 0.01


def quiet_lap_s(world: World) -> float:
    """Return the lap of the same car and driver without scatter and habits."""
    quiet = replace(sim.STEADY, pace=world.run.driver.pace)
    laps = sim.drive(world.run.circuit, world.run.car, quiet, sim.Plan((3,)), seed=1).laps
    return float(laps.loc[laps["kind"] == "timed", "time_s"].iloc[1])


def test_within_a_hundredth_of_the_lap_without_scatter_and_habits(slow_in_a_corner: World) -> None:
    found, truth = slow_in_a_corner.session.achievable, quiet_lap_s(slow_in_a_corner)
    assert found.time_s == pytest.approx(truth, rel=WITHIN)
    assert found.time_low95_s < truth < found.time_high95_s
    assert truth < found.usual_s


def test_the_parts_add_up(slow_in_a_corner: World) -> None:
    found = slow_in_a_corner.session.achievable
    table = found.corners
    assert table["allowed_s"].sum() == pytest.approx(found.time_s, abs=1e-9)
    assert table["usual_s"].sum() == pytest.approx(found.usual_s, abs=1e-9)
    made = table[["line_s", "minimum_s", "braking_s", "throttle_s"]].sum(axis=1)
    assert made.to_numpy() == pytest.approx(table["gap_s"].to_numpy(), abs=1e-9)
    assert found.gap_s == pytest.approx(found.usual_s - found.time_s, abs=1e-12)


def test_usual_and_best_are_those_of_the_laps(slow_in_a_corner: World) -> None:
    session = slow_in_a_corner.session
    found, laps = session.achievable, session.laps[session.laps["representative"]]
    assert found.laps == tuple(laps["lap"])
    assert found.usual_s == pytest.approx(laps["time_s"].mean(), abs=1e-6)
    assert (found.best_lap, found.best_s) == (
        session.best_lap, pytest.approx(laps["time_s"].min(), abs=1e-6)
    )  # fmt: skip
    assert (found.corners["best_s"] <= found.corners["usual_s"]).all()
    assert (found.corners["best_sd_s"] > 0.0).all()


def test_the_slow_corner_is_the_one_with_minimum_speed_to_find(slow_in_a_corner: World) -> None:
    table = slow_in_a_corner.session.achievable.corners.set_index("corner")
    circuit, track = slow_in_a_corner.run.circuit, slow_in_a_corner.session.track
    apex = circuit.bends[1].apex_m * track.length_m / circuit.length_m
    slow = min(track.corners, key=lambda corner: abs(corner.apex_m - apex)).order
    assert table["minimum_s"].idxmax() == slow
    assert not table.at[slow, "only_scatter"]
    assert table.at[slow, "allowed_min_speed_mps"] > table.at[slow, "usual_min_speed_mps"]


def test_at_the_limit_there_is_nothing_left_but_scatter(at_the_limit: World) -> None:
    found = at_the_limit.session.achievable
    assert found.only_scatter
    assert found.corners["only_scatter"].mean() > 0.7
    assert not found.beyond or found.best_s - found.time_s < WITHIN * found.best_s


def test_the_table_is_as_described(at_the_limit: World) -> None:
    table = at_the_limit.session.achievable.corners
    assert list(table) == names(ACHIEVABLE)
    assert table["corner"].tolist() == [c.order for c in at_the_limit.session.track.corners]
    for column in ACHIEVABLE:
        if column.sd:
            assert (table[column.sd] > 0.0).all(), column.name


def test_along_the_lap(at_the_limit: World) -> None:
    found = at_the_limit.session.achievable
    along = found.along
    assert (np.diff(along["station_m"]) > 0.0).all()
    assert (along["allowed_low95_mps"] < along["allowed_mps"]).all()
    assert (along["allowed_mps"] < along["allowed_high95_mps"]).all()
    step = at_the_limit.session.track.length_m / len(along)
    assert (step / along["usual_mps"]).sum() == pytest.approx(found.usual_s, rel=0.01)


def test_five_laps_are_needed(at_the_limit: World) -> None:
    session = at_the_limit.session
    fixes = session.log.fixes
    end = float(session.laps.loc[session.laps["lap"] == 4, "end_s"].iloc[0])
    cut = replace(session.log, fixes=fixes[fixes["time_s"] < end + 5.0])
    fewer = Session(cut, at_the_limit.track, repeat_line=False)
    with pytest.raises(LapError, match=r"takes 5 clean laps, and there are 4\. Drive some more"):
        _ = fewer.achievable


def test_wet_and_dry_are_kept_apart(at_the_limit: World) -> None:
    with pytest.raises(LapError, match="conditions changed in this session"):
        _ = at_the_limit.session.with_notes(LogNotes(conditions="dry, then rain")).achievable
    assert at_the_limit.session.with_notes(LogNotes(conditions="wet")).achievable.laps


def test_a_circuit_without_corners_has_a_lap_and_no_table(at_the_limit: World) -> None:
    session = at_the_limit.session
    bare = Session(session.log, session.shared_track.with_corners(()))
    found = bare.achievable
    # What the track file lacks is found in the log, so the table may have rows all the same.
    assert len(found.corners) == len(bare.track.corners)
    assert found.time_s == pytest.approx(session.achievable.time_s, rel=0.002)


def test_the_scatter_of_two_drivers_widens_the_interval(
    slow_in_a_corner: World, at_the_limit: World
) -> None:
    def width(world: World) -> float:
        found = world.session.achievable
        return (found.time_high95_s - found.time_low95_s) / found.time_s

    assert width(at_the_limit) < width(slow_in_a_corner)


def test_a_run_across_a_hole_in_the_log_is_nobodys_best() -> None:
    # 3.8 s of lap 9 are missing in the first corner, and what stands in for them is the quickest.
    samples = Path(__file__).parents[2] / "sample_sessions"
    log, track = samples / "friday_test.csv", samples / "wren_hollow.geojson"
    session = lw.open_session(log, track=track, repeat_line=False)
    corners = session.achievable.corners
    assert 9 in session.achievable.laps
    assert np.isfinite(corners["best_sd_s"]).all()
    assert int(corners["best_lap"].iloc[0]) != 9
