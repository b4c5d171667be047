"""From one session's advice to what came of it in the next, on simulated drivers."""

from dataclasses import replace

import numpy as np
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.coaching.before_after import difference_of_means
from lapwright.coaching.follow_up import what_came_of_it
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
