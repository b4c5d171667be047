"""Where no normal guides, the bars of delta and ledger are wider, and nothing else changes."""

from dataclasses import replace

import numpy as np
import pytest
from worlds import World

from lapwright.laps.comparison import ComparedNumbers, Side, compared_numbers, delta_sds
from lapwright.laps.lap_trace import LapTrace, lap_trace
from lapwright.laps.lost_stretches import lost_time_cov, lost_time_sd

FROM_M, TO_M, SD_M = 400.0, 460.0, 2.0


def doubtful(trace: LapTrace) -> LapTrace:
    """The same lap with 2 m of doubt along 60 m of it."""
    inside = (trace.station_m > FROM_M) & (trace.station_m < TO_M)
    return replace(trace, station_sd_m=np.where(inside, SD_M, 0.0))


def compared(world: World, *, doubt: bool) -> ComparedNumbers:
    session = world.session
    lap, other = (Side(session.trace(n), session.motion, session.placing.cov_m2) for n in (2, 3))
    if doubt:
        lap = replace(lap, trace=doubtful(lap.trace))
    return compared_numbers(session.track, lap, other, 5.0)


def test_doubt_of_a_station_is_doubt_of_its_time(world: World) -> None:
    trace = doubtful(world.session.trace(2))
    station = np.array([FROM_M - 20.0, 0.5 * (FROM_M + TO_M), TO_M + 20.0])
    speed = trace.at_station("speed_mps", station)
    sd = lost_time_sd(trace, station)
    # Times go by the pace along the path, which offset and bend make a little unlike the speed.
    assert sd[1] == pytest.approx(SD_M / speed[1], rel=0.1)
    assert sd[[0, 2]].tolist() == [0.0, 0.0]
    assert not lost_time_sd(world.session.trace(2), station).any()


def test_a_stretch_errs_as_a_whole_and_two_stretches_do_not(world: World) -> None:
    trace = doubtful(world.session.trace(2))
    assert trace.station_sd_m is not None
    again = (trace.station_m > 900.0) & (trace.station_m < 960.0)
    trace = replace(trace, station_sd_m=np.where(again, SD_M, trace.station_sd_m))
    station = np.array([420.0, 440.0, 930.0])
    cov = lost_time_cov(trace, station)
    sd = lost_time_sd(trace, station)
    np.testing.assert_allclose(np.sqrt(np.diagonal(cov)), sd)
    assert cov[0, 1] == pytest.approx(sd[0] * sd[1])
    assert cov[0, 2] == 0.0


def test_delta_and_ledger_are_wider_there_and_the_same_elsewhere(world: World) -> None:
    plain, wider = compared(world, doubt=False), compared(world, doubt=True)
    for name in ("station_m", "delta_s", "speed_mps"):
        np.testing.assert_array_equal(plain.delta[name], wider.delta[name])
    station = plain.delta["station_m"].to_numpy()
    inside = (station > FROM_M + 1.0) & (station < TO_M - 1.0)
    outside = (station < FROM_M - 1.0) | (station > TO_M + 1.0)
    before, after = (c.delta["delta_sd_s"].to_numpy() for c in (plain, wider))
    np.testing.assert_array_equal(before[outside], after[outside])
    added = lost_time_sd(doubtful(world.session.trace(2)), station[inside])
    assert added.min() > 0.02
    np.testing.assert_allclose(after[inside], np.hypot(before[inside], added))
    # At the line it is still the lap times' own bar, and the ledger still adds up.
    assert wider.time_difference_sd_s == plain.time_difference_sd_s
    assert wider.ledger["difference_s"].sum() == pytest.approx(wider.time_difference_s, abs=1e-6)
    edges = wider.ledger[["start_m", "end_m"]].to_numpy()
    touched = ((edges > FROM_M + 1.0) & (edges < TO_M - 1.0)).any(axis=1)
    grown = (wider.ledger["difference_sd_s"] > 1.01 * plain.ledger["difference_sd_s"]).to_numpy()
    assert touched.any()
    np.testing.assert_array_equal(grown, touched)
    # What the parts lose on one side of an edge they gain on the other.
    assert wider.ledger_cov_s2.sum() == pytest.approx(plain.ledger_cov_s2.sum(), abs=1e-12)


def test_a_doubtful_lap_against_itself_is_still_exactly_zero(world: World) -> None:
    session = world.session
    side = Side(doubtful(session.trace(2)), session.motion, session.placing.cov_m2)
    same = compared_numbers(session.track, side, side, 5.0)
    assert (same.delta["delta_sd_s"] == 0.0).all()
    assert (same.ledger["difference_sd_s"] == 0.0).all()


def test_the_quick_bars_of_many_laps_hold_it_too(world: World) -> None:
    session = world.session
    sides = [Side(session.trace(n), session.motion, session.placing.cov_m2) for n in (2, 3)]
    lost = replace(sides[0], trace=doubtful(sides[0].trace))
    station, plain = delta_sds(session.track, sides[:1], sides[1])
    _, wider = delta_sds(session.track, [lost], sides[1])
    inside = (station > FROM_M + 1.0) & (station < TO_M - 1.0)
    assert (wider[0, inside] > 1.5 * plain[0, inside]).all()
    assert wider[0, -1] == plain[0, -1]


def test_a_trace_takes_its_doubt_from_the_mapping_but_not_at_the_lines(world: World) -> None:
    session = world.session
    row = session.row(2)
    marks = [(float(row["start_s"]), 0.0), (float(row["end_s"]), session.track.length_m)]
    doubt = np.full(len(session.mapped.time_s), SD_M)
    mapped = replace(session.mapped, station_sd_m=doubt)
    trace = lap_trace(session.track, session.motion, mapped, 2, marks)
    at = np.array([0.0, 0.5 * trace.length_m, trace.length_m])
    assert trace.at_station("station_sd_m", at) == pytest.approx([0.0, SD_M, 0.0], abs=1e-3)
    assert session.trace(2).station_sd_m is None
