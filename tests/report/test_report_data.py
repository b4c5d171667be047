"""What the reports are made of: gaps with their error bars, and the choice of laps."""

import numpy as np
import pytest

from lapwright.notes.weekend_notes import LogNotes
from lapwright.report.report_data import ReportData, gather
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.coaching.worth_trying import advice_in_words


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


def test_comparisons_are_of_the_slower_lap_against_the_quicker(
    session: Session, material: ReportData
) -> None:
    c, other = material.comparison, material.other
    assert c is not None
    assert other is not None
    assert (c.lap, c.reference) == (material.usual, material.best)
    gaps = material.laps.set_index("lap")["gap_s"]
    assert c.time_difference_s == pytest.approx(gaps[c.lap], abs=1e-9)
    assert c.time_difference_s > 0.0
    # The fixture asks for the third row: the best lap against that one, which is slower.
    asked = int(session.laps["lap"].iloc[2])
    assert (other.lap, other.reference) == (material.best, asked)
    assert other.time_difference_s == pytest.approx(-gaps[asked], abs=1e-9)
    assert (material.other_name, material.other_log) == (f"lap {asked}", False)


def test_a_lap_of_another_log_is_called_so(session: Session) -> None:
    found = gather(session, reference=(session, 4))
    assert found.other is not None
    assert found.other.reference == 4
    assert found.other_name == f"lap 4 of {session.log.path.name}"
    assert found.other_log
    best = gather(session, reference=(session, None))
    assert best.other is not None
    assert best.other.reference == session.best_lap
    nothing = gather(session)
    assert (nothing.other, nothing.other_name, nothing.other_log) == (None, "", False)


def test_what_is_worth_trying_and_why_not_more_comes_from_the_session(session: Session) -> None:
    found = gather(session)
    advice = advice_in_words(session)
    assert found.worth_trying == advice.items
    assert found.remark == advice.remark
    # The fixture's driver is slow in corner 4.
    assert [item.corner for item in found.worth_trying] == [4]
    in_miles = gather(session, units=Units("mph"))
    assert "mph" in in_miles.worth_trying[0].text + in_miles.worth_trying[0].evidence
    assert "mph" not in found.worth_trying[0].text + found.worth_trying[0].evidence


def test_the_usual_lap_is_the_one_in_the_middle(material: ReportData) -> None:
    assert material.usual in set(material.clean["lap"])
    # Without the best lap, and without those on cold tyres: none is typical.
    cold = set(material.laps.loc[material.laps["kind"] == "out", "lap"] + 1)
    others = material.clean[~material.clean["lap"].isin({material.best, *cold})]
    times = others["time_s"]
    usual = material.lap(material.usual or 0)["time_s"]
    assert abs((times < usual).sum() - (times > usual).sum()) <= 1
    assert (material.usual_word, material.usual_is) == ("typical", "a typical lap")
    assert material.length_m == material.track.length_m


def test_every_lap_has_a_delta_error_bar_along_the_lap(material: ReportData) -> None:
    gaps = material.laps.set_index("lap")["gap_sd_s"]
    assert material.sd_station_m[-1] == pytest.approx(material.length_m)
    for lap, sds in material.delta_sds.items():
        assert sds.shape == material.sd_station_m.shape
        assert sds[-1] == pytest.approx(gaps[lap], rel=0.02, abs=1e-6)


def test_spans_are_of_the_clean_laps_and_end_before_the_next_braking(material: ReportData) -> None:
    assert set(material.spans["lap"]) == set(material.clean["lap"])
    assert list(material.spans.columns) == ["lap", "corner", "span_s"]
