"""What stands at the head of a report: which log, when, who, in what; and the list of contents."""

from collections.abc import Sequence

from lapwright.analysis.notes import LogNotes
from lapwright.report.material import Material

_MOST_LINES = 6


def about(material: Material) -> list[str]:
    """Log, time, driver, car, as short texts."""
    log, notes = material.log, material.notes
    when = "no date in the log" if log.start_utc is None else f"{log.start_utc:%Y-%m-%d %H:%M} UTC"
    out = [log.path.name, when, f"{log.rate_hz:.0f} Hz, {log.duration_s / 60.0:.0f} min"]
    return [text for text in (notes.driver, notes.car, notes.conditions) if text] + out


def noted(notes: LogNotes) -> list[tuple[str, str]]:
    """What the weekend notes say beyond that."""
    rows = [
        ("Tyres", notes.tyres),
        ("Changed on the car", "; ".join(notes.changes)),
        ("Notes", notes.notes),
    ]
    return [(label, text) for label, text in rows if text]


def contents(material: Material) -> list[tuple[str, str]]:
    """Anchors and titles of the parts a reader jumps to."""
    out = [("worth-trying", "Worth trying"), ("laps", "Laps")]
    if material.best is not None:
        out.append(("along", "Along the lap"))
    if material.comparison is not None:
        out.append(("ledger", "Where the time goes"))
    if len(material.corners):
        out.append(("corners", "Corner by corner"))
    return [*out, ("odd", "Odd in the log"), ("sure", "How sure"), ("cautions", "Cautions")]


def lines_text(lines: Sequence[tuple[int, int]]) -> str:
    """
    Write line numbers of a log.

    Examples
    --------
    >>> lines_text([(4, 4), (10, 12)])
    'file lines 4, 10 to 12'
    """
    said = [f"{a}" if a == b else f"{a} to {b}" for a, b in lines[:_MOST_LINES]]
    more = len(lines) - _MOST_LINES
    single = len(lines) == 1 and lines[0][0] == lines[0][1]
    text = ("file line " if single else "file lines ") + ", ".join(said)
    return text if more <= 0 else f"{text} and {more} more"
