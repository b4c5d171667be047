"""How many more laps: the power is that of the test, and nothing is promised of scatter."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from lapwright.coaching.evidence import Evidence
from lapwright.coaching.habit_search import candidates
from lapwright.coaching.no_habit.laps_needed import (
    MAX_MORE,
    POWER,
    TwoWays,
    laps_needed,
    needed_for,
    power,
    resolvable,
    two_ways,
)

# Five runs one way, four the other, far apart, and a time of which one run scatters by 0.1 s.
FAR = TwoWays(4, "minimum_speed", 0.15, 0.1 * np.sqrt(1 / 5 + 1 / 4), 12.0, 5, 4, 15.0, 1, 10)


def t_power(effect: float, scatter: float, counts: tuple[int, int], level: float) -> float:
    """Of a one-sided t test of two means; source: scipy.stats, the noncentral t."""
    dof = sum(counts) - 2
    shift = effect / (scatter * np.sqrt(sum(1.0 / n for n in counts)))
    return float(stats.nct.sf(stats.t.ppf(1.0 - level, dof), dof, shift))


@pytest.mark.parametrize("runs", [9, 14, 30])
def test_far_apart_the_time_alone_decides(runs: int) -> None:
    true = t_power(0.15, 0.1, FAR.counts(runs), 0.05)
    # 1000 draws have a standard deviation of 0.016 at most: three of these.
    assert power(FAR, 8.0, runs) == pytest.approx(true, abs=0.05)


def test_the_ways_must_lie_apart_as_well() -> None:
    # A time beyond doubt: what is left is how far the groups lie apart, and more runs show it.
    sure = replace(FAR, difference_s=1.0)
    powers = [power(sure, 3.5, runs) for runs in (9, 20, 39)]
    assert powers == sorted(powers)
    assert powers[0] < 0.5
    # Ways that lie no farther apart than scatter pass hardly ever.
    assert power(sure, 1.0, 20) < 0.05


def test_of_either_way_half_the_level_is_left() -> None:
    either = replace(FAR, code="braking", sides=2)
    true = t_power(0.15, 0.1, FAR.counts(12), 0.025)
    assert power(either, 8.0, 12) == pytest.approx(true, abs=0.05)


@pytest.mark.parametrize("runs", [12, 20, 39])
def test_what_is_resolved_is_so_four_times_in_five(runs: int) -> None:
    least = resolvable(FAR, runs)
    assert t_power(least, 0.1, FAR.counts(runs), 0.05) == pytest.approx(POWER, abs=0.02)


def test_as_many_laps_as_the_power_asks_for() -> None:
    needed = needed_for(FAR)
    assert needed.why == "needed"
    assert needed.more is not None
    # The first number of runs at which the noncentral t has four in five, to the next step.
    true = next(
        k for k in range(1, MAX_MORE) if t_power(0.15, 0.1, FAR.counts(9 + k), 0.05) >= POWER
    )
    assert true <= needed.more <= true + 3


def test_fewer_laps_for_more_time() -> None:
    more = [needed_for(replace(FAR, difference_s=d)).more for d in (0.15, 0.2, 0.3)]
    assert more == sorted(more, reverse=True, key=lambda n: n or 0)
    assert more[0] > more[-1]


def test_too_small_to_be_settled() -> None:
    needed = needed_for(replace(FAR, difference_s=0.05))
    assert (needed.why, needed.more) == ("too_small", None)
    assert needed.difference_s < needed.resolvable_s == resolvable(FAR, 9 + MAX_MORE)


def test_no_farther_apart_than_scatter() -> None:
    # Cutting nine normal values in two leaves them about two scatters apart.
    needed = needed_for(replace(FAR, apart=1.5, difference_s=0.3))
    assert (needed.why, needed.more) == ("one_way", None)


CORNERS = 6


def made(
    rng: np.random.Generator, laps: int, slow_share: float = 0.0, cost_s: float = 0.0
) -> Evidence:
    """Corners whose speeds and times vary apart from each other; corner 2 slow on every other."""
    rows = []
    for lap in range(1, laps + 1):
        for corner in range(1, CORNERS + 1):
            slow = corner == 2 and lap % 2 == 1
            unused = rng.normal(0.0, 0.01) + slow_share * slow
            excess = rng.normal(0.0, 0.05) + cost_s * slow
            rows.append(
                {
                    "lap": lap, "corner": corner, "braking_m": np.nan, "throttle_station_m": np.nan,
                    "turn_in_offset_m": np.nan, "apex_offset_m": np.nan, "exit_offset_m": np.nan,
                    "leaving_offset_m": np.nan,
                    "unused_share": unused, "slow_share": unused,
                    "min_speed_mps": 20.0 * (1.0 - unused), "run_in_excess_s": excess,
                    "run_out_excess_s": excess, "span_excess_s": excess, "run_in_s": 5.0 + excess,
                    "run_out_s": 5.0 + excess, "span_s": 10.0 + excess, "brake_sd_m": 1.0,
                    "throttle_sd_m": 1.0,
                }
            )  # fmt: skip
    n = laps * CORNERS
    return Evidence(
        pd.DataFrame(rows), {c: 1e-4 * np.eye(n) for c in ("span", "run_in", "run_out")},
        pd.DataFrame({"corner": range(1, CORNERS + 1)}),
    )  # fmt: skip


def test_too_few_laps_to_test() -> None:
    needed = laps_needed(made(np.random.default_rng(1), 4), 2)
    assert needed is not None
    assert (needed.why, needed.more) == ("few_laps", 2)


def test_the_ways_are_those_that_were_planted() -> None:
    ways = two_ways(made(np.random.default_rng(2), 9, 0.08, 0.3), 2)
    assert ways is not None
    assert (ways.code, ways.usual, ways.others) == ("minimum_speed", 5, 4)
    # Each time scatters by 0.05 s: four error bars of the difference of two means.
    assert ways.difference_s == pytest.approx(0.3, abs=4 * 0.05 * np.sqrt(1 / 5 + 1 / 4))
    assert ways.corners == CORNERS


def test_scatter_alone_is_promised_nothing() -> None:
    why = []
    for seed in range(20):
        needed = laps_needed(made(np.random.default_rng(seed), 9), 2)
        why += [] if needed is None else [needed.why]
    assert len(why) > 5
    # What only varies may look like two ways now and then.
    assert why.count("needed") <= len(why) // 4


def test_so_many_more_laps_do_settle_it() -> None:
    # A habit that seven laps leave open, and as many more as were named: the search finds it.
    told = found = 0
    for seed in range(30):
        rng = np.random.default_rng(100 + seed)
        first = made(rng, 7, 0.037, 0.12)
        needed = laps_needed(first, 2)
        seen = {c.corner for c in candidates(first)}
        if needed is None or needed.why != "needed" or 2 in seen:
            continue
        told += 1
        again = made(rng, 7 + (needed.more or 0), 0.037, 0.12)
        found += 2 in {c.corner for c in candidates(again)}
    assert told >= 3
    assert found / told >= 0.5
