"""The driver's tables against the truth of simulated sessions, one of them with a late throttle."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.corners.driver_table import driver_laps
from lapwright.session import Session
from lapwright.simulate.logger.channels import engine_channels

LATE = 10
# Shares of a pedal's range that count as on and as fully open: docs/how-to-driver.md.
BRAKE_ON, THROTTLE_ON, THROTTLE_FULL = 0.1, 0.2, 0.9


class Silent:
    """In place of a random generator: sensors without noise."""

    def normal(self, mean: float, sd: float, count: int) -> np.ndarray:
        """No noise."""
        return np.zeros(count)


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Ten laps of a driver who goes back to the throttle late in two thirds of the laps."""
    driver = sim.Driver(habits=(sim.LateThrottle(LATE),))
    folder = tmp_path_factory.mktemp("driver")
    return make_world(folder, sim.Plan((10,)), driver=driver, seed=5, engine=True)


@pytest.fixture(scope="module")
def true(world: World) -> pd.DataFrame:
    """Pedals without noise every 5 ms, as shares of what they reach in the log; session's time."""
    session = world.session
    time = np.arange(session.motion.start_s, session.motion.end_s, 0.005)
    exact = engine_channels(world.run, time + world.zero_s, Silent())  # type: ignore[arg-type]
    out = pd.DataFrame({"time_s": time, "rpm": exact["rpm"], "steering": exact["steering_deg"]})
    for role, name in (("throttle", "throttle_pct"), ("brake", "brake_bar")):
        low, high = np.percentile(world.log.channels[name].dropna(), (2.0, 99.0))
        out[role] = (exact[name] - low) / (high - low)
        out[f"{role}_raw"] = exact[name]
    return out


def between(true: pd.DataFrame, start_s: float, end_s: float) -> pd.DataFrame:
    return true[(true["time_s"] >= start_s) & (true["time_s"] <= end_s)]


def runs(world: World) -> pd.DataFrame:
    table = world.session.driver.merge(world.session.passes, on=["lap", "corner"])
    return table[table["coast_s"].notna()]


def test_coasting_is_the_time_with_neither_pedal_on(world: World, true: pd.DataFrame) -> None:
    table, off = runs(world), []
    assert len(table) > 80
    for row in table.to_dict("records"):
        # From the end of the true braking that ends about there to the true return to the throttle.
        near = between(true, row["brake_off_s"] - 0.15, row["throttle_s"] + 0.15)
        last = near["brake"].to_numpy() > BRAKE_ON
        start = near["time_s"].to_numpy()[last][-1] if last.any() else row["brake_off_s"]
        open_ = near["throttle"].to_numpy() > THROTTLE_ON
        closed = np.flatnonzero(~open_ & (near["time_s"].to_numpy() < row["throttle_s"] + 0.15))
        coasting = ~open_ & (near["time_s"].to_numpy() >= start)
        coasting &= near["time_s"].to_numpy() <= near["time_s"].to_numpy()[closed[-1]]
        off.append((row["coast_s"] - 0.005 * coasting.sum()) / row["coast_sd_s"])
    # Straight lines between samples do better than anywhere within a step, which the bars allow
    # for.  A few are far out: this driver's brake at times hovers at the tenth that counts as on.
    assert np.mean(np.abs(off) < 1.0) > 0.85
    assert np.mean(np.abs(off) < 3.0) > 0.95
    assert abs(np.mean(off)) < 0.3


def test_the_peak_and_the_moment_of_letting_off_the_brake(world: World, true: pd.DataFrame) -> None:
    for row in runs(world).to_dict("records"):
        near = between(true, row["brake_s"], row["brake_off_s"])
        assert abs(row["brake_peak"] - near["brake_raw"].max()) < 5.0 * row["brake_peak_sd"]
        mean = near["brake_raw"].mean()
        assert abs(row["brake_mean"] - mean) < 5.0 * row["brake_mean_sd"]


def test_full_throttle_is_when_the_true_pedal_passes_nine_tenths(
    world: World, true: pd.DataFrame
) -> None:
    table = world.session.driver.merge(world.session.passes, on=["lap", "corner"])
    table = table.dropna(subset=["full_throttle_s"])
    assert len(table) > 80
    off = []
    for row in table.to_dict("records"):
        near = between(true, row["throttle_s"], row["full_throttle_s"] + 1.0)
        passed = near["time_s"].to_numpy()[(near["throttle"] > THROTTLE_FULL).to_numpy()]
        first = passed[0] if len(passed) else np.inf
        off.append((row["full_throttle_s"] - first) / row["full_throttle_sd_s"])
    # Where the pedal creeps up to nine tenths, noise passes it early: most, not all, are within.
    assert np.mean(np.abs(off) < 3.0) > 0.95


def test_shares_of_a_lap(world: World, true: pd.DataFrame) -> None:
    session = world.session
    rows = session.driver_laps.set_index("lap")
    assert list(rows.index) == session.timed_laps
    for lap, row in rows.iterrows():
        here = between(true, *session.row(int(str(lap)))[["start_s", "end_s"]])
        full, on = here["throttle"] > THROTTLE_FULL, here["brake"] > BRAKE_ON
        neither = ~on & (here["throttle"] <= THROTTLE_ON)
        for name, flags in (("full_throttle", full), ("braking", on), ("coasting", neither)):
            off = row[f"{name}_share"] - flags.mean()
            assert abs(off) < 4.0 * row[f"{name}_share_sd"], (lap, name)


def test_the_late_throttle_is_seen_as_coasting(world: World) -> None:
    true = world.run.passes
    late = true[(true["corner"] == LATE) & true["habits"].map(lambda h: "LateThrottle" in h)]
    pairs = world.paired()
    laps = set(pairs.loc[pairs["lap_true"].isin(late["lap"]), "lap"])
    here = world.session.driver[world.session.driver["corner"] == LATE].set_index("lap")["coast_s"]
    habit, other = here[here.index.isin(laps)], here[~here.index.isin(laps)]
    assert min(len(habit), len(other)) >= 2
    assert habit.mean() - other.mean() > 0.2


def test_what_coasting_went_with_is_the_true_difference_of_the_halves(world: World) -> None:
    session = world.session
    rows = session.coasting[session.coasting["corner"] == LATE]
    assert len(rows) == 1
    row = rows.iloc[0]
    clean = session.evidence.passes[["lap", "corner"]].merge(session.driver)
    here = clean[clean["corner"] == LATE].sort_values(["coast_s", "lap"])["lap"].tolist()
    span = session.evidence.spans.set_index("corner").loc[LATE]
    pairs = world.paired().set_index("lap")["lap_true"]

    def mean_s(laps: list[int]) -> float:
        ends = np.array([span["start_m"], span["end_m"]])
        return float(np.mean([np.diff(world.run.elapsed(int(pairs[n]), ends))[0] for n in laps]))

    count = int(row["less_laps"])
    true = mean_s(here[-count:]) - mean_s(here[:count])
    # What the receiver adds to a span of some seconds is far less than the laps' own spread.
    assert row["cost_s"] == pytest.approx(true, abs=0.02)
    assert row["cost_s"] > 0.0


def test_gears_are_those_of_the_car(world: World, true: pd.DataFrame) -> None:
    table = world.session.driver.merge(world.session.passes, on=["lap", "corner"])
    ratios = 1000.0 / np.array(sim.LIGHT_CAR.gears_mps_per_1000rpm)
    speed = world.run.speed(true["time_s"].to_numpy() + world.zero_s)
    used = np.argmin(np.abs((true["rpm"] / np.maximum(speed, 1.0)).to_numpy()[:, None] - ratios), 1)
    lowest = int(used[speed > 8.0].min())
    known = table.dropna(subset=["gear"])
    assert len(known) > 0.7 * len(table)
    at = np.searchsorted(true["time_s"], known["min_speed_s"])
    np.testing.assert_array_equal(known["gear"], used[at] - lowest + 1)


def test_the_furthest_the_wheel_was_turned(world: World, true: pd.DataFrame) -> None:
    table = world.session.driver.merge(world.session.passes, on=["lap", "corner"])
    for row in table.to_dict("records"):
        near = between(true, row["entry_s"], row["exit_s"])["steering"].abs().max()
        # The highest of some hundred noisy values is about three sds too high.
        assert abs(row["steering_peak"] - near) < 6.0 * row["steering_peak_sd"]


def test_a_hole_in_the_channels_is_no_driving(world: World) -> None:
    row = runs(world).iloc[20]
    channels = world.log.channels
    hole = (channels["time_s"] - row["brake_off_s"]).abs() < 0.6
    log = replace(world.log, channels=channels[~hole])
    session = Session(log, world.track)
    there = session.driver.set_index(["lap", "corner"]).loc[(row["lap"], row["corner"])]
    assert np.isnan(there["coast_s"])
    assert np.isnan(there["release_s"])
    lap = session.driver_laps.set_index("lap").loc[row["lap"]]
    assert np.isnan(lap.to_numpy()).all()


def test_only_what_is_logged_is_told(world: World) -> None:
    only = replace(world.log, roles={"throttle": "throttle_pct"})
    traces = {n: world.session.trace(n) for n in world.session.timed_laps}
    channels = Session(only, world.track).channels
    table = driver_laps(channels, traces)
    assert table["full_throttle_share"].notna().all()
    assert table[["coasting_share", "braking_share"]].isna().all(axis=None)
    none = Session(replace(world.log, roles={}), world.track)
    assert none.channels == {}
    assert driver_laps(none.channels, traces).empty
    assert none.coasting.empty


def test_an_unreadable_role_is_passed_over(world: World, tmp_path: Path) -> None:
    words = world.log.channels.assign(brake_bar="on")
    assert "brake" not in Session(replace(world.log, channels=words), world.track).channels
