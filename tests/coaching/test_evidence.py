"""What is known of every clean run, on sessions whose times and errors are made by hand."""

from collections.abc import Sequence
from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import numpy as np
import pandas as pd
import pytest
from steady_sessions import CORNERS, LENGTH_M, SPEED_MPS, Steady
from straight_motion import OWN_M

from lapwright.coaching.evidence import (
    CLOCKS,
    Evidence,
    clean_passes,
    gather_evidence,
    span_stations,
    timed_passes,
)
from lapwright.geometry import Track
from lapwright.laps.lap_trace import LapTrace


def gathered(session: Steady, passes: "pd.DataFrame | None" = None) -> Evidence:
    return gather_evidence(
        session.track, session.motion, session.laps,
        session.bare_passes if passes is None else passes, session.traces,
    )  # fmt: skip


def of_corner(evidence: Evidence, corner: int) -> pd.DataFrame:
    return evidence.passes.iloc[evidence.of(corner)].set_index("lap")


# --- where passes are timed -----------------------------------------------------------------------


def spans_of(session: Steady, passes: "pd.DataFrame | None" = None) -> pd.DataFrame:
    table = session.bare_passes if passes is None else passes
    return span_stations(session.track, table).set_index("corner")


def test_a_pass_is_timed_from_before_the_earliest_braking() -> None:
    assert spans_of(Steady(11)).loc[2, "start_m"] == pytest.approx(1400.0 - 60.0 - 10.0)
    # Of eleven laps the tenth part are earlier than the second earliest: not the one at 650 m.
    brakes = np.array([1050.0, 650.0, *np.linspace(1100.0, 1300.0, 9)])
    early = Steady(11, values={(2, "brake_station_m"): brakes})
    assert spans_of(early).loc[2, "start_m"] == pytest.approx(1050.0 - 10.0)


def test_a_corner_that_most_laps_do_not_brake_for_is_timed_from_100_m_before() -> None:
    nan = float("nan")
    for brakes, start in (([1300.0, nan, nan], 1350.0), ([1300.0, 1300.0, nan], 1290.0)):
        session = Steady(3, values={(2, "brake_station_m"): brakes})
        assert spans_of(session).loc[2, "start_m"] == pytest.approx(start)
    # Its neighbour's slowest point at 1290 m: half-way is later than 100 m before.
    near = Steady(3, values={(2, "brake_station_m"): [nan, nan, nan],
                             (1, "min_speed_station_m"): [1290.0] * 3})  # fmt: skip
    assert spans_of(near).loc[2, "start_m"] == pytest.approx(0.5 * (1290.0 + 1450.0))


def test_a_pass_does_not_begin_before_the_slowest_point_of_the_corner_before() -> None:
    early = Steady(6, values={(2, "brake_station_m"): np.full(6, 545.0)})
    assert spans_of(early).loc[2, "start_m"] == pytest.approx(550.0)


def test_where_a_corner_is_said_to_begin_and_end_does_not_matter() -> None:
    rng = np.random.default_rng(5)
    there = gathered(Steady(6, edit=bend)).passes
    for _ in range(3):
        moved = tuple(
            replace(c, entry_m=c.entry_m + a, exit_m=c.exit_m + b)
            for c, (a, b) in zip(CORNERS, rng.uniform(-14.0, 14.0, (3, 2)), strict=True)
        )
        session = Steady(6, edit=bend)
        evidence = gather_evidence(
            replace(session, corners=moved).track, session.motion, session.laps,
            session.bare_passes, session.traces,
        )  # fmt: skip
        pd.testing.assert_frame_equal(evidence.passes, there)


def test_a_pass_ends_where_the_next_begins_or_at_the_line() -> None:
    spans = spans_of(Steady(6))
    assert spans.loc[1, "end_m"] == spans.loc[2, "start_m"]
    assert spans.loc[2, "end_m"] == spans.loc[3, "start_m"]
    # Corner 3 ends 700 m before the line; corner 1 is braked for behind it, or before it.
    assert spans.loc[1, "start_m"] > 0.0
    assert spans.loc[3, "end_m"] == LENGTH_M
    before = Steady(6, values={(1, "brake_station_m"): np.full(6, -100.0)})
    assert spans_of(before).loc[1, "start_m"] == pytest.approx(-110.0)
    assert spans_of(before).loc[3, "end_m"] == pytest.approx(LENGTH_M - 110.0)


@pytest.mark.parametrize(("behind_m", "to_the_line"), [(251.0, True), (249.0, False)])
def test_a_line_close_behind_a_corner_does_not_end_its_pass(
    behind_m: float, to_the_line: bool
) -> None:
    # Else the way out of the last corner would not count.
    session, length = Steady(6), CORNERS[-1].apex_m + behind_m
    short = cast("Track", SimpleNamespace(corners=CORNERS, length_m=length))
    spans = span_stations(short, session.bare_passes).set_index("corner")
    assert spans.loc[1, "start_m"] > 0.0
    end = length if to_the_line else spans.loc[1, "start_m"] + length
    assert spans.loc[3, "end_m"] == pytest.approx(end)


def test_the_usual_slowest_point_is_the_middle_of_the_passes() -> None:
    slowest = np.array([1440.0, 1441.0, 1442.0, 1443.0, 1499.0])
    session = Steady(5, values={(2, "min_speed_station_m"): slowest})
    assert spans_of(session).loc[2, "slowest_m"] == 1442.0
    # Without a pass, the apex.
    assert spans_of(session, session.bare_passes.iloc[:0]).loc[2, "slowest_m"] == 1450.0


# --- which passes count, and their times ---------------------------------------------------------


def test_only_passes_of_clean_laps_count() -> None:
    session = Steady(4, not_clean=(2,))
    assert set(clean_passes(session.laps, session.bare_passes)["lap"]) == {1, 3, 4}


def test_a_pass_counts_if_the_car_came_and_went_at_pace() -> None:
    session = Steady(5, not_timed=(4,))
    spans = span_stations(session.track, session.bare_passes)

    def kept(spans: pd.DataFrame) -> set[tuple[int, int]]:
        table, moments = timed_passes(
            session.track, session.laps, session.bare_passes, session.traces, spans
        )
        assert len(moments) == len(table)
        return {(int(a), int(b)) for a, b in zip(table["lap"], table["corner"], strict=True)}

    every = {(lap, corner) for lap in range(1, 6) for corner in (1, 2, 3)}
    # The first corner of laps 1 and 5: the laps before them, 0 and 4, were not at pace.
    assert kept(spans) == every - {(1, 1), (5, 1)}
    # With an end beyond the line laps 3 and 5 lack what follows them: laps 4 and 6 are not timed.
    long = spans.assign(end_m=np.where(spans["corner"] == 3, LENGTH_M + 100.0, spans["end_m"]))
    assert kept(long) == every - {(1, 1), (5, 1), (3, 3), (5, 3)}


def test_times_run_from_start_over_the_slowest_point_to_the_end() -> None:
    # Half of the second lost in a corner is lost before its middle, which is the apex.
    session = Steady(4, lost_s={(3, 2): 1.0})
    evidence = gathered(session)
    span = evidence.spans.set_index("corner").loc[2]
    table = of_corner(evidence, 2)
    run_in = (span["slowest_m"] - span["start_m"]) / SPEED_MPS
    run_out = (span["end_m"] - span["slowest_m"]) / SPEED_MPS
    assert run_in != pytest.approx(run_out, abs=1.0)
    for lap, lost in ((2, 0.0), (3, 1.0)):
        assert table.loc[lap, "run_in_s"] == pytest.approx(run_in + 0.5 * lost, abs=1e-3)
        assert table.loc[lap, "run_out_s"] == pytest.approx(run_out + 0.5 * lost, abs=1e-3)
        assert table.loc[lap, "span_s"] == pytest.approx(run_in + run_out + lost, abs=1e-3)
        # In laps at the usual pace the excess is what was lost beyond the usual.
        assert table.loc[lap, "span_excess_s"] == pytest.approx(lost, abs=1e-3)
        assert table.loc[lap, "run_in_excess_s"] == pytest.approx(0.5 * lost, abs=1e-3)
        assert table.loc[lap, "run_out_excess_s"] == pytest.approx(0.5 * lost, abs=1e-3)


def test_the_errors_of_times_are_those_of_their_ends() -> None:
    # On a straight at one speed, places wrong by 0.1 m each of its own at 20 m/s, and a clock good
    # to 1 in 1000 that all passes share.
    evidence = gathered(Steady(4, clock_rate_sd=0.001))
    own = 2.0 * (OWN_M / SPEED_MPS) ** 2
    for clock in CLOCKS:
        length = evidence.passes[f"{clock}_s"].to_numpy()
        expected = own * np.eye(len(length)) + 0.001**2 * np.outer(length, length)
        np.testing.assert_allclose(evidence.covs_s2[clock], expected, rtol=1e-6, atol=1e-12)
    sd = np.sqrt(own + (0.001 * evidence.passes["span_s"]) ** 2)
    np.testing.assert_allclose(evidence.passes["span_sd_s"], sd, rtol=1e-6)


# --- what is judged ------------------------------------------------------------------------------


def test_slow_and_unused_are_shares_of_the_corner() -> None:
    # On lap 3 corner 2 took 10 % longer at 6 % less speed, and its force was 19 % less: of the
    # 5 s through its 100 m half a second, evenly, and so of the 90 m about its slowest point.
    session = Steady(
        5, lost_s={(3, 2): 0.5}, values={(2, "min_speed_mps"): [15.0, 15.0, 14.1, 15.0, 15.0]},
        edit=lambda lap, t: replace(
            t, accel_lat_mps2=np.where(
                (lap == 3) & (t.station_m > 1300.0) & (t.station_m < 1600.0), 0.81 * 5.0, 5.0
            )
        ),
    )  # fmt: skip
    table = of_corner(gathered(session), 2)
    # Half from either; force goes with the square of speed, so half of its share.
    assert table.loc[3, "slow_share"] == pytest.approx(0.5 * (0.10 + 0.06), abs=1e-4)
    assert table.loc[3, "unused_share"] == pytest.approx(0.5 * 0.19)
    assert table.loc[3, "held_mps2"] == pytest.approx(0.81 * 5.0)
    for lap in (1, 2, 4, 5):
        assert table.loc[lap, "slow_share"] == pytest.approx(0.0, abs=1e-12)
        assert table.loc[lap, "unused_share"] == pytest.approx(0.0, abs=1e-12)


def bend(lap: int, t: LapTrace) -> LapTrace:
    """Six for a fifth of the corner about its apex, else two; eight to the right beyond it."""
    s = t.station_m
    force = np.where(np.abs(s - 1450.0) < 10.0, 6.0, 2.0)
    return replace(t, accel_lat_mps2=np.where((s > 1520.0) & (s < 1600.0), -8.0, force))


def test_the_corners_are_as_made() -> None:
    evidence = gathered(Steady(3))
    assert evidence.of(2).tolist() == np.flatnonzero(evidence.passes["corner"] == 2).tolist()
    assert evidence.spans["corner"].tolist() == [c.order for c in CORNERS]


def test_error_bars_come_in_beside_the_passes_of_a_corner() -> None:
    session = Steady(6)
    asked: list[tuple[list[int], list[str]]] = []

    def bars_of(corners: Sequence[int], columns: Sequence[str]) -> pd.DataFrame:
        asked.append((list(corners), list(columns)))
        there = session.bare_passes[session.bare_passes["corner"].isin(corners)].iloc[::-1]
        return there.assign(**dict.fromkeys(columns, there["lap"] + 0.5))

    evidence = replace(gathered(session), bars_of=bars_of)
    table = evidence.with_bars([2], ["span_s", "made_up_sd_m"])
    assert asked == [([2], ["made_up_sd_m"])]
    np.testing.assert_array_equal(table.index, evidence.passes.index[evidence.of(2)])
    np.testing.assert_array_equal(table["made_up_sd_m"], table["lap"] + 0.5)
    # What is there is not asked for again.
    assert "made_up_sd_m" not in evidence.with_bars([2], ["span_s"])
    assert len(asked) == 1
