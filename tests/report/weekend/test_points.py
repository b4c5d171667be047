"""The weekend in a few points."""

from dataclasses import replace

from lapwright.notes.weekend_notes import LogNotes
from lapwright.report.weekend.data import CircuitData
from lapwright.report.weekend.points import driver_begins, pace_line, points
from lapwright.report.weekend.rows import gap_to
from lapwright.units import clock
from lapwright.wording.event import weekend as words


def test_what_was_driven(circuit: CircuitData) -> None:
    timed = sum(len(one.laps) for one in circuit.sessions)
    clean = sum(len(one.clean) for one in circuit.sessions)
    said = points(circuit)[0]
    assert said.startswith("6 sessions at ")
    assert f"{timed} timed laps, {clean} of them clean. Drivers: Runa, Ivo" in said


def test_best_laps_by_surface_with_gaps(circuit: CircuitData) -> None:
    dry = circuit.fields[0]
    said = points(circuit)
    (line,) = [text for text in said if text.startswith("Best lap (dry)")]
    leader, other = dry.bests
    assert leader.best is not None
    assert clock(*leader.best) in line
    _, gap, sd = gap_to(other, leader)
    assert words.gap_in_words(gap, sd) in line
    assert any(text.startswith("Best lap (wet)") for text in said)


def test_bests_that_cannot_be_told_apart_are_said_to_be_so(circuit: CircuitData) -> None:
    dry = circuit.fields[0]
    assert dry.bests[0].best is not None
    time_s, sd_s = dry.bests[0].best
    close = replace(dry.bests[1], best=(time_s + sd_s, sd_s))
    sessions = tuple(close if one is dry.bests[1] else one for one in dry.sessions)
    again = replace(circuit, fields=(replace(dry, sessions=sessions, side_by_side=()),))
    assert "too close to call" in " ".join(points(again))


def test_the_pace_is_that_of_one_driver_on_one_surface(circuit: CircuitData) -> None:
    dry, wet, drying = circuit.fields
    found = dry.pace_change("Runa")
    assert found is not None
    line = pace_line(dry, "Runa")
    assert line.startswith("Runa, friday to sunday: clean laps")
    assert f"{abs(found.change_s):.2f} s" in line
    assert ("could be nothing" in line) == (not found.resolved)
    # The notes have set 1 and set 2.
    assert "other tyres" in line
    assert pace_line(wet, next(iter(wet.drivers))) == pace_line(drying, "Runa") == ""


def test_where_to_begin_or_why_there_is_nothing(circuit: CircuitData) -> None:
    for one in driver_begins(circuit.fields[0]):
        assert bool(one.items) != bool(one.nothing)
    ivo = driver_begins(circuit.fields[0])[1]
    assert ivo.driver == "Ivo"
    assert ivo.nothing[0] == words.NO_FINDING
    assert "at least 6 are needed" in ivo.nothing[1]
    # How many laps it would take.
    assert ivo.known
    assert driver_begins(circuit.fields[2]) == []


def test_a_planted_habit_is_where_to_begin(circuit: CircuitData) -> None:
    (runa, _) = driver_begins(circuit.fields[0])
    assert runa.items[0].corner == 4


def test_without_notes_nobody_is_named(circuit: CircuitData) -> None:
    nameless = replace(circuit.sessions[0], notes=LogNotes())
    again = replace(circuit, fields=(replace(circuit.fields[0], sessions=(nameless,)),))
    said = points(again)
    assert "Driver" not in said[0]
    assert f"lap {nameless.best_lap} of friday" in said[1]
