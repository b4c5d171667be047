"""Pit stops against the exact truth."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from race_worlds import STOP_S, mine, raced, theirs

from lapwright import simulate as sim
from lapwright.race.pit_stops import _lane_ends, pit_stops

SURE_SDS = 4.0


@pytest.mark.parametrize("world", [mine, theirs])
def test_lane_and_standing_are_within_their_bars(world: object) -> None:
    one = mine() if world is mine else theirs()
    stops = one.session.pit_stops
    (stood,) = one.stood_s()
    assert stood[1] - stood[0] == pytest.approx(STOP_S)
    assert len(stops) == 1
    row = stops.iloc[0]
    assert bool(row["lane_known"])
    in_laps = one.session.laps.loc[one.session.laps["kind"] == "in", "lap"]
    assert row["lap"] == in_laps.iloc[0]
    assert 0.0 < row["standing_sd_s"] < 0.1
    assert abs(row["standing_s"] - STOP_S) < SURE_SDS * row["standing_sd_s"]
    ends = _lane_ends(one.session.track)
    assert ends is not None
    into, out = (one.crossed_s(gate) for gate in ends)
    true_s = out[out > stood[1]].min() - into[into < stood[0]].max()
    assert 0.0 < row["lane_sd_s"] < 0.1
    assert abs(row["lane_s"] - true_s) < SURE_SDS * row["lane_sd_s"]


def test_without_a_known_lane_it_counts_from_the_usual_line() -> None:
    session = mine().session
    pits, parts = session.cuts.pits, (session.motion, session.mapped)
    bare = replace(session.track, pit_lane=None)
    row = pit_stops(bare, *parts, pits, session.laps).iloc[0]
    inner = next(p for p in pits if p.start_s > 300.0)
    assert not bool(row["lane_known"])
    assert row["lane_s"] == pytest.approx(inner.end_s - inner.start_s)
    # The lane is left and entered at a small angle: the moment is much less sure.
    assert row["lane_sd_s"] > 3.0 * session.pit_stops["lane_sd_s"].iloc[0]
    assert row["standing_s"] == session.pit_stops["standing_s"].iloc[0]


def _stop_seen_as(slowest_mps: float) -> pd.Series:
    """The visit with no standstill recognised, and never slower than this."""
    session = mine().session
    inner = next(p for p in session.cuts.pits if p.start_s > 300.0)
    mapped = session.mapped
    quick = replace(mapped, speed_mps=np.maximum(mapped.speed_mps, slowest_mps))
    visit = (replace(inner, stands=False),)
    return pit_stops(session.track, session.motion, quick, visit, session.laps).iloc[0]


def test_a_lane_driven_through_has_no_standstill() -> None:
    through = _stop_seen_as(5.0)
    assert (through["standing_s"], through["standing_sd_s"]) == (0.0, 0.0)
    # A crawl may be a stop that the receiver does not resolve: not to be called driven through.
    assert math.isnan(_stop_seen_as(2.0)["standing_s"])
    # At rest it is a stop, whatever the rule for standstills made of a trembling position.
    assert _stop_seen_as(0.0)["standing_s"] == pytest.approx(STOP_S, abs=0.1)


def test_the_garage_is_no_pit_stop() -> None:
    assert raced(sim.Plan((2,), garage_s=20.0), 6).session.pit_stops.empty
