"""The whole lap: which figures there are, and what they are called."""

from dataclasses import replace

from lapwright.report.html.whole_lap import whole_lap
from lapwright.report.report_data import ReportData
from lapwright.report.two_laps import LapsCompared
from lapwright.units import Units


def test_of_a_report(material: ReportData) -> None:
    lap = whole_lap(material, Units("mph", "ft"))
    assert lap is not None
    assert [figure.kind for figure in lap.figures] == ["delta", "speed"]
    assert lap.names == ("delta to the best [s], slower is up; band: ±", "speed [mph]")
    assert lap.distance_name == "distance after the start line [ft]"
    assert lap.best == f"lap {material.best}, the best"
    assert lap.usual == f"lap {material.usual}, a typical lap"


def test_of_a_single_lap_and_of_none(material: ReportData) -> None:
    one = whole_lap(replace(material, usual=None, comparison=None), Units())
    assert one is not None
    assert [figure.kind for figure in one.figures] == ["speed"]
    assert one.usual == ""
    assert whole_lap(replace(material, best=None, usual=None, comparison=None), Units()) is None


def test_of_a_comparison(material: ReportData) -> None:
    assert material.comparison is not None
    lap = whole_lap(LapsCompared(material.comparison), Units())
    assert lap is not None
    # Which lap is the best is no business of a comparison.
    assert lap.names[0] == f"delta to lap {material.best} [s], slower is up; band: ±"
    assert (lap.best, lap.usual) == (f"lap {material.best}, the reference", f"lap {material.usual}")
