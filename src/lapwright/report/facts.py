"""What stands at the head of a report: which log, when, who, in what; and the list of contents."""

from lapwright.notes.flat import flat
from lapwright.notes.time_zone import time_zone_for
from lapwright.notes.weekend_notes import LogNotes
from lapwright.report.report_data import ReportData
from lapwright.units import clock
from lapwright.wording.event.folder import set_up
from lapwright.wording.time_of_day import utc_and_local


def about(material: ReportData) -> list[str]:
    """Log, time, driver, car, as short texts."""
    log, notes = material.log, material.notes
    zone = time_zone_for(log.path, material.track.other_members)
    start = log.start_utc
    when = "no date in the log" if start is None else utc_and_local(start, zone)
    minutes = log.duration_s / 60.0
    # Above an hour as on a clock: "99 min" has to be worked out.
    long = f"{minutes:.0f} min" if minutes < 59.5 else f"{clock(log.duration_s, most=0)} h"
    out = [log.path.name, when, f"{log.rate_hz:.0f} Hz, {long}"]
    return [text for text in (notes.driver, notes.car, notes.conditions) if text] + out


def noted(notes: LogNotes) -> list[tuple[str, str]]:
    """What the weekend notes say beyond that."""
    rows = [
        ("Tyres", notes.tyres),
        *set_up(flat(notes)),
        ("Changed on the car", "; ".join(notes.changes)),
        ("Notes", notes.notes),
    ]
    return [(label, text) for label, text in rows if text]


def contents(material: ReportData) -> list[tuple[str, str]]:
    """Anchors and titles of the parts a reader jumps to."""
    out = [("car", "The car")] if material.car_lines else []
    out += [("worth-trying", "Worth trying"), ("laps", "Laps")]
    if material.best is not None:
        out.append(("along", "Along the lap"))
    if material.comparison is not None:
        out.append(("ledger", "Where the time goes"))
    if material.adds_up:
        out.append(("adds-up", "What your own laps add up to"))
    if len(material.corners):
        out.append(("corners", "Corner by corner"))
    return [*out, ("odd", "Odd in the log"), ("sure", "How sure"), ("cautions", "Cautions")]
