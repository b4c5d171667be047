"""Error bars of speeds and accelerations, and the usual line, against exact truth."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.corners.pass_details import POINTS, pass_details, peaks
from lapwright.corners.pass_table import corner_passes
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
