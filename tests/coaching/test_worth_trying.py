"""Advice from made-up evidence: what is found, and when nothing is."""

import re

import numpy as np
import pandas as pd
import pytest

from lapwright.coaching.conditions import changing
from lapwright.coaching.evidence import Evidence
from lapwright.coaching.worth_trying import judge
from lapwright.geometry import Corner
from lapwright.units import Units
from lapwright.wording.coaching.worth_trying import item_text

NAMES = {2: "Gatehouse"}
CORNERS = tuple(
    Corner(k, NAMES.get(k, str(k)), "left", 400.0 * k, 400.0 * k + 40, 400.0 * k + 90, 50.0)
    for k in range(1, 7)
)  # fmt: skip


def make(rng: np.random.Generator, laps: int = 12, *, usual: int = 8) -> pd.DataFrame:
    """Six corners of passes that only vary; ``habit`` marks the first so many laps."""
    rows = []
    for lap in range(1, laps + 1):
        for c in CORNERS:
            slow = rng.normal(0, 0.01)
            speed = 20.0 * (1 - slow)
            run_in, run_out = 5.0 + 2.0 * slow, 6.0 + 2.0 * slow
            rows.append(
                {
                    "lap": lap, "corner": c.order, "habit": lap <= usual,
                    "braking_m": c.entry_m - 90 + rng.normal(0, 2.0), "brake_sd_m": 1.0,
                    "throttle_station_m": c.apex_m + 10 + rng.normal(0, 2.0), "throttle_sd_m": 1.0,
                    "min_speed_mps": speed, "unused_share": slow, "slow_share": slow,
                    "turn_in_offset_m": rng.normal(0, 0.3), "apex_offset_m": rng.normal(0, 0.3),
                    "exit_offset_m": rng.normal(0, 0.3), "run_in_s": run_in, "run_out_s": run_out,
                }
            )  # fmt: skip
    return pd.DataFrame(rows).assign(leaving_offset_m=lambda t: t["exit_offset_m"])


def evidence(table: pd.DataFrame, sd_s: float = 0.01) -> Evidence:
    """Evidence of passes, measured with an error of ``sd_s``."""
    table = table.assign(span_s=table["run_in_s"] + table["run_out_s"])
    for clock in ("span", "run_in", "run_out"):
        value = table[f"{clock}_s"]
        middle = value.groupby(table["corner"]).transform("median")
        table = table.assign(**{f"{clock}_excess_s": value - middle})
    cov = {clock: sd_s**2 * np.eye(len(table)) for clock in ("span", "run_in", "run_out")}
    return Evidence(table, cov, pd.DataFrame({"corner": [c.order for c in CORNERS]}))


def plant(table: pd.DataFrame, corner: int, code: str, by: float, cost_s: float) -> pd.DataFrame:
    """Plant a habit on the passes marked for it."""
    there = (table["corner"] == corner) & table["habit"]
    out = table.copy()
    if code == "braking":
        out.loc[there, "braking_m"] -= by
        out.loc[there, "run_in_s"] += cost_s
    elif code == "throttle":
        out.loc[there, "throttle_station_m"] += by
        out.loc[there, "run_out_s"] += cost_s
    elif code == "minimum_speed":
        out.loc[there, "min_speed_mps"] -= 20.0 * by
        out.loc[there, ["unused_share", "slow_share"]] += by
        out.loc[there, "run_in_s"] += cost_s
    else:
        out.loc[there, "apex_offset_m"] += by
        out.loc[there, "run_in_s"] += cost_s
    return out


@pytest.mark.parametrize(
    ("code", "by"), [("braking", 14.0), ("throttle", 15.0), ("minimum_speed", 0.07), ("line", 2.5)]
)
def test_a_habit_is_named(code: str, by: float) -> None:
    table = plant(make(np.random.default_rng(1)), 2, code, by, 0.25)
    items = judge(evidence(table), CORNERS).items
    assert [(i.corner, i.code) for i in items] == [(2, code)]
    item = items[0]
    assert item.time_at_stake_s == pytest.approx(0.25, abs=4 * item.time_at_stake_sd_s)
    assert item.usual_laps == tuple(range(1, 9))
    assert item.better_laps == (9, 10, 11, 12)
    assert item.name == "Gatehouse"


def test_three_habits_in_order_of_time() -> None:
    table = make(np.random.default_rng(2))
    table = plant(table, 5, "throttle", 15.0, 0.15)
    table = plant(table, 1, "braking", 14.0, 0.3)
    table = plant(table, 3, "minimum_speed", 0.07, 0.5)
    table = plant(table, 6, "throttle", 15.0, 0.05)
    items = judge(evidence(table), CORNERS).items
    assert [(i.corner, i.code) for i in items] == [
        (3, "minimum_speed"), (1, "braking"), (5, "throttle")
    ]  # fmt: skip
    stakes = [i.time_at_stake_s for i in items]
    assert stakes == sorted(stakes, reverse=True)


def test_a_pass_without_a_time_spoils_its_own_corner_only() -> None:
    # A braking point that hardly stands out: the time at the same speed has to help.
    table = make(np.random.default_rng(14))
    table["braking_m"] += np.random.default_rng(15).normal(0, 3.0, len(table))
    table = plant(table, 2, "braking", 10.0, 0.25)
    whole = evidence(table)
    assert [(i.corner, i.code) for i in judge(whole, CORNERS).items] == [(2, "braking")]
    passes = whole.passes.copy()
    passes.loc[passes["corner"] == 6, "run_in_excess_s"] = np.nan
    holed = Evidence(passes, whole.covs_s2, whole.spans)
    assert [(i.corner, i.code) for i in judge(holed, CORNERS).items] == [(2, "braking")]


def test_scatter_alone_is_nothing_to_try() -> None:
    # At most one session in ten is promised; of 60, nine claims would still be within chance (2 %).
    said = [bool(judge(evidence(make(np.random.default_rng(s))), CORNERS).items) for s in range(60)]
    assert sum(said) <= 9
    quiet = judge(evidence(make(np.random.default_rng(said.index(False)))), CORNERS)
    assert (quiet.nothing, quiet.clean_laps, quiet.held_back) == ("no_habit", 12, ())


def test_what_the_receiver_cannot_resolve_is_not_claimed() -> None:
    # 0.02 s against a receiver good to 0.1 s a pass.
    rng = np.random.default_rng(3)
    table = plant(make(rng), 2, "braking", 14.0, 0.02)
    table["run_in_s"] += rng.normal(0, 0.1, len(table))
    assert judge(evidence(table, 0.1), CORNERS).items == ()


@pytest.mark.parametrize(
    ("code", "by"), [("braking", 14.0), ("throttle", 15.0), ("minimum_speed", 0.07)]
)
@pytest.mark.parametrize(("sd_s", "claimed"), [(0.22, True), (0.28, False)])
def test_a_stake_must_stand_clear_of_its_error_bar(
    code: str, by: float, sd_s: float, claimed: bool
) -> None:
    # 8 usual and 4 quicker passes each measured to sd_s: the difference of the means has an sd of
    # sd_s sqrt(1/8 + 1/4) = 0.612 sd_s. With 5 % in one tail of the normal (1.645 sd, any table of
    # it) 0.25 s is resolved for sd_s below 0.248 s. The passes themselves hardly scatter, so
    # nothing but the receiver's error bar speaks against it.
    table = plant(make(np.random.default_rng(1)), 2, code, by, 0.25)
    found = judge(evidence(table, sd_s), CORNERS).items
    assert [(i.corner, i.code) for i in found] == ([(2, code)] if claimed else [])
    if claimed:
        assert found[0].time_at_stake_sd_s == pytest.approx(0.612 * sd_s, rel=0.02)


def test_later_braking_that_costs_as_much_on_the_way_out_is_no_advice() -> None:
    table = plant(make(np.random.default_rng(4)), 2, "braking", 14.0, 0.25)
    there = (table["corner"] == 2) & ~table["habit"]
    table.loc[there, "run_out_s"] += 0.3
    assert [i for i in judge(evidence(table), CORNERS).items if i.code == "braking"] == []


def test_earlier_braking_can_be_the_better_way() -> None:
    table = plant(make(np.random.default_rng(5)), 2, "braking", -14.0, 0.25)
    (habit,) = judge(evidence(table), CORNERS).habits
    assert "braking a little earlier and releasing sooner" in item_text(habit, Units())
    assert habit.item.better < habit.item.usual


def test_a_slip_on_a_few_laps_is_no_habit() -> None:
    table = plant(make(np.random.default_rng(6), usual=3), 2, "minimum_speed", 0.07, 0.3)
    assert judge(evidence(table), CORNERS).items == ()


def test_too_few_laps() -> None:
    table = plant(make(np.random.default_rng(7), laps=5, usual=3), 2, "braking", 14.0, 0.3)
    judgement = judge(evidence(table), CORNERS)
    assert judgement.items == ()
    assert (judgement.nothing, judgement.clean_laps) == ("few_laps", 5)


def test_no_laps() -> None:
    nothing = Evidence(pd.DataFrame(columns=["lap", "corner"]), {}, pd.DataFrame())
    assert judge(nothing, CORNERS).nothing == "no_clean_lap"


def test_a_corner_with_a_spin_is_held_back() -> None:
    table = plant(make(np.random.default_rng(8)), 2, "braking", 14.0, 0.3)
    judgement = judge(evidence(table), CORNERS, held_back=(2,))
    assert judgement.items == ()
    assert (judgement.nothing, judgement.held_back) == ("no_habit", (2,))


@pytest.mark.parametrize("said", ["dry, then rain", "drying", "mixed", "dry with damp patches"])
def test_wet_and_dry_are_not_pooled(said: str) -> None:
    table = plant(make(np.random.default_rng(9)), 2, "braking", 14.0, 0.3)
    judgement = judge(evidence(table), CORNERS, conditions=said)
    assert judgement.items == ()
    assert judgement.nothing == "conditions"


@pytest.mark.parametrize("said", ["", "dry", "wet", "rain", "Dry, 24 degrees"])
def test_steady_conditions_do_compare(said: str) -> None:
    assert not changing(said)


NUMBER = re.compile(r"(\d+(?:\.\d+)?)")


@pytest.mark.parametrize("units", [Units(), Units("mph", "ft"), Units("m/s")])
@pytest.mark.parametrize("seed", range(6))
def test_no_number_lies_outside_the_drivers_own_passes(seed: int, units: Units) -> None:
    rng = np.random.default_rng(seed)
    for code, by in (("braking", 14.0), ("throttle", 15.0), ("minimum_speed", 0.08)):
        table = plant(make(rng), 2, code, by, 0.3)
        for habit in judge(evidence(table), CORNERS).habits:
            item, text = habit.item, item_text(habit, units)
            corner, passes = CORNERS[item.corner - 1], table[table["corner"] == item.corner]
            own = {
                "braking": units.distance_of(1.0) * (corner.entry_m - passes["braking_m"]),
                "throttle": units.distance_of(1.0) * (passes["throttle_station_m"] - corner.apex_m),
                "minimum_speed": units.speed_of(1.0) * passes["min_speed_mps"],
                "line": passes["apex_offset_m"].abs(),
            }[item.code]
            said = text.split("), ", 1)[-1].split(". Those laps")[0]
            numbers = [
                float(n)
                for n in NUMBER.findall(said.split("of the laps that were quicker there (")[0])
            ]
            assert numbers
            assert min(numbers) >= own.min()
            assert max(numbers) <= own.max()


def test_nothing_is_a_dare() -> None:
    for seed in range(5):
        table = plant(make(np.random.default_rng(seed)), 2, "braking", 14.0, 0.3)
        for habit in judge(evidence(table), CORNERS).habits:
            said = item_text(habit, Units())
            assert "no later" in said
            assert not re.search(r"\b(must|should|dare|flat out|harder|attack|push)\b", said)


def still(laps: int = 12, *, usual: int = 8) -> pd.DataFrame:
    """Passes that hardly vary, so that the size of what is planted decides."""
    rng = np.random.default_rng(21)
    table = make(rng, laps, usual=usual)
    for name, sd in (("braking_m", 0.3), ("throttle_station_m", 0.3)):
        corner = table["corner"].map({c.order: c.entry_m for c in CORNERS})
        base = corner - 90.0 if name == "braking_m" else corner + 50.0
        table[name] = base + sd * rng.standard_normal(len(table))
    slow = 0.001 * rng.standard_normal(len(table))
    table = table.assign(brake_sd_m=0.1, throttle_sd_m=0.1, unused_share=slow, slow_share=slow)
    table["min_speed_mps"] = 20.0 * (1.0 - slow)
    for clock, base_s in (("run_in", 5.0), ("run_out", 6.0)):
        table[f"{clock}_s"] = base_s + 0.001 * rng.standard_normal(len(table))
    return table


def test_no_more_than_three_things_and_those_that_cost_most() -> None:
    table = still()
    for corner, cost_s in ((1, 0.2), (3, 0.5), (5, 0.3), (6, 0.4)):
        table = plant(table, corner, "throttle", 15.0, cost_s)
    items = judge(evidence(table, 0.001), CORNERS).items
    assert [i.corner for i in items] == [3, 6, 5]
    assert [i.time_at_stake_s for i in items] == pytest.approx([0.5, 0.4, 0.3], abs=0.005)


@pytest.mark.parametrize(("earlier_m", "code"), [(13.0, "minimum_speed"), (16.0, "braking")])
def test_braking_earlier_for_a_slower_corner_is_no_braking_habit(
    earlier_m: float, code: str
) -> None:
    # 18 instead of 20 m/s at 7 m/s2 take (400 - 324) / 14 = 5.4 m more; as the driver brakes on
    # average, twice that and 3 m, 13.9 m, may come of it.  Farther is more than the speed explains.
    table = plant(still(), 2, "minimum_speed", 0.1, 0.25)
    there = (table["corner"] == 2) & table["habit"]
    table.loc[there, "braking_m"] -= earlier_m
    # By its places the braking is by far the clearer of the two.
    noisy = 0.02 * np.random.default_rng(3).standard_normal(len(table))
    table["unused_share"] += noisy
    table["slow_share"] += noisy
    items = judge(evidence(table, 0.001), CORNERS).items
    assert [(i.corner, i.code) for i in items] == [(2, code)]


def test_of_two_things_in_a_corner_the_surer_is_said() -> None:
    # The throttle's two ways lie 15 m apart where 0.3 m are scatter, the braking's 6 where 1.5 are;
    # the braking costs more.
    table = still()
    table["braking_m"] += 1.5 * np.random.default_rng(4).standard_normal(len(table))
    table = plant(table, 2, "throttle", 15.0, 0.2)
    table = plant(table, 2, "braking", 8.0, 0.3)
    table["run_in_s"] += 0.1 * np.random.default_rng(5).standard_normal(len(table))
    alone = judge(evidence(plant(table, 2, "throttle", -15.0, -0.2), 0.001), CORNERS).items
    assert [(i.corner, i.code) for i in alone] == [(2, "braking")]
    both = judge(evidence(table, 0.001), CORNERS).items
    assert [(i.corner, i.code) for i in both] == [(2, "throttle")]


def test_a_spin_in_one_corner_says_nothing_of_another() -> None:
    table = plant(plant(still(), 2, "braking", 14.0, 0.3), 4, "braking", 14.0, 0.3)
    judgement = judge(evidence(table, 0.001), CORNERS, held_back=(2,))
    assert [i.corner for i in judgement.items] == [4]
    assert judgement.held_back == (2,)


def test_an_item_has_the_middles_and_the_ends_of_the_drivers_own_passes() -> None:
    table = plant(still(), 2, "braking", 14.0, 0.3)
    (item,) = judge(evidence(table, 0.001), CORNERS).items
    own = table.loc[table["corner"] == 2].set_index("lap")["braking_m"]
    assert item.usual == pytest.approx(own.loc[1:8].median())
    assert item.better == pytest.approx(own.loc[9:].median())
    assert (item.lowest, item.highest) == (own.min(), own.max())


def test_six_clean_laps_are_enough() -> None:
    table = plant(still(laps=6, usual=3), 2, "throttle", 15.0, 0.3)
    assert [i.corner for i in judge(evidence(table, 0.001), CORNERS).items] == [2]
