"""What is said beside a comparison with the session before: noted, changed, assumed."""

from pathlib import Path

from worlds import World

from lapwright.coaching.tried import Tried, what_was_tried
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.wording.coaching.before_after import ALL_SESSIONS
from lapwright.wording.coaching.session_before import (
    assumptions,
    noted_alone,
    other_conditions,
    remarks_on,
    two_spellings,
)


def test_a_driver_spelt_in_two_ways_is_named(tmp_path: Path) -> None:
    for name in ("friday.csv", "other.csv", "saturday.csv"):
        (tmp_path / name).touch()
    now = tmp_path / "saturday.csv"
    notes = {
        "friday.csv": LogNotes(driver="Runa Tidewel"),
        "other.csv": LogNotes(driver="Ivo Marlen"),
        "saturday.csv": LogNotes(driver="Runa Tidewell"),
    }
    (said,) = two_spellings(now, notes)
    assert '"Runa Tidewell" and "Runa Tidewel" (friday.csv) are taken for two' in said
    assert two_spellings(now, {**notes, "friday.csv": LogNotes(driver="runa tidewell")}) == ()


def test_what_is_noted_is_repeated_where_nothing_can_be_compared(world: World) -> None:
    notes = LogNotes(tried=("corner 1,  line", "softer bar"), changes=("new pads", "less camber"))
    said = noted_alone(world.session.with_notes(notes), "There is none.")
    assert said[:3] == (
        'You noted as tried: "corner 1, line"; "softer bar".',
        "Changed on the car: new pads; less camber.",
        "There is none.",
    )
    assert said[3].startswith("Not understood under 'tried': \"softer bar\".")
    assert noted_alone(world.session.with_notes(LogNotes()), "There is none.") == ()


def test_what_cannot_be_compared_is_named(world: World) -> None:
    session = world.session.with_notes(LogNotes(tried=("corner 1, line", "softer bar")))
    items = (WorthTrying(2, "braking"),)
    tried = what_was_tried(session.notes.tried, items, session.track.corners)
    own, missing, unclear = remarks_on(session, session, tried, ())
    why = "because a session has no clean laps there"
    assert own == f'You noted: "corner 1, line". It cannot be compared, {why}: line at corner 1.'
    assert missing == (
        f"Suggested last time, not noted as tried; it cannot be compared, {why}: braking at "
        "corner 2."
    )
    assert unclear.startswith("Not understood")


def test_new_tyres_stand_beside_a_change_to_the_car(world: World) -> None:
    before = world.session.with_notes(LogNotes(tyres="set 1"))
    session = world.session.with_notes(LogNotes(tyres="set 2", changes=("softer bar",)))
    (said,) = remarks_on(before, session, Tried((), ()), ())
    assert said.startswith("Changed on the car: softer bar. Clean laps: as quick (95 % ")
    assert (
        " Also different: tyres (set 1, then set 2). The laps cannot tell which of these made the "
        f"difference. {ALL_SESSIONS}"
    ) in said


def test_the_same_driver_is_an_assumption_where_one_is_not_noted(world: World) -> None:
    runa, nobody = (world.session.with_notes(LogNotes(driver=n)) for n in ("Runa", ""))
    name = world.session.log.path.name
    assert assumptions(nobody, runa) == (
        f"This assumes the same driver; no driver is noted for {name}.",
    )
    assert assumptions(runa, runa) == ()


def test_wet_and_dry_are_named() -> None:
    said = other_conditions("friday.csv", LogNotes(conditions="wet"), LogNotes(conditions="dry"))
    assert said == (
        'friday.csv was driven in conditions noted as "wet", this session in "dry": the two are '
        "not compared."
    )
