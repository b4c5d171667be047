"""A session is a value: not changed once made, its work done once."""

from dataclasses import replace

import pytest
from worlds import World

from lapwright.notes.weekend_notes import LogNotes
from lapwright.session import Session


@pytest.mark.parametrize("name", ["log", "notes", "opened_with", "repeat_line"])
def test_what_it_was_made_of_is_not_changed(world: World, name: str) -> None:
    with pytest.raises(AttributeError):
        setattr(world.session, name, None)


def test_other_notes_make_another_session(world: World) -> None:
    session, laps = world.session, world.session.laps
    noted = session.with_notes(LogNotes(driver="Runa"))
    assert (noted.notes.driver, session.notes.driver) == ("Runa", "")
    assert noted.laps is laps
    numbered = session.with_notes(replace(session.notes, first_lap=session.timed_laps[0] + 6))
    assert numbered.timed_laps == [lap + 6 for lap in session.timed_laps]
    assert numbered.trace(numbered.timed_laps[0]).lap == numbered.timed_laps[0]


def test_it_has_no_units(world: World) -> None:
    with pytest.raises(TypeError, match="units"):
        Session(world.log, units="mph")  # type: ignore[call-arg]
    assert not hasattr(world.session, "units")


def test_it_is_judged_once_but_anew_with_other_notes(world: World) -> None:
    session = world.session
    assert session.judgement is session.judgement
    noted = session.with_notes(replace(session.notes, conditions="dry, then rain"))
    assert noted.judgement.nothing in ("conditions", "few_laps")
    assert noted.judgement is not session.judgement


def test_a_comparison_is_made_once(world: World) -> None:
    a, b = world.session.timed_laps[:2]
    one = world.session.compare(a, b)
    assert world.session.compare(a, b) is one
    assert world.session.compare(a, b, step_m=50.0) is not one
    assert one.passes is one.passes
