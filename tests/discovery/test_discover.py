from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright import simulate as sim
from lapwright.discovery.discover import discover_from_positions, discover_track
from lapwright.errors import TrackError
from lapwright.geometry.path import ReferencePath
from lapwright.ingest.log import Log
from lapwright.plane import Plane

PLANE = Plane(52.0, 5.0)
# Target for the length of a path averaged over clean laps.
LENGTH_SHARE = 0.002


def simulated(plan: sim.Plan, receiver: sim.Receiver = sim.ORDINARY, seed: int = 1):
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), plan, seed=seed)
    return circuit, run, sim.receive(run, receiver, seed=seed + 1)


def driven_length_m(circuit: sim.Circuit) -> float:
    """Length of the usual line, from points a metre apart."""
    points = circuit.place(*circuit.usual_line)
    return float(np.hypot(*np.diff(np.vstack([points, points[:1]]), axis=0).T).sum())


def test_session_with_a_pit_stop() -> None:
    circuit, run, recording = simulated(sim.Plan((3, 3)))
    found = discover_track(recording.log(), name="Wren Hollow")
    track = found.track
    assert track.name == "Wren Hollow"
    assert track.source == "discovered"
    assert track.length_m == pytest.approx(driven_length_m(circuit), rel=LENGTH_SHARE)
    # The error is not beyond what is claimed for it.
    assert abs(track.length_m - driven_length_m(circuit)) < 4 * track.length_sd_m + 3.0
    assert found.how_sure.startswith("sure")
    assert "pit lane" in found.evidence[0]
    assert track.pit_lane is not None
    # As many timed laps between passages of the proposed line as between the circuit's own.
    line = circuit.to_plane(np.array(track.start_finish_deg))
    proposed, own = run.laps_at(line), run.laps
    count = (proposed["kind"] == "timed").sum(), (own["kind"] == "timed").sum()
    assert abs(int(count[0]) - int(count[1])) <= 1
    # The line is on the straight of the circuit's own, and square to the path.
    gate_m = circuit.to_plane(np.array(track.start_finish_deg))
    own_m = circuit.gates[0]
    assert np.hypot(*(gate_m.mean(axis=0) - own_m.mean(axis=0))) < 200.0
    turn_rad = track.start_finish.heading_rad - float(track.path.at(0.0).heading_rad)
    assert np.cos(turn_rad) > np.cos(np.deg2rad(1.0))


def test_sector_lines_cut_the_lap_into_equal_times_on_straights() -> None:
    _, _, recording = simulated(sim.Plan((6,)))
    found = discover_track(recording.log())
    stations = found.track.gate_stations_m
    assert len(stations) == 3
    for station_m in stations[1:]:
        for corner in found.track.corners:
            assert not corner.entry_m < station_m < corner.exit_m
    # Times at the three lines from the truth, cut again there.
    circuit, run, _ = simulated(sim.Plan((6,)))
    lines = [circuit.to_plane(np.array(found.track.start_finish_deg))]
    lines += [
        circuit.to_plane(
            np.array(
                [
                    found.track.plane.point_deg(gate.left_m),
                    found.track.plane.point_deg(gate.right_m),
                ]
            )
        )
        for gate in found.track.sectors
    ]
    laps = run.laps_at(lines[0], lines[1:])
    timed = laps[laps["kind"] == "timed"]
    shares = np.array([np.array(s) / np.sum(s) for s in timed["sectors_s"]])
    assert np.all(np.abs(shares.mean(axis=0) - 1 / 3) < 0.08)


def test_one_timed_lap_is_enough_and_is_said() -> None:
    circuit, _, recording = simulated(sim.Plan((1,)))
    found = discover_track(recording.log())
    # One lap: the drift of the receiver, 1 m at either end, is all in it.
    assert found.track.length_m == pytest.approx(driven_length_m(circuit), abs=6.0)
    assert found.track.length_sd_m >= 1.0
    assert found.how_sure.startswith("fairly sure")


def test_height_counts_for_the_length(circuits, drive) -> None:
    # Lengths at 2000 m are longer than on the ellipsoid by h / R = 3.1e-4.
    _, _, recording = simulated(sim.Plan((4,)))
    log = recording.log()
    low = discover_track(replace(log, fixes=log.fixes.assign(height_m=0.0))).track
    high = discover_track(replace(log, fixes=log.fixes.assign(height_m=2000.0))).track
    assert high.length_m / low.length_m - 1 == pytest.approx(2000 / 6.371e6, rel=0.05)
    assert high.plane.height_m == 2000.0


@pytest.mark.parametrize("seed", [1, 2])
def test_corners_are_the_same_from_another_receiver_rate_and_driver(seed) -> None:
    circuit = sim.invented("wren_hollow")
    kinds = [
        replace(sim.ORDINARY, rate_hz=5.0, white_m=0.6),
        replace(sim.ORDINARY, rate_hz=10.0),
        replace(sim.ORDINARY, rate_hz=25.0, drift_m=1.5),
    ]
    apexes = []
    for number, receiver in enumerate(kinds):
        driver = sim.Driver(line_bias_m=0.3 * number)
        run = sim.drive(circuit, sim.LIGHT_CAR, driver, sim.Plan((6,)), seed=10 * seed + number)
        track = discover_track(sim.receive(run, receiver, seed=number).log()).track
        point = track.path.at([corner.apex_m for corner in track.corners])
        lat_deg, lon_deg = track.plane.to_degrees(point.east_m, point.north_m)
        apexes.append(circuit.to_plane(np.stack([lat_deg, lon_deg], axis=1)))
    assert len({len(a) for a in apexes}) == 1
    for other in apexes[1:]:
        apart = np.hypot(*(apexes[0][:, None] - other[None, :]).T).min(axis=0)
        assert apart.max() < 10.0


def test_no_circuit_is_an_error_of_one_line() -> None:
    _, _, recording = simulated(sim.Plan((2,)))
    log = recording.log()
    # The first half a minute after the start: out of the pits, and no farther.
    fixes = log.fixes[log.fixes["time_s"] < 130.0].reset_index(drop=True)
    with pytest.raises(TrackError, match="no circuit") as caught:
        discover_track(replace(log, fixes=fixes))
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith(str(log.path))


def test_log_without_fixes_is_an_error() -> None:
    _, _, recording = simulated(sim.Plan((1,)))
    log: Log = recording.log()
    with pytest.raises(TrackError, match="no usable fix"):
        discover_track(replace(log, fixes=log.fixes.iloc[:0], path=Path("empty.csv")))


def test_circuit_on_the_180_degree_meridian(circuits, drive) -> None:
    plane = Plane(-16.6, 180.0)
    trace = drive(circuits["lark_down"])
    lat_deg, lon_deg = plane.to_degrees(trace.east_m, trace.north_m)
    assert lon_deg.min() < -179
    assert lon_deg.max() > 179
    fixes = pd.DataFrame({"time_s": trace.time_s, "lat_deg": lat_deg, "lon_deg": lon_deg})
    log = Log(Path("a.csv"), "csv", fixes, fixes[["time_s"]], "relative", 0.0, None, 5.0)
    track = discover_track(log).track
    assert track.length_m == pytest.approx(circuits["lark_down"].length_m, rel=LENGTH_SHARE)


def test_without_pit_stop_the_line_is_on_the_longest_straight(circuits, drive) -> None:
    # The trace begins and ends on the move: there is no stop beside the path.
    found = discover_from_positions(PLANE, *drive(circuits["lark_down"]))
    assert found.track.pit_lane is None
    assert "longest straight" in found.evidence[0]
    corners = found.track.corners
    # Free way from the last corner's exit, over the line, to the first corner's entry.
    before_m = found.track.length_m - corners[-1].exit_m
    ahead_m = corners[0].entry_m
    free_m = before_m + ahead_m
    others_m = [b.entry_m - a.exit_m for a, b in pairwise(corners)]
    assert free_m >= max(others_m) - 10.0
    assert min(before_m, ahead_m) > 0.3 * free_m


def test_line_does_not_reach_into_a_parallel_straight() -> None:
    circuit = sim.invented("parallel")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((5,)), seed=3)
    track = discover_track(sim.receive(run, sim.ORDINARY, seed=4).log()).track
    for gate in (track.start_finish, *track.sectors):
        # Crossing points of the path with the line within its width: one.
        station_m = track.path.stations(1.0)
        point = track.path.at(station_m)
        ahead = gate.signed_distance(point.east_m, point.north_m)
        offset_m = gate.offset(point.east_m, point.north_m)
        crosses = (ahead < 0) & (np.roll(ahead, -1) >= 0) | (ahead >= 0) & (np.roll(ahead, -1) < 0)
        inside = np.abs(offset_m) < gate.width_m / 2
        assert (crosses & inside).sum() == 1


@pytest.mark.parametrize("off_lap", [1, 2])
def test_of_two_laps_the_one_off_the_road_has_no_say(off_lap) -> None:
    # 20 m wide for some 70 m of one of two timed laps; the middle of both is where nobody drove.
    off = sim.Off(off_lap, 5, wide_m=20.0)
    plan = sim.Plan((2,), start="rolling", end="track", events=(off,))
    circuit, _, recording = simulated(plan, seed=1)
    track = discover_track(recording.log()).track
    line_m = circuit.place(*circuit.usual_line)
    usual = ReferencePath(line_m[:, 0], line_m[:, 1])
    path_m = circuit.to_plane(np.stack(track.plane.to_degrees(*_points(track)), axis=1))
    _, offset_m = usual.project(path_m[:, 0], path_m[:, 1])
    # Drift of a metre, halved at best, and the driver's own half a metre.
    assert np.abs(offset_m).max() < 5.0


def _points(track):
    point = track.path.at(track.path.stations(5.0))
    return point.east_m, point.north_m
