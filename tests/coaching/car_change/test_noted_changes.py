"""Changes followed through the notes of a weekend: who, on what, and never wet against dry."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from lap_tables import Weekend, lap_tables

from lapwright.coaching.car_change.lap_model import changes_of
from lapwright.coaching.car_change.noted_changes import Driven, noted_changes
from lapwright.coaching.car_change.session_laps import from_table
from lapwright.notes.weekend_notes import LogNotes


def driven(layout: str, *notes: LogNotes, seed: int = 1) -> list[Driven]:
    tables = lap_tables(Weekend(layout), seed)
    return [
        Driven(from_table(table, f"s{k}"), note, "Wren Hollow")
        for k, ((table, _), note) in enumerate(zip(tables, notes, strict=True))
    ]


def note(*changes: str, **more: str) -> LogNotes:
    return LogNotes(driver=more.pop("driver", "Runa"), changes=changes, **more)


def test_a_change_and_going_back_take_in_all_sessions() -> None:
    found = driven("AABBA", note(), note(), note("softer bar"), note(), note("back"))
    (change,), unclear = noted_changes(found)
    assert (change.entries, change.session, unclear) == (("softer bar",), "s2", ())
    assert (change.before, change.after) == (("s0", "s1", "s4"), ("s2", "s3"))
    on_car = np.array([[0], [0], [1], [1], [0]], dtype=bool)
    assert change.result == changes_of([one.laps for one in found], on_car)[0]


def test_dates_decide_the_order_where_all_have_one() -> None:
    found = driven("AABB", note(), note(), note("softer bar"), note())
    (change,), _ = noted_changes(found[::-1])
    assert (change.before, change.after) == (("s0", "s1"), ("s2", "s3"))
    undated = [replace(one, laps=replace(one.laps, start_utc=None)) for one in found[::-1]]
    # Now the order of the notes counts: s3, s2, s1, s0.
    (change,), _ = noted_changes(undated)
    assert (change.before, change.after) == (("s3",), ("s2", "s1", "s0"))


def test_wet_and_dry_are_never_put_together() -> None:
    dry, wet = {"conditions": "dry"}, {"conditions": "heavy rain"}
    found = driven("AABB", note(**dry), note(**wet), note("softer bar", **wet), note(**dry))
    changes, _ = noted_changes(found)
    pairs = {(one.before, one.after) for one in changes}
    assert pairs == {(("s0",), ("s3",)), (("s1",), ("s2",))}
    # What is not noted could be either.
    found = driven("AABB", note(**dry), note(**wet), note(), note("softer bar", **dry))
    ((change,), _) = noted_changes(found)
    assert (change.before, change.after) == (("s0",), ("s3",))
    found = driven("AAB", note(**wet), note(), note("softer bar"))
    ((change,), _) = noted_changes(found)
    assert (change.before, change.after) == (("s1",), ("s2",))
    found = driven("AAB", note(**dry), note(), note("softer bar"))
    ((change,), _) = noted_changes(found)
    assert (change.before, change.after) == (("s0", "s1"), ("s2",))


@pytest.mark.parametrize(("conditions", "why"), [("rain", "other_surface"), ("drying", "changing")])
def test_a_change_for_another_surface_is_not_compared(conditions: str, why: str) -> None:
    found = driven("AB", note(conditions="dry"), note("softer bar", conditions=conditions))
    (change,), _ = noted_changes(found)
    assert (change.result, change.why_not, change.session) == (None, why, "s1")


def test_a_change_before_the_first_session_has_nothing_to_be_compared_with() -> None:
    (change,), _ = noted_changes(driven("BB", note("softer bar"), note()))
    assert (change.result, change.why_not) == (None, "no_other_side")


def test_two_drivers_of_one_car_are_asked_apart() -> None:
    car = {"car": "Brackel Wisp"}
    found = driven(
        "AABB", note(**car), note(driver="Ivo", **car), note("softer bar", **car),
        note(driver="ivo", **car),
    )  # fmt: skip
    changes, _ = noted_changes(found)
    # Changed before Runa's session, and on the car in Ivo's.
    assert [(one.driver, one.before, one.after) for one in changes] == [
        ("Runa", ("s0",), ("s2",)), ("ivo", ("s1",), ("s3",)),
    ]  # fmt: skip
    apart = [replace(one, notes=replace(one.notes, car="")) for one in found]
    assert [one.driver for one in noted_changes(apart)[0]] == ["Runa"]


def test_changes_made_together_are_one_and_those_made_apart_are_not() -> None:
    (one,), _ = noted_changes(driven("AB", note(), note("bar", "pressures")))
    assert one.entries == ("bar", "pressures")
    found = driven("ABBBB", note(), note("bar"), note("springs"), note("back: bar"), note())
    changes, _ = noted_changes(found)
    assert [c.entries for c in changes] == [("bar",), ("springs",)]
    assert all(c.result is not None and np.isfinite(c.result.low95_s) for c in changes)


def test_changes_that_the_laps_cannot_separate_say_so() -> None:
    # Bar off as the springs go on: one is the other's opposite.
    found = driven("BB", note("bar"), note("back: bar", "springs"))
    changes, _ = noted_changes(found)
    assert {c.why_not for c in changes} == {"not_apart"}


def test_another_weekend_is_not_taken_in() -> None:
    found = driven("AAB", note(), note(), note("softer bar"))
    early = found[0].laps.start_utc
    assert early is not None
    found[0] = replace(
        found[0], laps=replace(found[0].laps, start_utc=early - pd.Timedelta(days=8))
    )
    (change,), _ = noted_changes(found)
    assert change.before == ("s1",)


def test_other_tyres_stand_beside_it() -> None:
    found = driven("AB", note(tyres="set 1"), note("softer bar", tyres="set 2"))
    assert noted_changes(found)[0][0].tyres == ("set 1", "set 2")
    found = driven("AB", note(tyres="Set 1"), note("softer bar", tyres="set 1"))
    assert noted_changes(found)[0][0].tyres == ()


def test_what_is_not_understood_is_named_with_its_session() -> None:
    changes, unclear = noted_changes(driven("AB", note(), note("back: wing")))
    assert (changes, unclear) == ((), (("s1", "back: wing"),))
