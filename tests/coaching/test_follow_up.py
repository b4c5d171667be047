"""From one session's advice to what came of it in the next, on simulated drivers."""

from dataclasses import replace

import numpy as np
import pytest
from steady_sessions import LAP_S, Steady
from straight_motion import AHEAD, LEFT
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.coaching.before_after import difference_of_means
from lapwright.coaching.follow_up import FollowUp, what_came_of_it
from lapwright.corners.incidents import TROUBLE
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying

HABITS = (sim.BrakeEarly(1), sim.SlowMinimum(4), sim.LateThrottle(10))


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Twelve laps with three planted habits."""
    driver = sim.Driver(habits=HABITS)
    return make_world(tmp_path_factory.mktemp("before"), sim.Plan((12,)), driver=driver, seed=3)


@pytest.fixture(scope="module")
def after(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Eight laps of the same driver without the first habit, and a spin at corner 6."""
    driver = sim.Driver(habits=HABITS[1:])
    plan = sim.Plan((8,), events=(sim.Spin(3, corner=6),))
    return make_world(tmp_path_factory.mktemp("after"), plan, driver=driver, seed=7)


def test_the_planted_habits_are_what_is_worth_trying(before: World) -> None:
    items = before.session.worth_trying
    assert {(i.corner, i.code) for i in items} == {
        (1, "braking"), (4, "minimum_speed"), (10, "throttle")
    }  # fmt: skip
    truth = before.run.passes.set_index(["corner", "lap"])["habits"]
    for item in items:
        acted = {lap for lap, habits in truth[item.corner].items() if habits}
        # Laps are numbered alike in truth and session: out lap 0, then 1 to 12.  A pass between
        # the two ways by scatter may be counted with either.
        wrong = (acted ^ set(item.usual_laps)) & {*item.usual_laps, *item.better_laps}
        assert len(wrong) <= 2
        assert item.time_at_stake_sd_s > 0.0


def test_every_number_of_an_item_was_driven(before: World) -> None:
    passes = before.session.evidence.passes
    columns = {
        "braking": "braking_m", "minimum_speed": "min_speed_mps", "throttle": "throttle_station_m"
    }  # fmt: skip
    for item in before.session.worth_trying:
        own = passes.loc[passes["corner"] == item.corner, columns[item.code]]
        assert own.min() <= item.lowest <= item.better <= item.highest <= own.max()
        assert own.min() <= item.usual <= own.max()


def test_what_came_of_it(before: World, after: World) -> None:
    items = before.session.worth_trying
    came = {f.item.code: f for f in what_came_of_it(before.session, after.session, items)}
    braking, speed = came["braking"], came["minimum_speed"]
    # The first habit is gone: two passes in three gain what it cost.
    assert braking.against_rest.high95 < 0.0
    assert braking.feature.difference > 3.0
    # The other is still there: no more than its own interval.
    assert speed.against_rest.low95 < 0.0 < speed.against_rest.high95
    # Nothing is noted as tried, so nobody is told that they tried it.
    assert not braking.noted
    # A feature's interval holds where the two sessions lie on the track.
    rows = [s.bare_passes[s.bare_passes["corner"] == 1] for s in (before.session, after.session)]
    scatter = difference_of_means(*(r["brake_station_m"].dropna().to_numpy() for r in rows))
    placed = max(float(np.linalg.norm(s.session.placing.cov_m2)) for s in (before, after))
    assert (braking.feature.high95 - braking.feature.low95 > scatter.high95 - scatter.low95) == (
        placed > 0.0
    )


def test_what_is_noted_is_kept_as_written(before: World, after: World) -> None:
    session, items = after.session, before.session.worth_trying
    note = "T1: brake earlier,  to keep the rear in"
    came = what_came_of_it(before.session, session.with_notes(LogNotes(tried=(note,))), items)
    assert {f.item.corner: f.noted for f in came} == {1: True, 4: False, 10: False}
    entries = {f.item.corner: f.entries for f in came}
    assert entries == {1: ("T1: brake earlier, to keep the rear in",), 4: (), 10: ()}


def test_nothing_tried_nothing_came(before: World, after: World) -> None:
    assert what_came_of_it(before.session, after.session, ()) == ()
    nowhere = [WorthTrying(99, "line")]
    assert what_came_of_it(before.session, after.session, nowhere) == ()


def test_a_corner_with_a_spin_is_held_back(after: World) -> None:
    flags = {f for flags in after.session.laps["flags"] for f in flags}
    assert flags & TROUBLE
    assert 6 in after.session.judgement.held_back
    assert 6 not in {i.corner for i in after.session.worth_trying}


def test_conditions_that_changed_silence_it(before: World) -> None:
    notes = replace(before.session.notes, conditions="dry, then rain")
    session = before.session.with_notes(notes)
    assert before.session.worth_trying != ()
    assert session.worth_trying == ()


def test_grip_is_a_share_of_the_drivers_own(before: World) -> None:
    corners = before.session.grip.corners
    assert len(corners) == len(before.session.corners)
    middle = corners["grip_middle"].dropna()
    # The envelope is what is reached on one moment in twenty; nobody uses twice that on average.
    assert middle.between(0.3, 1.2).all()
    # LIGHT_CAR corners at 0.97 of its speed, so at 0.94 of its lateral acceleration.
    reached = before.session.grip.envelope.at(np.zeros(1), np.ones(1), np.array([20.0]))[0]
    assert reached == pytest.approx(0.97**2 * sim.LIGHT_CAR.lateral_mps2, rel=0.08)


# --- worked out by hand -------------------------------------------------------------------------

# Time lost in corner 2 on each lap: 0.8 s on average before, 0.3 s after, and what the passes did.
LOST_BEFORE, LOST_AFTER = [0.7, 0.9, 0.8, 0.8, 0.6, 1.0], [0.3, 0.2, 0.4, 0.3, 0.25, 0.35]
# Against the rest of the lap, from the middle of all twelve (0.5 s). On the first laps corner 1
# does not count, because the car came to it slowly: the middle of the two others takes out half.
REST = (-0.1 - 0.3 - 0.1 - 0.2 - 0.25 - 0.15) / 6 - (0.1 + 0.4 + 0.3 + 0.3 + 0.1 + 0.5) / 6
DID = {
    "braking": ("brake_station_m", [1330.0, 1332.0, 1331.0, 1329.0, 1330.0, 1334.0], 7.0),
    "minimum_speed": ("min_speed_mps", [15.0, 15.2, 15.1, 14.9, 15.0, 15.4], 0.8),
    "throttle": ("throttle_station_m", [1470.0, 1472.0, 1471.0, 1469.0, 1470.0, 1474.0], -5.0),
    "line": ("apex_offset_m", [0.1, 0.3, 0.2, 0.0, 0.1, 0.5], 0.9),
}


def session_of(lost: list[float], after: float = 0.0, **more: object) -> Steady:
    """Six laps; ``after`` is the share of each change of what was done in the corner."""
    values = {(2, name): np.array(v) + after * by for name, v, by in DID.values()}
    lost_s = {(lap, 2): s for lap, s in enumerate(lost, start=1)}
    return Steady(6, lost_s, values=values, **more)  # type: ignore[arg-type]


def came_of(before: Steady, after: Steady, code: str = "braking", corner: int = 2) -> FollowUp:
    (came,) = what_came_of_it(before, after, [WorthTrying(corner, code)])
    return came


def test_time_and_feature_are_now_minus_then() -> None:
    before, after = session_of(LOST_BEFORE), session_of(LOST_AFTER, 1.0)
    for code, (name, values, by) in DID.items():
        came = came_of(before, after, code)
        assert came.time.difference == pytest.approx(-0.5), code
        assert came.time.after - came.time.before == pytest.approx(-0.5)
        assert (came.time.count_before, came.time.count_after) == (6, 6)
        assert came.against_rest.difference == pytest.approx(REST, abs=1e-3)
        assert came.feature.before == pytest.approx(np.mean(values)), name
        assert came.feature.difference == pytest.approx(by), name


def test_a_session_slower_everywhere_did_not_lose_it_in_the_corner() -> None:
    # 2 % slower all round, and half a second quicker in corner 2.
    came = came_of(session_of(LOST_BEFORE), session_of(LOST_AFTER, pace=1.02))
    span = came.time.before - 0.8
    assert came.time.difference == pytest.approx(1.02 * (span + 0.3) - span - 0.8)
    assert came.time.difference > -0.2
    # What is left is the half second, at the middle of both paces.
    assert came.against_rest.difference == pytest.approx(1.01 * REST, abs=2e-3)
    # In corner 1 nothing happened at all.
    rest = came_of(session_of(LOST_BEFORE), session_of(LOST_AFTER, pace=1.02), corner=1)
    assert rest.time.difference == pytest.approx(0.02 * rest.time.before)
    assert rest.against_rest.difference == pytest.approx(0.0, abs=1e-9)


def half_width(change: "object") -> float:
    return 0.5 * (change.high95 - change.low95)  # type: ignore[attr-defined]


def test_what_the_times_of_a_session_share_is_in_the_interval_and_scatter_only_once() -> None:
    # A clock good to 4 in 1000 over the span: common to all passes of a session, so 1.96 times it
    # for each side, beside the scatter.  Each pass's own error is in the scatter already.
    bare = came_of(session_of(LOST_BEFORE), session_of(LOST_AFTER))
    clocked = came_of(
        session_of(LOST_BEFORE, clock_rate_sd=0.004), session_of(LOST_AFTER, clock_rate_sd=0.003)
    )
    spans = bare.time.before, bare.time.after
    # Between different passes, so the mean of products; the spans differ by 0.2 s of 45 s.
    common = 1.96 * np.hypot(0.004 * spans[0], 0.003 * spans[1])
    for name in ("time", "against_rest"):
        wide, narrow = (half_width(getattr(x, name)) for x in (clocked, bare))
        assert np.sqrt(wide**2 - narrow**2) == pytest.approx(common, rel=1e-3), name
    scatter = difference_of_means(np.array(LOST_BEFORE), np.array(LOST_AFTER))
    assert half_width(bare.time) == pytest.approx(half_width(scatter), rel=1e-6)


def test_one_pass_has_the_error_of_its_own() -> None:
    lone = session_of(LOST_BEFORE, not_clean=(2, 3, 4, 5, 6))
    came = came_of(lone, session_of(LOST_AFTER))
    assert came.time.count_before == 1
    assert half_width(came.time) == np.inf


@pytest.mark.parametrize(
    ("code", "shared_m"),
    # Where a session lies along the track is in a braking or throttle point; across, in a line;
    # neither is in a speed.
    [("braking", 3.0), ("throttle", 3.0), ("line", 0.5), ("minimum_speed", 0.0)],
)
def test_a_place_along_is_as_sure_as_the_sessions_lie_along_and_a_line_across(
    code: str, shared_m: float
) -> None:
    # 3 m along the way and 0.5 m across it are unsure, before and after.
    cov = 3.0**2 * np.outer(AHEAD, AHEAD) + 0.5**2 * np.outer(LEFT, LEFT)
    before, after = session_of(LOST_BEFORE), session_of(LOST_AFTER, 1.0)
    sure = came_of(before, after, code).feature
    placed = came_of(before.with_placing(cov), after.with_placing(cov), code).feature
    added = np.sqrt(half_width(placed) ** 2 - half_width(sure) ** 2)
    # 1.96 sd of the difference of two.
    assert added == pytest.approx(1.96 * np.sqrt(2.0) * shared_m, rel=1e-3, abs=1e-6)
    # Of one session it is that session's alone.
    one = came_of(before.with_placing(cov), after, code).feature
    added = np.sqrt(half_width(one) ** 2 - half_width(sure) ** 2)
    assert added == pytest.approx(1.96 * shared_m, rel=1e-3, abs=1e-6)


def test_both_sessions_are_timed_from_the_earliest_braking_of_either() -> None:
    # Usually the span begins 10 m before the earliest tenth of both sessions' brakings; braking at
    # 1100 m in one session lets it begin so much earlier in both, at 20 m/s.
    before, after = session_of(LOST_BEFORE), session_of(LOST_AFTER)
    usual = came_of(before, after).time
    braked_m = next(values for name, values, _ in DID.values() if name == "brake_station_m")
    earlier_s = (np.quantile(2 * list(braked_m), 0.1) - 1100.0) / 20.0
    braking = {(2, "brake_station_m"): np.full(6, 1100.0)}
    for one, other in (
        (before, replace(after, values=braking)), (replace(before, values=braking), after)
    ):  # fmt: skip
        came = came_of(one, other).time
        assert came.difference == pytest.approx(-0.5)
        assert came.before == pytest.approx(usual.before + earlier_s)
        assert came.after == pytest.approx(usual.after + earlier_s)


def test_passes_of_unclean_laps_are_not_compared() -> None:
    # Lap 3 of the second session lost ten seconds and is not clean.
    spoilt = [*LOST_AFTER[:2], 10.0, *LOST_AFTER[3:]]
    came = came_of(session_of(LOST_BEFORE), session_of(spoilt, not_clean=(3,)))
    rest = [s for k, s in enumerate(LOST_AFTER) if k != 2]
    assert came.time.count_after == 5
    assert came.time.difference == pytest.approx(np.mean(rest) - 0.8)


def test_without_a_clean_pass_on_one_side_nothing_is_said() -> None:
    before, none = session_of(LOST_BEFORE), session_of(LOST_AFTER, not_clean=(1, 2, 3, 4, 5, 6))
    assert what_came_of_it(before, none, [WorthTrying(2, "braking")]) == ()
    assert what_came_of_it(none, before, [WorthTrying(2, "braking")]) == ()


def test_a_lap_takes_what_it_is_made_of() -> None:
    # The two other corners' spans and this one's are a lap: a check on the sessions themselves.
    trace = session_of(LOST_BEFORE).trace(2)
    assert trace.end_s - trace.start_s == pytest.approx(LAP_S + 0.9)
