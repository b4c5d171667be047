"""The truth agrees with itself."""

import numpy as np
import pytest
from scipy.optimize import brentq

from lapwright import simulate as sim
from lapwright.simulate.circuit import shapes


def test_crossings_against_a_root_finder(short_run: sim.TrueRun) -> None:
    gate = short_run.circuit.gates[1]
    along = (gate[1] - gate[0]) / np.hypot(*(gate[1] - gate[0]))
    ahead = np.array([-along[1], along[0]])

    def beyond(t: float) -> float:
        return float((short_run.position(t) - gate[0]) @ ahead)

    table = short_run.crossings(gate)
    assert len(table) == 9  # two out laps, five timed, two in laps
    for t, offset in zip(table["time_s"], table["offset_m"], strict=True):
        assert brentq(beyond, t - 0.3, t + 0.3, xtol=1e-13) == pytest.approx(t, abs=1e-10)
        # The line is square to the road and centred on it.
        assert float(short_run.offset(t)) == pytest.approx(offset, abs=1e-4)


def test_line_crossing_is_a_whole_number_of_laps_along_the_road(short_run: sim.TrueRun) -> None:
    starts = short_run.laps["start_s"].to_numpy()[1:]
    turns = short_run.progress(starts) / short_run.circuit.length_m
    np.testing.assert_allclose(turns, np.round(turns), rtol=0, atol=1e-8)
    np.testing.assert_allclose(
        short_run.time_at(np.round(turns) * short_run.circuit.length_m), starts, rtol=0, atol=1e-7
    )


def test_sectors_sum_to_the_lap(short_run: sim.TrueRun) -> None:
    whole = short_run.laps[short_run.laps["complete"]]
    assert len(whole) == 8  # the box lies before the line: only the last is not
    for lap in whole.itertuples():
        assert len(lap.sectors_s) == 3
        assert sum(lap.sectors_s) == pytest.approx(lap.time_s, abs=1e-9)


def test_kinds_through_a_pit_stop(short_run: sim.TrueRun) -> None:
    laps = short_run.laps
    expected = ["out", "timed", "timed", "timed", "in", "out", "timed", "timed", "in"]
    assert laps["kind"].tolist() == expected
    assert laps["lap"].tolist() == list(range(9))
    assert laps["complete"].tolist() == [*[True] * 8, False]
    assert laps["ends_in_pit_lane"].tolist() == [*[False] * 4, True, *[False] * 4]
    assert laps["starts_in_pit_lane"].tolist() == [True, *[False] * 4, True, *[False] * 3]
    assert laps["time_s"].isna().tolist() == [*[False] * 8, True]


def test_box_past_the_line(wren: sim.Circuit) -> None:
    east, north = shapes.clothoid_oval()
    circuit = sim.from_arrays("x", east, north, box_m=30.0)
    run = sim.drive(circuit, plan=sim.Plan((2, 1)), seed=1)
    # The first out lap begins past the line; the last in lap crosses it just before it stands.
    kinds = ["out", "timed", "timed", "in", "out", "timed", "in"]
    assert run.laps["kind"].tolist() == kinds
    assert run.laps["complete"].tolist() == [False, *[True] * 6]


def test_a_line_that_the_pit_lane_misses(short_run: sim.TrueRun) -> None:
    # A line across the track alone, at the box: the stop parts the laps.
    circuit = short_run.circuit
    assert circuit.pit is not None
    gate = circuit.gate(circuit.pit.box_m + 20.0, 6.0, 6.0)
    laps = short_run.laps_at(gate)
    assert laps["kind"].tolist() == [
        "out",
        "timed",
        "timed",
        "timed",
        "in",
        "out",
        *laps["kind"][6:],
    ]
    begin, end = short_run.stop_times_s[1]
    assert laps["end_s"].iloc[4] == pytest.approx((begin + end) / 2)


def test_cut_again_at_another_line(short_run: sim.TrueRun) -> None:
    circuit = short_run.circuit
    gate_deg = circuit.to_degrees(circuit.gate(800.0))
    laps = short_run.laps_at(circuit.to_plane(gate_deg))
    timed = laps[(laps["kind"] == "timed") & laps["complete"]]
    assert len(timed) == 7  # eleven rounds less the two ends, an in and an out lap
    # The times must be those of the stations.
    for lap in timed.itertuples():
        turn = round((float(short_run.progress(lap.start_s)) - 800.0) / circuit.length_m)
        both = short_run.time_at(np.array([turn, turn + 1]) * circuit.length_m + 800.0)
        assert both[1] - both[0] == pytest.approx(lap.time_s, abs=1e-6)
    assert len(laps) == len(short_run.crossings(circuit.gate(800.0))) + 2  # and one stop
    assert all(len(s) == 1 for s in laps["sectors_s"])


def test_a_line_the_wrong_way_round_is_never_crossed(short_run: sim.TrueRun) -> None:
    gate = short_run.circuit.gates[0][::-1]
    assert not short_run.crossings(gate)["forward"].any()
    assert len(short_run.laps_at(gate)) == 2  # parted by the one pit stop


def test_delta_properties(short_run: sim.TrueRun) -> None:
    length = short_run.circuit.length_m
    station = np.linspace(0.0, length, 60)
    delta = short_run.delta(3, 4, station)
    laps = short_run.laps["time_s"]
    assert delta[0] == pytest.approx(0.0, abs=1e-7)
    assert delta[-1] == pytest.approx(laps[3] - laps[4], abs=1e-6)
    np.testing.assert_allclose(short_run.delta(4, 3, station), -delta, rtol=0, atol=1e-12)
    np.testing.assert_array_equal(short_run.delta(3, 3, station), 0.0)
    assert np.all(np.diff(short_run.elapsed(3, station)) > 0)
    rolling = sim.drive(short_run.circuit, plan=sim.Plan((1,), start="rolling", end="track"))
    with pytest.raises(ValueError, match="no beginning"):
        rolling.elapsed(0, station)


def test_time_at_is_the_inverse_of_progress(short_run: sim.TrueRun) -> None:
    wanted = np.linspace(500.0, 20000.0, 300)
    np.testing.assert_allclose(
        short_run.progress(short_run.time_at(wanted)), wanted, rtol=0, atol=1e-7
    )
    assert np.isnan(short_run.time_at(np.array([-1e4, 1e6]))).all()


def test_flags(eventful_run: sim.TrueRun) -> None:
    flags = dict(zip(eventful_run.laps["lap"], eventful_run.laps["flags"], strict=True))
    # Lap 0 is the way out; the spin over the line at 1 m is past the line.
    assert flags[1] == ()
    assert flags[2] == ("slow",)
    assert flags[3] == ("spin", "stop")
    assert flags[4] == ("off_path",)
    assert flags[5] == ("short_cut",)
    assert set(flags[6]) == {"spin", "stop"}
    assert flags[7] == ()


def test_a_spin_over_the_line_adds_no_lap(eventful_run: sim.TrueRun) -> None:
    table = eventful_run.crossings(eventful_run.circuit.gates[0])
    assert (~table["forward"]).sum() == 1
    # Nine crossings and two more for the spin: an out lap, seven timed and an in lap.
    assert len(table) == 11
    assert len(eventful_run.laps) == 9
    assert (eventful_run.laps["kind"] == "timed").sum() == 7
    # The first of the crossings counts.
    back = float(table.loc[~table["forward"], "time_s"].iloc[0])
    assert eventful_run.laps["start_s"].iloc[6] < back


def test_mishaps_happen_where_they_are_planned(eventful_run: sim.TrueRun) -> None:
    run = eventful_run
    laps = run.laps

    def offset_range(lap: int) -> tuple[float, float]:
        inside = (run.time_s > laps["start_s"][lap]) & (run.time_s < laps["end_s"][lap])
        offset = run.offset(run.time_s[inside])
        return float(offset.min()), float(offset.max())

    clean = laps["time_s"][1]
    assert laps["time_s"][2] > clean + 10  # held up
    assert laps["time_s"][3] > clean + 6  # stood for 6 s
    low, high = offset_range(1)
    assert -5.5 < low < high < 5.5
    assert offset_range(4)[1] > 9  # corner 2 is a right-hander: off to the left
    cut = offset_range(5)
    assert cut[0] < low - 0.5 or cut[1] > high + 0.5
    reverse = np.diff(run.progress(run.time_s)) < -1e-6
    assert reverse.any()


def test_standing_start(wren: sim.Circuit) -> None:
    run = sim.drive(wren, plan=sim.Plan((2,), start="grid", grid_m=20.0), seed=2)
    laps = run.laps
    assert laps["kind"].tolist() == ["out", "timed", "timed", "in"]
    assert laps["flags"][1] == ("standing_start",)
    assert run.launch_s is not None
    # From rest over 20 m at the car's traction: sqrt(2 * 20 / 4.8) s, the grid slot and the
    # pedal both within a node and 0.15 s.
    gone = laps["start_s"][1] - run.launch_s
    assert gone == pytest.approx(np.sqrt(2 * 20.0 / run.car.traction_mps2), abs=0.2)
    assert wren.pit is not None
    pitless = sim.drive(wren, plan=sim.Plan((1,)), seed=2)
    assert pitless.launch_s is None
