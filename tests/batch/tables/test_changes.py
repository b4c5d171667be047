"""What came of changes, from kept results to a table."""

from pathlib import Path

import numpy as np
from lap_tables import Weekend, lap_tables

from lapwright.batch.tables.changes import WHOLE_LAP, change_table, changes_in
from lapwright.batch.worker import Result
from lapwright.columns import names
from lapwright.columns.weekend import CHANGES
from lapwright.notes.weekend_notes import LogNotes

A, B, C, D = (Path(f"{name}.csv") for name in "abcd")
NOTES = {A: LogNotes(), B: LogNotes(), C: LogNotes(changes=("softer bar",)),
         D: LogNotes(conditions="rain")}  # fmt: skip


def _results() -> dict[Path, Result]:
    """As they come back from JSON: numbers of corners are texts."""
    out = {}
    for name, (laps, corners) in zip(NOTES, lap_tables(Weekend("AABB"), 2), strict=True):
        rows = laps.drop(columns="start_utc").to_dict("records")
        times = corners.reset_index().to_dict("records")
        out[name] = Result(
            "ok", start_utc=laps["start_utc"].iloc[0].isoformat(), laps=rows,
            corner_s=[{str(k): v for k, v in row.items()} for row in times],
        )  # fmt: skip
    out[Path("broken.csv")] = Result("failed", "no log")
    return out


def test_the_notes_decide_what_is_compared() -> None:
    (change,), unclear = changes_in(_results(), NOTES)
    # The fourth was driven in the rain; nothing is noted of the others.
    assert (change.before, change.after, unclear) == (("a", "b"), ("c",), ())
    assert change.result is not None
    assert [one.corner for one in change.result.corners] == list(range(1, 11))


def test_the_table_has_a_row_for_the_lap_and_each_corner() -> None:
    changes, _ = changes_in(_results(), NOTES)
    table, result = change_table(changes), changes[0].result
    assert result is not None
    assert list(table) == names(CHANGES)
    assert table["corner"].tolist() == [WHOLE_LAP, *range(1, 11)]
    assert table["change_s"].tolist() == [
        result.change_s, *(one.change_s for one in result.corners),
    ]  # fmt: skip
    assert (table["change_low95_s"] < table["change_high95_s"]).all()
    assert set(table["changes"]) == {"softer bar"}
    assert (table["laps_after"] == result.laps_after).all()


def test_without_a_change_there_is_no_row() -> None:
    changes, _ = changes_in(_results(), {})
    assert changes == ()
    assert list(change_table(changes)) == names(CHANGES)
    assert len(change_table(changes)) == 0


def test_a_session_without_corners_leaves_them_out() -> None:
    results = _results()
    results[A] = Result("ok", start_utc=results[A].start_utc, laps=results[A].laps)
    (change,), _ = changes_in(results, NOTES)
    assert change.result is not None
    assert change.result.corners == ()
    assert np.isfinite(change.result.change_s)
