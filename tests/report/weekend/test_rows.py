"""Tables of a weekend page, against what was gathered."""

import math

import pytest

from lapwright.coaching.before_after import difference_of_means
from lapwright.report.numbers import clock_with_sd
from lapwright.report.weekend.data import CircuitData
from lapwright.report.weekend.rows import (
    changes_shown,
    corner_heads,
    corner_rows,
    gap_to,
    lap_rows,
    session_heads,
    session_rows,
)
from lapwright.report.weekend.session_facts import QUANTITIES
from lapwright.units import Units

KMH = Units()


def test_a_row_per_session_in_order(circuit: CircuitData) -> None:
    rows = session_rows(circuit)
    assert [row.number for row in rows] == [1, 2, 3, 4, 5, 6]
    for row, one in zip(rows, circuit.sessions, strict=True):
        assert len(row.cells) == len(session_heads())
        assert one.best is not None
        assert row.cells[0] == clock_with_sd(*one.best)
        assert row.cells[-2:] == (str(len(one.laps)), str(len(one.clean)))


def test_one_best_per_surface_and_none_where_it_changed(circuit: CircuitData) -> None:
    rows = {row.name: row for row in session_rows(circuit)}
    leader = circuit.fields[0].bests[0].name
    assert {name for name, row in rows.items() if row.role == "best"} == {leader, "showers"}
    assert rows["drying"].cells[1] == "–"


def test_the_gap_is_the_difference_with_both_bars(circuit: CircuitData) -> None:
    one, leader = circuit.fields[0].sessions[0], circuit.fields[0].bests[0]
    assert one.best is not None
    assert leader.best is not None
    _, gap, sd = gap_to(one, leader)
    assert gap == one.best[0] - leader.best[0]
    assert sd == pytest.approx(math.hypot(one.best[1], leader.best[1]))


def test_a_corner_over_the_sessions(circuit: CircuitData) -> None:
    dry = circuit.fields[0]
    rows = corner_rows(dry, 4, KMH)
    assert [row.lead for row in rows] == ["friday", "saturday", "sunday", "single", "change"]
    assert [row.driver for row in rows] == ["Runa", "Ivo", "Runa", "Ivo", "Runa"]
    friday = dry.sessions[0].corners[4].typical["min_speed_mps"]
    shown = float(rows[0].cells[2][0].split(" ")[0])
    assert shown == pytest.approx(friday.mean * 3.6, abs=0.06)
    # Of a single lap nothing is typical; what it did on that lap is.
    assert rows[3].cells[2][0] == "–"
    assert rows[3].cells[3][0] != "–"
    assert len(corner_heads(KMH)) == len(QUANTITIES)


def test_the_change_is_that_of_the_means_and_pale_where_it_may_be_none(
    circuit: CircuitData,
) -> None:
    first, last = (one.corners[4].typical for one in circuit.fields[0].ends("Runa") or ())
    row = corner_rows(circuit.fields[0], 4, KMH)[-1]
    for (text, role), name in zip(row.cells, QUANTITIES, strict=True):
        a, b = first[name], last[name]
        true = difference_of_means(a.values, b.values, a.common_sd**2, b.common_sd**2)
        factor = 3.6 if name == "min_speed_mps" else 1.0
        shown = [float(t.strip("()").replace("−", "-")) for t in text.split(" ") if t != "to"]
        sides = [v * factor for v in (true.difference, true.low95, true.high95)]
        assert shown == pytest.approx(sides, abs=0.051)
        assert role == ("" if true.resolved else "equal")


def test_no_change_across_surfaces_or_of_a_drying_track(circuit: CircuitData) -> None:
    _, wet, drying = circuit.fields
    assert [row.role for part in (wet, drying) for row in corner_rows(part, 4, KMH)] == ["", ""]
    assert changes_shown(wet) == changes_shown(drying) == 0
    rows = [corner_rows(circuit.fields[0], n, KMH) for n in range(1, 11)]
    said = sum(cell[0] != "–" for row in rows for cell in row[-1].cells if row[-1].role)
    assert changes_shown(circuit.fields[0]) == said > 20


def test_every_timed_lap_is_in_the_table(circuit: CircuitData) -> None:
    dry = circuit.fields[0]
    rows = lap_rows(dry)
    assert len(rows) == sum(len(one.laps) for one in dry.sessions)
    first = dry.sessions[0]
    lap = first.laps.iloc[1]
    time = clock_with_sd(float(lap["time_s"]), float(lap["time_sd_s"]))
    assert rows[1][:3] == ("1 friday", str(lap["lap"]), time)
    aside = sum(row[3].startswith("set aside") for row in rows)
    assert aside == sum(len(one.laps) - len(one.clean) for one in dry.sessions)
