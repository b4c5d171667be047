"""Which features are named as habits: each limit from both sides, on passes made by hand."""

import numpy as np
import pandas as pd
import pytest

from lapwright.coaching.evidence import Evidence
from lapwright.coaching.habit_search import ALPHA, FEATURES, Candidate, candidates

CORNERS = (1, 2, 3, 4, 5, 6)
# Scatter from pass to pass of each feature: small, so that limits and not scatter decide.
SCATTER = {
    "braking_m": 0.3, "throttle_station_m": 0.3, "min_speed_mps": 0.02, "unused_share": 0.001,
    "slow_share": 0.001, "turn_in_offset_m": 0.05, "apex_offset_m": 0.05, "exit_offset_m": 0.05,
}  # fmt: skip
USUAL = {"braking_m": 300.0, "throttle_station_m": 450.0, "min_speed_mps": 20.0}


def quiet(laps: int = 12, seed: int = 1) -> pd.DataFrame:
    """Passes that only vary; times to a millisecond."""
    rng = np.random.default_rng(seed)
    n = laps * len(CORNERS)
    lap, corner = (a.ravel() for a in np.mgrid[1 : laps + 1, 1 : len(CORNERS) + 1])
    table = pd.DataFrame({"lap": lap, "corner": corner, "brake_sd_m": 0.1, "throttle_sd_m": 0.1})
    for name, sd in SCATTER.items():
        table[name] = USUAL.get(name, 0.0) + sd * rng.standard_normal(n)
    for clock in ("run_in", "run_out"):
        table[f"{clock}_s"] = 5.0 + 0.001 * rng.standard_normal(n)
    # Where the car leaves is near the corner's exit: one scatter for both.
    table["leaving_offset_m"] = table["exit_offset_m"]
    return table


def at(table: pd.DataFrame, laps: int, corner: int = 2) -> "pd.Series[bool]":
    """A corner's passes on the first so many laps."""
    return (table["corner"] == corner) & (table["lap"] <= laps)


def planted(
    table: pd.DataFrame, column: str, by: float, *, laps: int = 8, corner: int = 2, **cost_s: float
) -> pd.DataFrame:
    """On the first so many laps a feature is changed by so much, and times by what it costs."""
    out, there = table.copy(), at(table, laps, corner)
    out.loc[there, column] += by
    if column == "exit_offset_m":
        out.loc[there, "leaving_offset_m"] += by
    for clock, seconds in cost_s.items():
        out.loc[there, f"{clock}_s"] += seconds
    return out


def found(table: pd.DataFrame, sd_s: float = 0.001) -> list[Candidate]:
    table = table.assign(span_s=table["run_in_s"] + table["run_out_s"])
    for clock in ("span", "run_in", "run_out"):
        value = table[f"{clock}_s"]
        middle = value.groupby(table["corner"]).transform("median")
        table = table.assign(**{f"{clock}_excess_s": value - middle})
    cov = {clock: sd_s**2 * np.eye(len(table)) for clock in ("span", "run_in", "run_out")}
    return candidates(Evidence(table, cov, pd.DataFrame({"corner": CORNERS})))


def said(table: pd.DataFrame) -> set[tuple[int, str]]:
    return {(c.corner, c.feature.column) for c in found(table)}


def test_passes_that_only_vary_are_nothing() -> None:
    assert said(quiet()) == set()


@pytest.mark.parametrize(
    ("column", "by", "clock"),
    [
        ("braking_m", -14.0, "run_in"), ("throttle_station_m", 14.0, "run_out"),
        ("turn_in_offset_m", 2.0, "run_in"), ("apex_offset_m", 2.0, "run_in"),
        ("exit_offset_m", 2.0, "run_out"),
    ],
)  # fmt: skip
def test_each_feature_is_found_with_what_it_costs(column: str, by: float, clock: str) -> None:
    (one,) = found(planted(quiet(), column, by, **{clock: 0.25}))
    assert (one.corner, one.feature.column) == (2, column)
    # The way of the first eight laps is the slow and usual one.
    assert one.usual.tolist() == [True] * 8 + [False] * 4
    assert one.stake_s == pytest.approx(0.25, abs=0.003)
    # A time to a millisecond from driver and receiver each: sqrt(1/8 + 1/4) of it, at most twice.
    assert 0.0 < one.stake_sd_s < 2.0 * 0.002


@pytest.mark.parametrize(
    ("column", "by", "clock", "looks"),
    [("braking_m", -30.0, "run_in", 2), ("throttle_station_m", 30.0, "run_out", 1)],
)
def test_two_looks_at_a_corner_have_twice_the_chance(
    column: str, by: float, clock: str, looks: int
) -> None:
    # Beyond all 20 000 that were drawn: 1 in 20 001, and braking is judged by place and time too.
    (one,) = found(planted(quiet(), column, by, **{clock: 0.5}))
    assert one.p_value == pytest.approx(looks / 20001)


@pytest.mark.parametrize("column", ["braking_m", "apex_offset_m"])
def test_where_either_way_may_be_slow_the_slower_is_the_usual(column: str) -> None:
    for by in (-10.0, 10.0) if column == "braking_m" else (-2.0, 2.0):
        (one,) = found(planted(quiet(), column, by, run_in=0.25))
        assert one.usual.tolist() == [True] * 8 + [False] * 4
        assert one.stake_s > 0.0


def test_going_to_the_throttle_earlier_is_never_the_slow_way() -> None:
    # The same cost, but of the laps on the throttle earlier.
    assert said(planted(quiet(), "throttle_station_m", -14.0, run_out=0.25)) == set()


@pytest.mark.parametrize(("cost_s", "named"), [(0.04, False), (0.06, True)])
def test_less_than_a_twentieth_of_a_second_is_not_worth_a_thought(
    cost_s: float, named: bool
) -> None:
    assert bool(said(planted(quiet(), "braking_m", -14.0, run_in=cost_s))) == named


@pytest.mark.parametrize(
    ("column", "by", "clock", "named"),
    [
        # 3 m of braking or throttle, 0.8 m of line: smaller gaps are not worth saying.
        ("braking_m", -2.4, "run_in", False), ("braking_m", -3.6, "run_in", True),
        ("throttle_station_m", 2.4, "run_out", False), ("throttle_station_m", 3.6, "run_out", True),
        ("apex_offset_m", 0.65, "run_in", False), ("apex_offset_m", 0.95, "run_in", True),
        # Beyond 40, 60 and 5 m it is another event.
        ("braking_m", -39.0, "run_in", True), ("braking_m", -41.0, "run_in", False),
        ("throttle_station_m", 59.0, "run_out", True),
        ("throttle_station_m", 61.0, "run_out", False),
        ("exit_offset_m", 4.8, "run_out", True), ("exit_offset_m", 5.2, "run_out", False),
    ],
)  # fmt: skip
def test_a_gap_is_neither_too_small_nor_another_event(
    column: str, by: float, clock: str, named: bool
) -> None:
    assert bool(said(planted(quiet(), column, by, **{clock: 0.25}))) == named


@pytest.mark.parametrize(("laps", "named"), [(4, False), (5, True)])
def test_what_happens_on_fewer_than_two_laps_in_five_is_a_slip(laps: int, named: bool) -> None:
    table = planted(quiet(), "throttle_station_m", 14.0, laps=laps, run_out=0.25)
    assert bool(said(table)) == named


@pytest.mark.parametrize(("sd_m", "named"), [(11.0, True), (12.0, False)])
@pytest.mark.parametrize(
    ("column", "noise", "by", "clock"),
    [("braking_m", "brake_sd_m", -14.0, "run_in"),
     ("throttle_station_m", "throttle_sd_m", 14.0, "run_out")],
)  # fmt: skip
def test_a_gap_must_be_twice_what_the_places_are_unsure_by(
    column: str, noise: str, by: float, clock: str, sd_m: float, named: bool
) -> None:
    # Means of 8 and 4 places: 14 m are 2 * 11.43 m * sqrt(1/8 + 1/4).
    table = planted(quiet(), column, by, **{clock: 0.25}).assign(**{noise: sd_m})
    assert bool(said(table)) == named


@pytest.mark.parametrize(("missing", "named"), [(2, True), (3, False)])
def test_what_happens_on_some_laps_only_is_no_feature_of_the_corner(
    missing: int, named: bool
) -> None:
    # Ten of twelve laps are more than four in five, nine are fewer.
    table = planted(quiet(), "throttle_station_m", 14.0, run_out=0.25)
    table.loc[at(table, missing), "throttle_station_m"] = np.nan
    assert bool(said(table)) == named


@pytest.mark.parametrize(
    ("column", "by", "clock", "named"),
    [("throttle_station_m", 14.0, "run_out", True), ("braking_m", -14.0, "run_in", False)],
)
def test_six_passes_show_what_can_only_go_one_way(
    column: str, by: float, clock: str, named: bool
) -> None:
    # Of 20 ways to draw three of six one is so slow by lot: 5 %, which is enough where only one
    # way can be the slow one, and 10 % where either can.
    table = planted(quiet(laps=6), column, by, laps=3, **{clock: 0.25})
    assert ((2, column) in said(table)) == named


@pytest.mark.parametrize(
    ("lost_s", "clock", "stake_s"), [(0.0, "run_in", 0.25), (-0.1, "span", 0.15)]
)
def test_what_is_lost_again_on_the_way_out_is_taken_off(
    lost_s: float, clock: str, stake_s: float
) -> None:
    (one,) = found(planted(quiet(), "braking_m", -14.0, run_in=0.25, run_out=lost_s))
    assert one.clock == clock
    assert one.stake_s == pytest.approx(stake_s, abs=0.003)


def test_all_lost_again_is_no_habit() -> None:
    assert said(planted(quiet(), "braking_m", -14.0, run_in=0.25, run_out=-0.3)) == set()


@pytest.mark.parametrize(("run_in_s", "named"), [(-0.2, True), (-0.3, False)])
def test_a_late_throttle_that_gained_more_on_the_way_in_is_no_habit(
    run_in_s: float, named: bool
) -> None:
    # The way in has nothing to do with the throttle, unless the whole comes out quicker.
    table = planted(quiet(), "throttle_station_m", 14.0, run_out=0.25, run_in=run_in_s)
    assert ((2, "throttle_station_m") in said(table)) == named


def test_what_the_corners_force_made_of_the_way_out_is_no_part_of_the_throttles() -> None:
    # Each 1 % of force not used costs 0.1 s on the way out.  By chance the usual passes used 2 %
    # less on average, 0.2 s: the throttle's own part stays 0.25 s.
    table = planted(quiet(), "throttle_station_m", 14.0, run_out=0.25)
    unused = np.array([0.06, 0.0, 0.05, 0.01, 0.04, 0.02, 0.03, 0.03, -0.02, 0.04, 0.0, 0.02])
    table.loc[table["corner"] == 2, "unused_share"] = unused
    table.loc[table["corner"] == 2, "run_out_s"] += 10.0 * unused
    apart = 10.0 * (unused[:8].mean() - unused[8:].mean())
    assert apart == pytest.approx(0.2)
    one = next(c for c in found(table) if c.feature.code == "throttle")
    assert one.stake_s == pytest.approx(0.25, abs=0.005)
    assert one.stake_sd_s < 0.005


def test_a_slow_corner_is_told_by_force_unless_time_and_speed_tell_more_clearly() -> None:
    slow = planted(quiet(), "unused_share", 0.05, run_in=0.25)
    slow.loc[at(slow, 8), "min_speed_mps"] -= 1.0
    # Only the force knows: time and speed scatter as much.
    (one,) = found(slow)
    assert (one.corner, one.feature.code) == (2, "minimum_speed")
    # Where the force scatters a hundred times as much everywhere, time and speed are asked.
    rough = slow.copy()
    rough["unused_share"] = 0.1 * np.random.default_rng(5).standard_normal(len(slow))
    assert found(rough) == []
    rough.loc[at(rough, 8), "slow_share"] += 0.05
    (one,) = found(rough)
    assert one.feature.code == "minimum_speed"


def test_less_force_at_a_higher_speed_is_no_low_minimum_speed() -> None:
    table = planted(quiet(), "unused_share", 0.05, run_in=0.25)
    table.loc[at(table, 8), "min_speed_mps"] += 1.0
    assert found(table) == []


def test_a_minimum_speed_must_differ_by_what_a_driver_can_see() -> None:
    # 0.3 m/s are a kilometre an hour.
    for by, named in ((-0.2, False), (-0.4, True)):
        table = planted(quiet(), "unused_share", 0.05, run_in=0.25)
        table.loc[at(table, 8), "min_speed_mps"] += by
        assert bool(found(table)) == named


@pytest.mark.parametrize(
    ("column", "clock", "sign", "promised"),
    [("braking_m", "run_in", -1.0, 0.01), ("throttle_station_m", "run_out", 1.0, 0.02)],
)
def test_what_scatter_could_have_done_is_not_named(
    column: str, clock: str, sign: float, promised: float
) -> None:
    # Of habits from hardly any to clear, where places scatter by 1.8 m and times by 0.15 s: each
    # that is named is rarer by chance than promised, and the promise is used up to a half.
    p_values = []
    for by in np.linspace(3.0, 9.0, 13):
        table = quiet(seed=3)
        table[column] = USUAL[column] + (table[column] - USUAL[column]) * 6.0
        table[f"{clock}_s"] = 5.0 + (table[f"{clock}_s"] - 5.0) * 150.0
        for c in found(planted(table, column, sign * by, **{clock: 0.4})):
            assert c.feature.column == column
            p_values.append(c.p_value)
    assert 0.5 * promised < max(p_values) <= promised
    assert 0 < len(p_values) < 13


def test_every_feature_has_its_own_promise() -> None:
    assert {f.code for f in FEATURES} == set(ALPHA)
    # A tenth of the sessions of a driver without habits at most (Boole's inequality).
    assert sum(ALPHA.values()) <= 0.1
