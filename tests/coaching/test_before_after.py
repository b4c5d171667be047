"""Before and after: means and intervals."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from lap_tables import Weekend, lap_tables
from worlds import World

from lapwright.coaching.before_after import (
    Difference,
    before_after,
    difference_of_means,
    lap_time_change,
)
from lapwright.coaching.car_change.lap_model import changes_of
from lapwright.coaching.car_change.session_laps import from_table
from lapwright.errors import LapError
from lapwright.notes.weekend_notes import LogNotes
from lapwright.numerics.student_t import t_quantile

# B. Efron and R. J. Tibshirani, "An Introduction to the Bootstrap", 1993, table 2.1: survival of
# mice in days.
TREATED = np.array([94.0, 197.0, 16.0, 38.0, 99.0, 141.0, 23.0])
CONTROL = np.array([52.0, 104.0, 146.0, 10.0, 51.0, 30.0, 40.0, 27.0, 46.0])


def test_the_mouse_data() -> None:
    # The same table: means 86.86 and 56.22, difference 30.63 with standard error 28.93.
    change = difference_of_means(CONTROL, TREATED)
    assert round(change.before, 2) == 56.22
    assert round(change.after, 2) == 86.86
    assert change.difference == pytest.approx(30.63, abs=0.006)
    # Satterthwaite's degrees of freedom, by hand from 25.24 and 14.14: 9.65.
    dof = 28.93**4 / (25.24**4 / 6 + 14.14**4 / 8)
    half = 0.5 * (change.high95 - change.low95)
    assert half / t_quantile(0.975, dof) == pytest.approx(28.93, abs=0.01)
    assert not change.resolved


def test_a_bootstrap_agrees_with_the_interval() -> None:
    # Same book, sec. 2: the bootstrap standard error of a mean is sqrt((n - 1) / n) of the usual
    # one; 4000 resamples know it to 1.1 %, so 4 % are more than three sd.
    rng = np.random.default_rng(1)
    means = [rng.choice(TREATED, 7).mean() - rng.choice(CONTROL, 9).mean() for _ in range(4000)]
    plug_in = np.hypot(25.24 * np.sqrt(6 / 7), 14.14 * np.sqrt(8 / 9))
    assert np.std(means) == pytest.approx(plug_in, rel=0.04)


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    # 1500 pairs of sessions of unequal scatter and length; three binomial sd are 0.017.
    rng = np.random.default_rng(2)
    held = [
        (c.low95 <= -0.2 <= c.high95)
        for c in (
            difference_of_means(rng.normal(90.2, 0.5, 6), rng.normal(90.0, 0.2, 10))
            for _ in range(1500)
        )
    ]
    assert np.mean(held) == pytest.approx(0.95, abs=0.017)


def test_what_all_laps_of_a_session_share_widens_the_interval() -> None:
    rng = np.random.default_rng(3)
    a, b = rng.normal(0, 0.01, 20), rng.normal(0, 0.01, 20)
    change = difference_of_means(a, b, 0.03**2, 0.04**2)
    # 1.96 * 0.05 s, to which the scatter adds little.
    assert change.high95 - change.low95 == pytest.approx(2 * 1.96 * 0.05, rel=0.02)


def test_one_lap_has_no_interval_and_none_no_difference() -> None:
    one = difference_of_means(np.array([90.0]), np.array([91.0, 92.0]))
    assert (one.low95, one.high95) == (-np.inf, np.inf)
    none = difference_of_means(np.array([]), np.array([91.0, 92.0]))
    assert np.isnan(none.difference)


def _laps(times: list[float]) -> pd.DataFrame:
    return pd.DataFrame({"time_s": times, "representative": [True] * len(times)})


@pytest.mark.parametrize(
    ("before", "after", "few"), [(3, 9, True), (9, 3, True), (4, 9, False), (9, 4, False)]
)
def test_fewer_than_four_laps_on_either_side_are_too_few(
    before: int, after: int, few: bool
) -> None:
    assert Difference(90.0, 89.0, -1.0, -1.1, -0.9, before, after).too_few == few


@pytest.mark.parametrize(
    ("low", "high", "resolved"),
    [(0.1, 0.5, True), (-0.5, -0.1, True), (-0.1, 0.5, False), (-0.5, 0.1, False)],
)
def test_what_leaves_out_zero_is_resolved(low: float, high: float, resolved: bool) -> None:
    assert Difference(90.0, 90.0, 0.0, low, high, 9, 9).resolved == resolved


def test_without_any_scatter_what_is_shared_is_all_there_is() -> None:
    # Four laps alike on each side: no scatter, an error of 0.03 and of 0.04 s: 1.96 * 0.05 s.
    same = difference_of_means(np.full(4, 90.0), np.full(4, 89.0), 0.03**2, 0.04**2)
    assert (same.low95, same.high95) == pytest.approx((-1.098, -0.902), abs=1e-4)
    # A variance below zero, which rounding can give, is none.
    none = difference_of_means(np.full(4, 90.0), np.full(4, 89.0), -1e-12, 0.0)
    assert (none.low95, none.high95) == (-1.0, -1.0)


def test_what_is_resolved_and_what_rests_on_few_laps() -> None:
    change = difference_of_means(np.array([90.0, 90.2, 90.1]), np.array([89.0, 89.1, 89.2, 89.3]))
    assert (change.too_few, change.resolved) == (True, True)
    same = np.array([90.0, 90.4, 90.1, 90.3, 90.2])
    change = difference_of_means(same, same + 0.01)
    assert (change.too_few, change.resolved) == (False, False)


def test_the_old_way_warns_and_takes_tables_and_sessions(world: World) -> None:
    laps = _laps([90.0, 90.2, 90.1, 120.0])
    laps.loc[3, "representative"] = False
    with pytest.warns(DeprecationWarning, match=r"use before_after. It goes with version 0\.3"):
        assert lap_time_change(laps, laps).before == pytest.approx(90.1)
    with pytest.warns(DeprecationWarning, match="use before_after"):
        assert lap_time_change(world.session, world.session).difference == 0.0
    with (
        pytest.warns(DeprecationWarning, match="use before_after"),
        pytest.raises(LapError, match="before is a str; give a session or its lap table"),
    ):
        lap_time_change("friday.csv", laps)  # type: ignore[arg-type]


def _weekend(layout: str) -> list[pd.DataFrame]:
    return [table for table, _ in lap_tables(Weekend(layout), 1)]


def test_sessions_lists_of_them_and_a_table_of_several_say_the_same() -> None:
    a, b, c = _weekend("ABA")
    change = before_after([a, c], b)
    # In order of their dates, whichever way they were given.
    assert before_after((c, a), [b]) == change
    both = pd.concat([a.assign(session="a"), c.assign(session="c")])
    assert before_after(both, b) == change
    assert (change.sessions_before, change.sessions_after) == (2, 1)
    laps = [from_table(one) for one in (a, b, c)]
    assert change == changes_of(laps, np.array([[False], [True], [False]]))[0]


def test_without_dates_those_before_come_first() -> None:
    a, b, c = (table.drop(columns="start_utc") for table in _weekend("ABB"))
    laps = [from_table(one) for one in (a, c, b)]
    asked = before_after(a, [c, b])
    assert asked == changes_of(laps, np.array([[False], [True], [True]]))[0]


def test_sessions_on_one_path_are_compared_corner_by_corner(world: World) -> None:
    same = before_after(world.session, world.session)
    assert [one.corner for one in same.corners] == [c.order for c in world.session.track.corners]
    assert same.change_s == pytest.approx(0.0, abs=1e-9)
    assert [one.change_s for one in same.corners] == pytest.approx([0.0] * len(same.corners))
    # A table has no corners.
    assert before_after(world.session, world.session.laps).corners == ()


def test_the_lap_of_each_session_in_one_table_is_of_its_own_circuit(
    world: World, pit_world: World
) -> None:
    # Each has made its own path from its own log: corners begin elsewhere.
    assert before_after(world.session, pit_world.session).corners == ()


def test_wet_and_dry_are_refused(world: World) -> None:
    dry, wet = (world.session.with_notes(LogNotes(conditions=c)) for c in ("dry", "light rain"))
    with pytest.raises(LapError, match='"dry" and "light rain" are not compared'):
        before_after(dry, wet)
    tables = [
        one.assign(conditions=c) for one, c in zip(_weekend("AB"), ("wet", "dry"), strict=True)
    ]
    with pytest.raises(LapError, match="are not compared"):
        before_after(*tables)
    drying = world.session.with_notes(LogNotes(conditions="drying"))
    with pytest.raises(LapError, match='driven in "drying" are not compared'):
        before_after(drying, drying)
    assert before_after(dry, world.session).laps_before > 0
    # What is not noted may have been dry.
    with pytest.raises(LapError, match='driven in "light rain", of others no conditions are noted'):
        before_after(wet, world.session)


@pytest.mark.parametrize("wrong", [3, "friday.csv", None, [[1.0, 2.0]]])
def test_what_is_no_session_is_one_clear_error(wrong: object) -> None:
    laps = _laps([90.0, 90.2])
    with pytest.raises(TypeError, match=r"after is of kind .*; give sessions or their lap tables"):
        before_after(laps, wrong)  # type: ignore[arg-type]
    with pytest.raises(LapError, match="nothing before the change"):
        before_after([], laps)
    with pytest.raises(ValueError, match="settle_s must be positive, not 0"):
        before_after(laps, laps, settle_s=0.0)


def test_another_circuit_is_refused(world: World) -> None:
    other = SimpleNamespace(
        laps=world.session.laps, trace=world.session.trace, notes=world.session.notes,
        log=world.session.log, clean_laps=world.session.clean_laps,
        track=SimpleNamespace(name="Elsewhere", length_m=2000.0, corners=(), path=None),
    )  # fmt: skip
    with pytest.raises(LapError, match=r"Elsewhere \(2000 m\), cannot be compared"):
        before_after(world.session, other)  # type: ignore[arg-type]


def test_laps_all_the_same_to_the_tenth_are_not_taken_for_certain() -> None:
    change = before_after(_laps([90.0] * 6), _laps([89.9] * 6))
    assert change.change_s == pytest.approx(-0.1, abs=1e-6)
    # Two sessions differ by some hundredths by themselves.
    assert change.high95_s - change.low95_s > 0.15
