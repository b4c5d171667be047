"""What stands at the head of a report is the log's and the notes' own."""

from dataclasses import replace

import pandas as pd

from lapwright.notes.weekend_notes import LogNotes
from lapwright.report.facts import about, contents, noted
from lapwright.report.html.page import html
from lapwright.report.report_data import ReportData


def test_who_in_what_then_which_log_and_when(material: ReportData) -> None:
    notes = LogNotes(driver="Runa", car="Brackel Wisp", conditions="dry")
    said = about(replace(material, notes=notes))
    assert said[:3] == ["Runa", "Brackel Wisp", "dry"]
    # The fixture's log: ten fixes a second, no date.
    fixes = material.log.fixes["time_s"]
    minutes = (fixes.iloc[-1] - fixes.iloc[0]) / 60.0
    assert said[3:] == [material.log.path.name, "no date in the log", f"10 Hz, {minutes:.0f} min"]
    assert about(replace(material, notes=LogNotes())) == said[3:]


def test_the_date_is_written_year_first_in_utc(material: ReportData) -> None:
    log = replace(material.log, start_utc=pd.Timestamp("2031-05-09T07:04:31", tz="UTC"))
    assert "2031-05-09 07:04 UTC" in about(replace(material, log=log))


def test_more_than_an_hour_is_written_as_on_a_clock(material: ReportData) -> None:
    fixes = material.log.fixes
    # 99 minutes are 1 h 39 min.
    fixes = fixes.assign(time_s=fixes["time_s"] * 5940.0 / material.log.duration_s)
    said = about(replace(material, log=replace(material.log, fixes=fixes)))
    assert said[-1].endswith("Hz, 1:39:00 h")


def test_notes_say_what_they_are() -> None:
    notes = LogNotes(
        tyres="used, 1.9 bar", changes=("rear bar softer", "more wing"), notes="Traffic early."
    )
    assert noted(notes) == [
        ("Tyres", "used, 1.9 bar"),
        ("Changed on the car", "rear bar softer; more wing"),
        ("Notes", "Traffic early."),
    ]
    assert noted(LogNotes()) == []


def test_contents_lead_to_what_there_is(material: ReportData) -> None:
    always = ["worth-trying", "laps", "odd", "sure", "cautions"]
    whole = [anchor for anchor, _ in contents(material)]
    # Each is called as the part it leads to is headed.
    page = html(material)
    for anchor, title in contents(material):
        part = page[page.index(f'<section id="{anchor}">') :]
        heading = part.partition("<h2>")[2].partition("</h2>")[0]
        assert title.lower() in heading.lower()
    assert whole == [*always[:2], "along", "ledger", "adds-up", "corners", *always[2:]]
    for missing, gone in (
        ({"best": None}, "along"),
        ({"comparison": None}, "ledger"),
        ({"adds_up": ()}, "adds-up"),
        ({"corners": material.corners.iloc[:0]}, "corners"),
    ):
        part = replace(material, **missing)
        assert [a for a, _ in contents(part)] == [a for a in whole if a != gone]
    warned = replace(material, car_lines=("Battery stands at 12 V.",))
    assert contents(warned) == [("car", "The car"), *contents(material)]
    assert '<section id="car">' in html(warned)
