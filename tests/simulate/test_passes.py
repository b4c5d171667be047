"""Truth about corners, and the habits that are planted in them."""

import numpy as np
import pytest

from lapwright import simulate as sim

HABITS = (sim.BrakeEarly(1), sim.SlowMinimum(4), sim.LateThrottle(10))


@pytest.fixture(scope="module")
def habitual(wren: sim.Circuit) -> sim.TrueRun:
    return sim.drive(wren, driver=sim.Driver(habits=HABITS), plan=sim.Plan((12,)), seed=9)


def test_passes_against_a_fine_grid(habitual: sim.TrueRun) -> None:
    run = habitual
    table = run.passes
    assert len(table) == 12 * len(run.circuit.bends)
    for row in table.iloc[13:40:5].itertuples():
        around = np.arange(row.min_time_s - 1.0, row.min_time_s + 1.0, 1e-4)
        speed = run.speed(around)
        assert row.min_speed_mps == pytest.approx(speed.min(), abs=1e-4)
        assert np.interp(row.min_time_s, around, speed) == pytest.approx(speed.min(), abs=1e-4)
        along, _ = run.along_across(row.brake_time_s + np.array([-1e-3, 0.0, 1e-3]))
        assert along[0] > -1.0 > along[2]
        assert along[1] == pytest.approx(-1.0, abs=0.02)
        before = np.arange(row.brake_time_s - 1.0, row.brake_time_s, 0.01)
        assert run.speed(before)[-1] >= run.speed(before)[0] - 0.2  # nothing braked before it


def test_stations_of_a_pass_are_those_of_its_times(habitual: sim.TrueRun) -> None:
    row = habitual.passes.iloc[25]
    start = habitual.laps["start_s"][row["lap"]]
    station = float(habitual.progress(row["brake_time_s"]) - habitual.progress(start))
    assert row["brake_station_m"] == pytest.approx(station, abs=1e-3)
    assert row["brake_station_m"] < row["min_station_m"] <= row["throttle_station_m"] + 1e-6


def test_habits_act_in_their_share_of_the_laps(habitual: sim.TrueRun) -> None:
    counts = habitual.planted.groupby(["habit", "corner"]).size().to_dict()
    assert counts == {("BrakeEarly", 1): 8, ("SlowMinimum", 4): 8, ("LateThrottle", 10): 8}
    table = habitual.passes
    acted = table[table["habits"].map(len) > 0]
    assert len(acted) == 24
    assert set(acted["corner"]) == {1, 4, 10}


@pytest.mark.parametrize(
    ("corner", "column", "change", "tolerance"),
    [
        # The tolerance is the driver's scatter over 8 and 4 laps.
        (1, "brake_station_m", -12.0, 5.0),
        (4, "min_speed_mps", -4.0 / 3.6, 0.45),
        (10, "throttle_station_m", 15.0, 5.0),
    ],
)
def test_habits_change_what_they_say(
    habitual: sim.TrueRun, corner: int, column: str, change: float, tolerance: float
) -> None:
    table = habitual.passes[habitual.passes["corner"] == corner]
    acted = table["habits"].map(len) > 0
    found = table.loc[acted, column].mean() - table.loc[~acted, column].mean()
    assert found == pytest.approx(change, abs=tolerance)


def test_habits_without_scatter_are_exact(wren: sim.Circuit) -> None:
    quiet = sim.Driver("q", 0.0, 60.0, 0.0, 0.97, 0.0, 0.0, 0.0, 0.0, 0.0)
    plan = sim.Plan((2,), start="rolling", end="track")

    def second(*habits: sim.BrakeEarly | sim.SlowMinimum | sim.LateThrottle) -> dict[int, object]:
        driver = sim.Driver("q", 0.0, 60.0, 0.0, 0.97, 0.0, 0.0, 0.0, 0.0, 0.0, habits)
        table = sim.drive(wren, driver=driver, plan=plan).passes
        return {r.corner: r for r in table[table["timed_lap"] == 2].itertuples()}

    usual = {r.corner: r for r in sim.drive(wren, driver=quiet, plan=plan).passes.itertuples()}
    changed = second(*(type(h)(h.corner, share=1.0) for h in HABITS))
    gentle = second(sim.BrakeEarly(1, share=1.0, gently=True))
    assert gentle[1].brake_station_m - usual[1].brake_station_m == pytest.approx(-12.0, abs=2.0)
    assert gentle[1].min_speed_mps == pytest.approx(usual[1].min_speed_mps, abs=0.1)
    assert changed[1].brake_station_m - usual[1].brake_station_m == pytest.approx(-12.0, abs=2.0)
    # 0.05 m/s: the slowest point is rounded off by the pedals.
    assert changed[4].min_speed_mps - usual[4].min_speed_mps == pytest.approx(-1.111, abs=0.05)
    assert changed[10].throttle_station_m - usual[10].throttle_station_m == pytest.approx(15, abs=2)
    assert changed[6].brake_station_m == pytest.approx(usual[6].brake_station_m, abs=0.5)


def test_share_of_laps(wren: sim.Circuit) -> None:
    driver = sim.Driver(habits=(sim.SlowMinimum(4, share=0.25),))
    run = sim.drive(wren, driver=driver, plan=sim.Plan((8,), start="rolling", end="track"))
    assert len(run.planted) == 2
    assert run.planted["size"].tolist() == [pytest.approx(4 / 3.6)] * 2
