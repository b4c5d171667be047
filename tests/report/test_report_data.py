"""What the reports are made of: gaps with their error bars, and the choice of laps."""

import numpy as np
import pytest

from lapwright.notes.weekend_notes import LogNotes
from lapwright.report.report_data import ReportData, gather
from lapwright.session import Session


def test_gap_to_the_best_agrees_with_a_full_comparison(
    session: Session, material: ReportData
) -> None:
    assert material.best is not None
    for lap in material.laps.loc[material.laps["kind"] == "timed", "lap"].head(3):
        row = material.lap(int(lap))
        full = session.compare(int(lap), material.best)
        assert row["gap_s"] == pytest.approx(full.time_difference_s, abs=1e-9)
        # Two ways to the same posterior: one by crossings, one along the lap.
        assert row["gap_sd_s"] == pytest.approx(full.time_difference_sd_s, rel=0.02, abs=1e-6)


def test_neighbours_of_the_best_share_a_passage(material: ReportData) -> None:
    """Lap n against n + 1: the passage between them counts twice, so the bar is wider."""
    laps = material.laps.set_index("lap")
    assert material.best is not None
    apart = laps.loc[laps["kind"] == "timed", "gap_sd_s"].drop(
        [material.best - 1, material.best, material.best + 1], errors="ignore"
    )
    beside = laps["gap_sd_s"].reindex([material.best - 1, material.best + 1]).dropna()
    assert beside.min() > apart.max()


def test_best_lap_has_no_gap(material: ReportData) -> None:
    assert material.best is not None
    row = material.lap(material.best)
    assert row["gap_s"] == 0.0
    assert row["gap_sd_s"] == 0.0
    open_ended = material.laps[material.laps["time_s"].isna()]
    assert len(open_ended)
    assert np.isnan(open_ended["gap_s"].to_numpy(dtype=float)).all()


def test_a_second_report_of_a_session_costs_nothing_and_keeps_its_own_notes(
    session: Session,
) -> None:
    first = gather(session, notes=LogNotes(driver="Runa"), came_of_it=("Quicker.",))
    second = gather(session)
    assert second.comparison is first.comparison
    assert second.passes is first.passes
    assert all(second.traces[lap] is one for lap, one in first.traces.items())
    # Without notes of its own a report has those of the session.
    assert (first.notes.driver, second.notes.driver) == ("Runa", "")
    noted = session.with_notes(LogNotes(driver="Ivo", conditions="dry"))
    assert gather(noted).notes.driver == "Ivo"
    assert gather(noted, notes=LogNotes(driver="Runa")).notes.driver == "Runa"
    assert (first.came_of_it, second.came_of_it) == (("Quicker.",), ())
    assert gather(session, reference=1).other is not None
    assert second.other is None
