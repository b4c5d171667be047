"""Sessions by circuit, surface and driver."""

from dataclasses import replace
from pathlib import Path

import pytest

from lapwright.errors import LogError
from lapwright.report.weekend.data import CircuitData, Entry, gather_circuits
from lapwright.report.weekend.page import shown_circuit
from lapwright.session import Session
from lapwright.units import Units


def entries(sessions: dict[str, Session]) -> list[Entry]:
    return [
        Entry(one.log.path, Path("a.geojson"), lambda one=one: one)  # type: ignore[misc]
        for one in sessions.values()
    ]


def test_wet_and_dry_and_drying_are_apart(circuit: CircuitData) -> None:
    found = {part.surface: [one.name for one in part.sessions] for part in circuit.fields}
    assert found == {
        "dry": ["friday", "saturday", "sunday", "single"], "wet": ["showers"],
        "changing": ["drying"],
    }  # fmt: skip
    assert [one.number for one in circuit.sessions] == [1, 2, 3, 4, 5, 6]


def test_a_driver_is_one_however_spelled(circuit: CircuitData) -> None:
    dry = circuit.fields[0]
    lower = replace(dry.sessions[2], notes=replace(dry.sessions[2].notes, driver="RUNA"))
    again = replace(dry, sessions=(*dry.sessions[:2], lower))
    assert [len(of) for of in again.drivers.values()] == [2, 1]


def test_best_laps_by_driver_the_quickest_first(
    circuit: CircuitData, sessions: dict[str, Session]
) -> None:
    def best(name: str) -> float:
        session = sessions[name]
        return float(session.row(session.best_lap or 0)["time_s"])

    mine = {"Runa": min(map(best, ("friday", "sunday"))),
            "Ivo": min(map(best, ("saturday", "single")))}  # fmt: skip
    shown = {one.driver: (one.best or (0.0, 0.0))[0] for one in circuit.fields[0].bests}
    assert shown == mine
    assert list(shown.values()) == sorted(shown.values())


def test_drivers_side_by_side_are_the_comparison_of_their_best_laps(
    circuit: CircuitData, sessions: dict[str, Session]
) -> None:
    dry, wet, drying = circuit.fields
    (pair,) = dry.side_by_side
    mine, reference = sessions[pair.mine.name], sessions[pair.reference.name]
    assert pair.reference is dry.bests[0]
    true = mine.compare(mine.best_lap or 0, reference.best_lap, other=reference)
    assert pair.comparison.time_difference_s == pytest.approx(true.time_difference_s)
    assert pair.comparison.time_difference_s > 0.0
    assert wet.side_by_side == drying.side_by_side == ()


def test_first_session_against_the_best_of_the_same_driver(
    circuit: CircuitData, sessions: dict[str, Session]
) -> None:
    # In this weekend the first session was the best one; the other way round it is not.
    assert all(part.first_to_best == () for part in circuit.fields)
    turned = {name: sessions[name] for name in ("sunday", "friday")}
    circuits, _ = gather_circuits(entries(turned), Units())
    (pair,) = circuits[0].fields[0].first_to_best
    assert (pair.mine.name, pair.reference.name) == ("sunday", "friday")
    assert pair.mine.best is not None
    assert pair.reference.best is not None
    apart_s = pair.mine.best[0] - pair.reference.best[0]
    assert pair.comparison.time_difference_s == pytest.approx(apart_s, abs=1e-3)
    assert apart_s > 0.0
    shown = shown_circuit(circuits[0], "c1", Units()).fields[0].own[0]
    assert shown.title == "Runa: sunday against friday"
    assert shown.beside == ()


def test_nothing_is_compared_where_the_surface_changed(circuit: CircuitData) -> None:
    drying = circuit.fields[2]
    assert not drying.comparable
    assert drying.begin == {}
    assert drying.ends("Runa") is None
    assert circuit.fields[0].pace_change("Runa") is not None


def test_a_log_that_fails_leaves_the_others(sessions: dict[str, Session]) -> None:
    def fails() -> Session:
        what = "the log broke off"
        raise LogError(what, Path("late.csv"))

    single = sessions["single"]
    good = Entry(single.log.path, None, lambda: single)
    circuits, failed = gather_circuits([Entry(Path("late.csv"), None, fails), good], Units())
    assert [one.number for one in circuits[0].sessions] == [1]
    assert failed == ("late.csv: the log broke off.",)


def test_another_circuit_is_a_part_of_its_own(sessions: dict[str, Session]) -> None:
    one, other = sessions["single"], sessions["saturday"]
    circuits, _ = gather_circuits(
        [Entry(one.log.path, Path("a.geojson"), lambda: one),
         Entry(other.log.path, Path("b.geojson"), lambda: other)], Units(),
    )  # fmt: skip
    assert [[s.name for s in c.sessions] for c in circuits] == [["single"], ["saturday"]]
    assert all(part.side_by_side == () for c in circuits for part in c.fields)
