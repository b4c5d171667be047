"""What is kept of a session, against the session."""

import numpy as np
import pytest

from lapwright.report.weekend.data import CircuitData
from lapwright.report.weekend.session_facts import QUANTITIES, SessionFacts
from lapwright.session import Session


def facts_of(circuit: CircuitData, name: str) -> SessionFacts:
    return next(one for one in circuit.sessions if one.name == name)


def test_best_lap_and_added_up_sectors(circuit: CircuitData, sessions: dict[str, Session]) -> None:
    for name, session in sessions.items():
        facts = facts_of(circuit, name)
        assert facts.best_lap == session.best_lap
        row = session.row(session.best_lap or 0)
        assert facts.best == (row["time_s"], row["time_sd_s"])
        alone = int(session.laps["representative"].sum()) < 2
        assert facts.added_up == (None if alone else session.theoretical_best)


def test_corners_are_means_of_clean_laps(
    circuit: CircuitData, sessions: dict[str, Session]
) -> None:
    session, facts = sessions["friday"], facts_of(circuit, "friday")
    clean = session.laps.loc[session.laps["representative"], "lap"]
    runs = session.passes[session.passes["lap"].isin(clean)]
    for number, corner in facts.corners.items():
        mine = runs[runs["corner"] == number]
        for name in corner.typical:
            assert corner.typical[name].mean == pytest.approx(float(np.nanmean(mine[name])))
        on_best = mine[mine["lap"] == session.best_lap].iloc[0]
        for name, sd in QUANTITIES.items():
            assert np.array_equal(corner.best[name], (on_best[name], on_best[sd]), equal_nan=True)
    assert set(facts.corners[4].typical) == set(QUANTITIES)


def test_a_session_of_one_lap_has_a_best_lap_and_nothing_typical(circuit: CircuitData) -> None:
    facts = facts_of(circuit, "single")
    assert facts.best is not None
    assert all(not one.typical for one in facts.corners.values())
    assert not np.isfinite(facts.pace.median_s)


def test_the_session_itself_is_let_go(circuit: CircuitData) -> None:
    # What works out more of the evidence would keep log and motion of every session in memory.
    assert all(one.evidence.bars_of is None for one in circuit.sessions)
