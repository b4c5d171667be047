"""Properties that must hold whatever the log: other worlds, other rates, another day."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from worlds import World, moved_log

from lapwright.geometry import Gate, Track
from lapwright.session import Session

SLOW = settings(
    max_examples=4, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip


def moved_track(track: Track, matrix: np.ndarray, shift_m: np.ndarray) -> Track:
    """The lines of a track in the moved world; a mirror swaps left and right."""
    mirrored = np.linalg.det(matrix) < 0.0

    def moved(gate: Gate) -> Gate:
        ends = np.array([gate.left_m, gate.right_m]) @ matrix.T + shift_m
        left, right = ends[::-1] if mirrored else ends
        return Gate((left[0], left[1]), (right[0], right[1]))

    return Track(
        track.name, track.plane, moved(track.start_finish), tuple(moved(g) for g in track.sectors)
    )


def times(session: Session) -> np.ndarray:
    laps = session.laps
    return laps.loc[laps["kind"] == "timed", "time_s"].to_numpy()


@pytest.fixture(scope="module")
def plain_times(world: World) -> np.ndarray:
    return times(Session(world.log, world.track, repeat_line=False))


@SLOW
@given(angle=st.floats(-3.1, 3.1), mirror=st.booleans(), east=st.floats(-900.0, 900.0))
def test_a_rotated_mirrored_or_translated_world_gives_the_same_times(
    world: World, plain_times: np.ndarray, angle: float, mirror: bool, east: float
) -> None:
    c, s = np.cos(angle), np.sin(angle)
    matrix = np.array([[c, -s], [s, c]]) @ np.diag([-1.0 if mirror else 1.0, 1.0])
    shift = np.array([east, 100.0])
    log = moved_log(world.log, world.track, matrix, shift)
    moved = Session(log, moved_track(world.track, matrix, shift), repeat_line=False)
    # Positions go through degrees and a plane true to 1 ppm; noise parameters are estimated anew
    # from slightly other numbers.  A tenth of a millisecond is far below any error bar.
    np.testing.assert_allclose(times(moved), plain_times, atol=1e-4)


def test_half_the_rate_changes_times_within_their_error_bars(world: World) -> None:
    whole = Session(world.log, world.track)
    half = Session(
        replace(world.log, fixes=world.log.fixes.iloc[::2].reset_index(drop=True)), world.track
    )
    a = whole.laps[whole.laps["kind"] == "timed"]
    b = half.laps[half.laps["kind"] == "timed"]
    moved = np.abs(a["time_s"].to_numpy() - b["time_s"].to_numpy())
    assert (moved < np.hypot(a["time_sd_s"].to_numpy(), b["time_sd_s"].to_numpy())).mean() >= 0.8


def test_another_days_offset_moves_no_lap_time(world: World) -> None:
    complete = world.session.track
    shift = np.array([2.5, -1.5])
    log = moved_log(world.log, complete, np.eye(2), shift)
    other = Session(log, complete)
    np.testing.assert_allclose(other.placing.offset_m, shift, atol=0.5)
    np.testing.assert_allclose(times(other), times(world.session), atol=0.01)
    assert (np.sqrt(np.diagonal(other.placing.cov_m2)) > 0.02).all()


@pytest.mark.parametrize(("count", "size_m"), [(3, 40.0), (2, 80.0)])
def test_single_wild_fixes_move_no_lap_time_by_more_than_its_error_bar(
    world: World, plain_times: np.ndarray, count: int, size_m: float
) -> None:
    laps = world.session.laps[world.session.laps["kind"] == "timed"]
    fixes = world.log.fixes
    lat = fixes["lat_deg"].to_numpy().copy()
    rng = np.random.default_rng(count)
    for start in laps["start_s"]:
        inside = np.flatnonzero(fixes["time_s"].between(start + 15.0, start + 80.0))
        # One minute of latitude is 1852 m.
        lat[rng.choice(inside, count, replace=False)] += size_m / 1852.0 / 60.0
    spiked = Session(
        replace(world.log, fixes=fixes.assign(lat_deg=lat)), world.track, repeat_line=False
    )
    sd = spiked.laps.loc[spiked.laps["kind"] == "timed", "time_sd_s"].to_numpy()
    assert (np.abs(times(spiked) - plain_times) < sd).all()
