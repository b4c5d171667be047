"""What a change did: how often the interval holds the truth, and what must leave it alone."""

from dataclasses import replace

import numpy as np
import pytest
from lap_tables import CHANGED, Weekend, lap_tables
from scipy import stats

from lapwright.coaching.car_change import BeforeAfter, SessionLaps
from lapwright.coaching.car_change.lap_model import TREND_MEAN, changes_of
from lapwright.coaching.car_change.session_laps import from_table

SEEDS = 60
# Of 60 intervals that hold the truth 95 times in 100, and of 60 that leave out zero 5 times in 100:
# counts that chance alone passes in fewer than 1 of 1000 cases (binomial).
FEWEST_HELD = int(stats.binom.ppf(0.001, SEEDS, 0.95))
MOST_FALSE = int(stats.binom.ppf(0.999, SEEDS, 0.05))


def sessions(plan: Weekend, seed: int, corners: bool = False) -> list[SessionLaps]:
    drawn = lap_tables(plan, seed)
    return [from_table(t, str(k), c if corners else None) for k, (t, c) in enumerate(drawn)]


def sides(layout: str) -> np.ndarray:
    return np.array([[one == "B"] for one in layout])


def come_of(plan: Weekend, seed: int, corners: bool = False) -> BeforeAfter:
    return changes_of(sessions(plan, seed, corners), sides(plan.layout))[0]


@pytest.mark.parametrize("layout", ["AB", "ABA", "AABB", "ABAB"])
def test_the_interval_holds_a_planted_change(layout: str) -> None:
    plan = Weekend(layout)
    came = [come_of(plan, seed) for seed in range(SEEDS)]
    held = sum(one.low95_s <= plan.change_s <= one.high95_s for one in came)
    assert held >= FEWEST_HELD


@pytest.mark.parametrize("learns_s", [0.0, 0.3])
@pytest.mark.parametrize("layout", ["AB", "AABB"])
def test_nothing_is_claimed_where_nothing_was_changed(layout: str, learns_s: float) -> None:
    plan = Weekend(layout, change_s=0.0, learns_s=learns_s, track_s=0.0)
    assert sum(come_of(plan, seed).resolved for seed in range(SEEDS)) <= MOST_FALSE


def test_going_back_and_forth_finds_what_one_step_cannot() -> None:
    # Six sessions and twice the change: in turn, a clear answer; one step in the middle of a day
    # that gets quicker, the trend takes part of it.
    wide = {}
    for layout in ("ABABAB", "AAABBB"):
        came = [come_of(Weekend(layout, change_s=-0.8), seed) for seed in range(10)]
        wide[layout] = np.median([one.high95_s - one.low95_s for one in came])
        if layout == "ABABAB":
            assert sum(one.resolved and one.high95_s < 0.0 for one in came) >= 8
    assert wide["ABABAB"] < 0.75 * wide["AAABBB"]


def test_corners_are_named_where_the_change_is_and_hold_at_once() -> None:
    plan = Weekend("ABABAB", change_s=-0.8, session_sd_s=0.05)
    held = named = 0
    for seed in range(20):
        for one in come_of(plan, seed, corners=True).corners:
            true = plan.change_s / 2 if one.corner in CHANGED else 0.0
            held += one.low95_s <= true <= one.high95_s
            named += one.resolved and one.corner in CHANGED
    # Twenty times ten intervals, of which one should fail in 20 weekends; five is chance's end.
    assert held >= 195
    assert named >= 36


def test_looking_at_ten_corners_makes_each_interval_wider() -> None:
    found = sessions(Weekend("AABB"), 8, corners=True)
    alone = [replace(one, corner_s=one.corner_s[[4]]) for one in found if one.corner_s is not None]
    (ten,), (one,) = (changes_of(laps, sides("AABB")) for laps in (found, alone))
    of_ten = next(c for c in ten.corners if c.corner == 4)
    (by_itself,) = one.corners
    assert of_ten.change_s == pytest.approx(by_itself.change_s)
    # By Bonferroni the normal quantile of 0.9975, 2.81, in place of 1.96; more for a heavy tail.
    wider = (of_ten.high95_s - of_ten.low95_s) / (by_itself.high95_s - by_itself.low95_s)
    assert 2.81 / 1.96 < wider < 2.2


def test_swapping_before_and_after_changes_the_sign_only() -> None:
    found = sessions(Weekend("AABA"), 3, corners=True)
    (one,), (other,) = (changes_of(found, side) for side in (sides("AABA"), ~sides("AABA")))
    assert one.change_s == pytest.approx(-other.change_s, abs=1e-9)
    # The ends are found by halving, to a hundred thousandth of where the search begins.
    assert (one.low95_s, one.high95_s) == pytest.approx((-other.high95_s, -other.low95_s), abs=1e-3)
    assert [c.change_s for c in one.corners] == pytest.approx([-c.change_s for c in other.corners])
    assert (one.before_s, one.laps_before) == (other.after_s, other.laps_after)


def test_a_longer_lap_changes_only_how_much_quicker_the_next_session_should_be() -> None:
    found = sessions(Weekend("ABA"), 4)
    order = [-1.0, 0.0, 1.0]
    share = float(np.average(order, weights=[len(one) for one in found]))
    # So much quicker that what is expected of the longer lap takes it all up.
    gain_s = TREND_MEAN * 100.0 / (1.0 - TREND_MEAN * share)
    longer = [
        replace(one, time_s=one.time_s + 100.0 + gain_s * k)
        for k, one in zip(order, found, strict=True)
    ]
    (one,), (other,) = (changes_of(laps, sides("ABA")) for laps in (found, longer))
    for name in ("change_s", "low95_s", "high95_s", "between_sd_s"):
        assert getattr(other, name) == pytest.approx(getattr(one, name), abs=1e-6)
    assert other.trend_s == pytest.approx(one.trend_s + gain_s, abs=1e-6)
    assert one.more == other.more


def test_a_day_gets_quicker_by_itself() -> None:
    # Nothing but the trend that is expected: in A B the change is not made out to be it.
    plan = Weekend("AB", change_s=0.0, learns_s=0.0, track_s=0.0, session_sd_s=0.0, traffic=0.0)
    found = sessions(plan, 6)
    lap_s = float(np.mean(np.concatenate([one.time_s for one in found])))
    (first,), (last,) = (
        changes_of(laps, sides(plan)) for laps, plan in ((found, "AB"), (found[::-1], "BA"))
    )
    # Driven first with the change it is the other session that is expected to be quicker.
    assert first.change_s - last.change_s == pytest.approx(-2.0 * TREND_MEAN * lap_s, abs=0.01)


def test_so_many_more_laps_do_settle_it() -> None:
    # So many more sessions are driven, in turn; then the interval is as narrow as was said.
    plan = Weekend("AABB", scatter_s=0.2, traffic=0.0, session_sd_s=0.05, laps=(8, 8))
    half = []
    for seed in range(12):
        (first,) = changes_of(sessions(plan, seed), sides(plan.layout), 0.25)
        assert first.more.sessions
        assert first.more.laps == 8
        turns = "AB" * first.more.sessions
        longer = replace(plan, layout=plan.layout + turns[: first.more.sessions])
        (then,) = changes_of(sessions(longer, seed), sides(longer.layout), 0.25)
        half.append(0.5 * (then.high95_s - then.low95_s))
    assert np.median(half) == pytest.approx(0.25, rel=0.15)


def test_what_is_settled_needs_no_more_and_what_cannot_be_says_so() -> None:
    found = sessions(Weekend("ABAB"), 5)
    assert changes_of(found, sides("ABAB"), 5.0)[0].more.sessions == 0
    assert changes_of(found, sides("ABAB"), 0.001)[0].more.sessions is None


def test_laps_that_are_alike_from_one_to_the_next_count_less() -> None:
    long = Weekend("ABAB", traffic=0.0, laps=(12, 12))
    plain, alike = (
        np.median([
            come_of(replace(long, correlation=rho), seed).lap_correlation for seed in range(15)
        ])
        for rho in (0.0, 0.7)
    )  # fmt: skip
    assert plain < 0.3 < alike


def test_two_changes_are_told_apart_where_they_came_apart() -> None:
    found = sessions(Weekend("AAAAAA", change_s=0.0, traffic=0.0, session_sd_s=0.02), 6)
    state = np.array([[0, 0], [1, 0], [1, 1], [0, 1], [1, 0], [0, 0]], dtype=bool)
    changed = [
        replace(one, time_s=one.time_s - 1.0 * a + 0.6 * b)
        for one, (a, b) in zip(found, state, strict=True)
    ]
    first, second = changes_of(changed, state)
    assert first.low95_s <= -1.0 <= first.high95_s < 0.0
    assert 0.0 < second.low95_s <= 0.6 <= second.high95_s
    together = changes_of(changed, state[:, [0, 0]])
    assert [one.high95_s for one in together] == [np.inf, np.inf]


@pytest.mark.parametrize(
    ("layout", "apart"), [("AB", False), ("ABA", True), ("AAB", True), ("AABB", True)]
)
def test_when_the_trend_can_be_told_from_the_change(layout: str, apart: bool) -> None:
    assert come_of(Weekend(layout), 1).told_apart is apart


def test_sessions_without_a_clean_lap_do_not_count_and_a_side_without_has_no_interval() -> None:
    found = sessions(Weekend("AABB"), 7)
    empty = replace(found[0], time_s=np.zeros(0), lap=np.zeros(0))
    (one,) = changes_of([empty, *found[1:]], sides("AABB"))
    assert (one.sessions_before, one.laps_before) == (1, len(found[1]))
    (none,) = changes_of([empty, found[2]], sides("AB"))
    assert np.isnan([none.change_s, none.low95_s]).all()
    assert none.too_few
    few = replace(found[0], time_s=found[0].time_s[:2], lap=found[0].lap[:2])
    (wide,) = changes_of([few, few], sides("AB"))
    assert (wide.low95_s, wide.high95_s) == (-np.inf, np.inf)
