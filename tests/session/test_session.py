"""A session is a value: not changed once made, its work done once."""

from dataclasses import replace

import pytest
from worlds import World

from lapwright.notes.weekend_notes import LogNotes
from lapwright.units import Units


@pytest.mark.parametrize("name", ["log", "notes", "units", "opened_with", "repeat_line"])
def test_what_it_was_made_of_is_not_changed(world: World, name: str) -> None:
    with pytest.raises(AttributeError):
        setattr(world.session, name, None)


def test_other_notes_make_another_session(world: World) -> None:
    session = world.session
    noted = session.with_notes(LogNotes(driver="Runa"))
    assert (noted.notes.driver, session.notes.driver) == ("Runa", "")
    assert noted.laps is session.laps
    numbered = session.with_notes(replace(session.notes, first_lap=session.timed_laps[0] + 6))
    assert numbered.timed_laps == [lap + 6 for lap in session.timed_laps]
    assert numbered.trace(numbered.timed_laps[0]).lap == numbered.timed_laps[0]


def test_other_units_change_sentences_only(world: World) -> None:
    other = world.session.with_units(Units("mph"))
    assert (other.units.speed, world.session.units.speed) == ("mph", "km/h")
    assert other.laps is world.session.laps
    assert other.judgement is world.session.judgement_in(Units("mph"))


def test_a_comparison_is_made_once(world: World) -> None:
    a, b = world.session.timed_laps[:2]
    one = world.session.compare(a, b)
    assert world.session.compare(a, b) is one
    assert world.session.compare(a, b, step_m=50.0) is not one
    assert one.passes is one.passes
