"""A start/finish line from a moment of a log."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pandas as pd
import pytest

import lapwright as lw
from lapwright import simulate as sim
from lapwright.discovery.moment import moment_s, start_line_at_time

START = pd.Timestamp("2026-05-01T23:58:20.5Z")


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    """A drive of three timed laps: circuit, run, recording, log and the file of the lines."""
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((3,)), seed=31)
    recording = sim.receive(run, replace(sim.ORDINARY, rate_hz=5.0), seed=32)
    file = tmp_path_factory.mktemp("moment") / "lines.geojson"
    sim.write_track(circuit, file)
    return circuit, run, recording, recording.log(), lw.read_track(file)


def dated(log: lw.Log, start: pd.Timestamp = START) -> lw.Log:
    return replace(log, start_utc=start, time_scale="utc", first_fix_s=start.timestamp())


def undated(log: lw.Log, first_fix_s: float, scale: str = "time_of_day") -> lw.Log:
    return replace(log, start_utc=None, time_scale=scale, first_fix_s=first_fix_s)


def test_the_line_is_where_the_car_was_and_laps_begin_there(world) -> None:
    circuit, run, recording, log, _ = world
    time_s = 160.0
    track = start_line_at_time(log, time_s)
    assert track.path is None
    # Truth of the simulator: place and heading at that time.
    line_m = circuit.to_plane(np.array(track.start_finish_deg))
    at = np.array([time_s + recording.zero_s])
    true_m = run.position(at)[0]
    # Within the receiver's error: drift and white noise of 1 m each, three sd.
    assert np.hypot(*(line_m.mean(axis=0) - true_m)) < 3.0 * 1.5
    ahead_m = run.position(at + 0.1)[0] - run.position(at - 0.1)[0]
    right_m = line_m[1] - line_m[0]
    assert np.hypot(*right_m) == pytest.approx(25.0, abs=0.01)
    # Square to the way, the left end on the left: right is the way turned clockwise.
    turned = np.array([ahead_m[1], -ahead_m[0]]) / np.hypot(*ahead_m)
    assert turned @ right_m / np.hypot(*right_m) > np.cos(np.radians(2.0))
    laps = lw.Session(log, track, repeat_line=False).laps
    timed = laps[laps["kind"] == "timed"]
    # A lap begins at that very moment; the lap's smoothing sees the whole log, the line's a part.
    assert np.abs(timed["start_s"] - time_s).min() < 0.03


def test_a_track_gets_the_line_and_keeps_the_rest(world, tmp_path) -> None:
    *_, log, lines = world
    whole = lw.complete_track(lines, log)
    session = lw.Session(log, whole, repeat_line=False)
    crossing_s = float(session.laps.loc[session.laps["kind"] == "timed", "start_s"].iloc[1])
    # At a passage of the line itself the line stays where it was, but for the receiver's error.
    same = start_line_at_time(log, crossing_s, whole)
    moved_m = (same.corners[0].apex_m - whole.corners[0].apex_m + 50.0) % whole.length_m - 50.0
    assert abs(moved_m) < 3.0
    assert same.name == whole.name
    assert len(same.corners) == len(whole.corners)
    assert len(same.sectors) == len(whole.sectors)
    # Twenty seconds later it is as far along the path as the car drove.
    later = start_line_at_time(log, crossing_s + 20.0, whole, width_m=30.0)
    assert later.start_finish.width_m == pytest.approx(30.0, abs=0.001)
    speeds_mps = session.motion.at(crossing_s + np.arange(0.005, 20.0, 0.01)).speed_mps
    line_m = whole.path.project(*[[v] for v in later.start_finish.centre_m])[0][0]
    # The car's line is not the path: a metre inside a bend of a radian is a metre.
    assert line_m == pytest.approx(0.01 * speeds_mps.sum(), abs=6.0)
    # There and back.
    lw.write_track(later, tmp_path / "later.geojson")
    back = lw.read_track(tmp_path / "later.geojson")
    assert np.array(back.start_finish_deg) == pytest.approx(
        np.array(later.start_finish_deg), abs=1e-8
    )
    assert [c.apex_m for c in back.corners] == pytest.approx(
        [c.apex_m for c in later.corners], abs=0.01
    )


def test_the_direction_of_a_known_path_stays(world) -> None:
    *_, log, lines = world
    whole = lw.complete_track(lines, log)
    turned = lw.discovery.reversed_track(whole)
    assert start_line_at_time(log, 160.0, turned).direction == turned.direction


@pytest.mark.parametrize(
    ("time", "seconds"),
    [
        (75.25, 75.25),
        ("75.25", 75.25),
        (np.float64(75.25), 75.25),
        # 23:58:20.5 to 23:59:35.75 are 75.25 s; to 00:00:20.5 the next day 120 s.
        ("23:59:35.75", 75.25),
        ("23:59:35,75", 75.25),
        ("0:00:20.5", 120.0),
        ("23:59", 39.5),
        # Before the start it is before the log, not a day later.
        ("23:58:00.5", -20.0),
        ("2026-05-01T23:59:35.75Z", 75.25),
        ("2026-05-01 23:59:35.75", 75.25),
        ("2026-05-02T09:59:35.75+10:00", 75.25),
        (datetime(2026, 5, 2, 0, 0, 20, 500_000, tzinfo=UTC), 120.0),
        (datetime(2026, 5, 2, 2, 0, 20, 500_000, tzinfo=timezone(timedelta(hours=2))), 120.0),
    ],
)
def test_ways_to_say_a_time(world, time, seconds) -> None:
    assert moment_s(dated(world[3]), time) == pytest.approx(seconds, abs=1e-6)


def test_a_clock_without_a_date(world) -> None:
    # 10:00:00 is 36 000 s after midnight.
    log = undated(world[3], 36_000.0)
    assert moment_s(log, "10:01:15") == pytest.approx(75.0)
    with pytest.raises(lw.TrackError, match="no date"):
        moment_s(log, "2026-05-01T10:01:15")
    with pytest.raises(lw.TrackError, match="no time of day"):
        moment_s(undated(log, 0.0, "relative"), "10:01:15")


@pytest.mark.parametrize("time", ["friday", "", "25:00:00", "10:61", "nan", float("inf"), "NaT"])
def test_no_time(world, time) -> None:
    with pytest.raises(ValueError, match=r"is not a time|number of seconds"):
        moment_s(dated(world[3]), time)


@pytest.mark.parametrize("time", [-0.1, 1e5])
def test_outside_the_log(world, time) -> None:
    log = world[3]
    with pytest.raises(lw.TrackError, match=rf"outside the log.*0\.0 to {log.duration_s:.1f} s"):
        start_line_at_time(log, time)
    with pytest.raises(lw.TrackError, match=r"23:58:20 to .* UTC"):
        start_line_at_time(dated(log), "23:50:00")
    with pytest.raises(lw.TrackError, match="10:00:00 to 10:"):
        start_line_at_time(undated(log, 36_000.0), "09:00:00")


def test_in_a_gap(world) -> None:
    log = world[3]
    fixes = log.fixes[(log.fixes["time_s"] < 158.0) | (log.fixes["time_s"] > 163.0)]
    holed = replace(log, fixes=fixes.reset_index(drop=True))
    with pytest.raises(lw.TrackError, match=r"gap of the log.* 15[78]\.\d to 163\.\d s"):
        start_line_at_time(holed, 160.0)
    # Beside the gap it goes on.
    start_line_at_time(holed, 165.0)


def test_the_car_stands(world) -> None:
    with pytest.raises(lw.TrackError, match="stands or creeps"):
        start_line_at_time(world[3], 1.0)


def test_off_the_path_or_far_away(world) -> None:
    *_, log, lines = world
    whole = lw.complete_track(lines, log)
    path = whole.path
    # Half a kilometre to the east is another road.
    other = replace(
        whole,
        path=lw.ReferencePath(path.east_m + 500.0, path.north_m),
        start_finish=lw.Gate(
            *((e + 500.0, n) for e, n in (whole.start_finish.left_m, whole.start_finish.right_m))
        ),
        sectors=(),
    )
    with pytest.raises(lw.TrackError, match="the path does not cross the start/finish line"):
        start_line_at_time(log, 152.0, other, width_m=10.0)
    far = lw.Track("Far", lw.Plane(10.0, 10.0), whole.start_finish)
    with pytest.raises(lw.TrackError, match="km away"):
        start_line_at_time(log, 160.0, far)


def test_a_width_that_is_none(world) -> None:
    with pytest.raises(ValueError, match="width"):
        start_line_at_time(world[3], 160.0, width_m=0.0)


def test_minutes_and_seconds_as_lap_tables_have_them(world) -> None:
    *_, log, _ = world
    for text, seconds in (("2:31.8", 151.8), ("0:05,25", 5.25), ("112:00.0", 6720.0)):
        assert moment_s(log, text) == pytest.approx(seconds)
    # Without decimals it is a time of the day, as it was.
    start = dated(log, pd.Timestamp("2026-05-01T10:00:00Z"))
    assert moment_s(start, "10:31") == pytest.approx(31.0 * 60.0)


@pytest.mark.parametrize("time", [None, [1.0, "x"], {}])
def test_a_time_that_is_no_number(world, time) -> None:
    with pytest.raises(ValueError, match="is a number of seconds or text, not"):
        moment_s(world[3], time)


def test_a_proposed_sector_line_gives_way(world) -> None:
    *_, log, _ = world
    session = lw.Session(log, repeat_line=False)
    track = session.shared_track
    assert len(track.sectors) == 2
    laps = session.laps[session.laps["kind"] == "timed"]
    time_s = float(laps["start_s"].iloc[1]) + float(laps["sectors_s"].iloc[1][0])
    moved = start_line_at_time(log, time_s, track)
    assert len(moved.sectors) == 1


def test_minutes_and_seconds_without_decimals_are_answered_with_what_to_write(world) -> None:
    log = dated(world[3])
    with pytest.raises(ValueError, match=r"99 minutes and 0 seconds from the start are 99:00\.0"):
        moment_s(log, "99:00")
    assert moment_s(log, "99:00.0") == 5940.0
