"""Where to begin next time."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from lapwright.coaching.evidence import Evidence
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.report.weekend.begin_next import where_to_begin
from lapwright.report.weekend.data import CircuitData
from lapwright.report.weekend.session_facts import SessionFacts

SLOW, FAST = 20.0, 22.0
USUAL, BETTER = (1, 2, 3, 4, 5), (6, 7, 8, 9)


def item(corner: int = 4, stake_s: float = 0.2) -> WorthTryingInWords:
    return WorthTryingInWords(
        corner, "minimum_speed", stake_s, 0.04, usual=SLOW, better=FAST, better_laps=BETTER,
        usual_laps=USUAL, station_m=1.0, lat_deg=-43.0, lon_deg=144.0, text=f"Corner {corner}.",
    )  # fmt: skip


def session(
    like: SessionFacts, number: int, fast_laps: int, *items: WorthTryingInWords,
    gain_s: float = 0.2, tyres: str = "", laps: int = 9,
) -> SessionFacts:  # fmt: skip
    """Laps of one corner, the last ones fast, each of those so much quicker."""
    fast = np.arange(laps) >= laps - fast_laps
    scatter = 0.01 * np.array([(-1.0) ** k for k in range(laps)])
    rows = [
        pd.DataFrame({
            "lap": np.arange(1, laps + 1), "corner": corner,
            "min_speed_mps": np.where(fast, FAST, SLOW) + scatter,
            "span_excess_s": np.where(fast, -gain_s, 0.0) + scatter,
        })
        for corner in (4, 7)
    ]  # fmt: skip
    passes = pd.concat(rows, ignore_index=True)
    cov = np.eye(len(passes)) * 1e-4
    evidence = Evidence(passes, {"span": cov, "run_in": cov, "run_out": cov}, pd.DataFrame())
    notes = LogNotes(driver="Runa", conditions="dry", tyres=tyres)
    return replace(like, number=number, evidence=evidence, items=items, notes=notes)


@pytest.fixture
def like(circuit: CircuitData) -> SessionFacts:
    return circuit.sessions[0]


def test_the_most_time_comes_first_and_three_at_most(like: SessionFacts) -> None:
    items = (item(4, 0.1), item(7, 0.3))
    found = where_to_begin([session(like, 1, 4, *items)])
    assert [one.item.corner for one in found] == [7, 4]
    assert all(one.elsewhere == () and one.together is None for one in found)
    many = [replace(item(), corner=c) for c in (4, 7)] + [
        replace(item(), corner=c, code="throttle", better_laps=()) for c in (4, 7)
    ]
    assert len(where_to_begin([session(like, 1, 4, *many)])) == 3


def test_another_session_that_shows_it_too_counts(like: SessionFacts) -> None:
    first, second = session(like, 1, 4, item()), session(like, 2, 4, gain_s=0.1)
    (one,) = where_to_begin([first, second])
    assert [e.session.number for e in one.elsewhere] == [2]
    assert one.elsewhere[0].seen.quicker_s == pytest.approx(0.1, abs=0.02)
    assert one.together is not None
    assert 0.1 < one.together.value < 0.2
    assert one.worth_s == one.together.value
    assert not one.done


def test_other_tyres_stand_beside_and_are_not_put_together(like: SessionFacts) -> None:
    first = session(like, 1, 4, item(), tyres="set 1")
    (one,) = where_to_begin([first, session(like, 2, 4, tyres="set 2")])
    assert one.elsewhere[0].differs == ("tyres",)
    assert one.together is None


def test_what_another_session_speaks_against_does_not_stand(like: SessionFacts) -> None:
    against = [session(like, n, 4, gain_s=-0.2) for n in (2, 3)]
    found = where_to_begin([session(like, 1, 4, item(4, 0.5), item(7, 0.1)), *against])
    assert all(not one.stands for one in found)


def test_what_the_last_session_drives_already_comes_last(like: SessionFacts) -> None:
    first = session(like, 1, 4, item())
    (one,) = where_to_begin([first, session(like, 2, 9)])
    assert one.done
    assert one.last_ways is not None
    assert len(one.last_ways[0]) == 9
    # A quarter of the laps the usual way, and more than that.
    assert where_to_begin([first, session(like, 2, 7)])[0].done
    assert not where_to_begin([first, session(like, 2, 6)])[0].done
    # The session that found it cannot say that it is done.
    (one,) = where_to_begin([first])
    assert one.last_ways is None
    assert not one.done


def test_nothing_found_is_nothing_to_begin_with(like: SessionFacts) -> None:
    assert where_to_begin([session(like, 1, 4)]) == ()
