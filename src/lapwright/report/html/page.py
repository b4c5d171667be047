"""One HTML file that holds a whole report: no other file, no network, no script but ours."""

from collections.abc import Sequence
from pathlib import Path

from lapwright._version import __version__
from lapwright.arguments import checked
from lapwright.corners.grip import REACHED
from lapwright.laps.stretches import STRETCHES
from lapwright.notes.weekend_notes import LogNotes
from lapwright.outputs import check_targets, whole_file
from lapwright.report.achievable_rows import achievable_heads, achievable_rows
from lapwright.report.beside import (
    BESIDE_WORDS,
    BesideCorner,
    beside_corners,
    beside_heads,
    lap_leads,
    why_sentences,
)
from lapwright.report.cards import corner_cards, table_words
from lapwright.report.charts import lap_chart, ledger_rows
from lapwright.report.facts import about, contents, noted
from lapwright.report.grip_chart import grip_chart, grip_rows
from lapwright.report.headline import (
    corner_name,
    five_lines,
    how_sure,
    only_between_two,
    worth,
)
from lapwright.report.html.adds_up import adds_up_figure
from lapwright.report.html.along import delta_figure, lap_arrays
from lapwright.report.html.resources import digest, page_script, page_style, templates
from lapwright.report.html.whole_lap import whole_lap
from lapwright.report.lap_rows import any_equal, lap_heads, lap_rows
from lapwright.report.numbers import with_sd
from lapwright.report.other_words import other_words
from lapwright.report.report_data import ReportData, gather
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.car import HEADING as CAR_HEADING
from lapwright.wording.car import NO_DIAGNOSIS
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP, CAUTIONS, GRIP
from lapwright.wording.coaching.achievable import CALCULATED, TABLE
from lapwright.wording.coaching.achievable import HEADING as ACHIEVABLE_HEADING
from lapwright.wording.coaching.still_known import HEADING
from lapwright.wording.findings import finding_text
from lapwright.wording.flags import meanings
from lapwright.wording.heads import PAGE, heads
from lapwright.wording.terms import PLUS_MINUS, UNNAMED, sentence


@checked
def write_html(
    session: Session,
    path: str | Path,
    reference: int | tuple[Session, int | None] | None = None,
    notes: LogNotes | None = None,
    came_of_it: Sequence[str] = (),
    units: Units | str = "km/h",
    before: str = "",
) -> Path:
    """
    Write the coach's report of a session as one HTML file.

    Parameters
    ----------
    session : Session
    path : str or Path
        Written whole, or not at all.
    reference : int, or (Session, int or None), optional
        A lap of this session, or of another one on the same track (its best where None), that
        the best lap is compared with as well.
    notes : LogNotes, optional
        Driver, car, conditions and the like; the session's own where not given.
    came_of_it : sequence of str
        What came of what was tried last time, a sentence each.
    units : Units or str
        Of speed, and of distance: ``"mph,ft"``.
    before : str
        File name of the session that `came_of_it` rests on.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    OutputError
        If it cannot be written, or is the log itself.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
    >>> with TemporaryDirectory() as folder:
    ...     lw.report.write_html(session, Path(folder, "qualifying.html")).name
    'qualifying.html'
    """
    target = Path(path)
    check_targets([target], [session.log.path])
    text = html(gather(session, reference, notes, came_of_it, before, units), units)
    with whole_file(target) as part:
        part.write_text(text, encoding="utf-8")
    return target


def html(material: ReportData, units: Units | str = "km/h") -> str:
    """
    Make the page.

    Parameters
    ----------
    material : ReportData
    units : Units or str

    Returns
    -------
    str
    """
    shown = Units.parse(str(units))
    style = page_style()
    script = page_script()
    ledger, zero = ledger_rows(material)
    values: dict[str, object] = {
        "m": material,
        "units": shown,
        "style": style,
        "script": script,
        "style_hash": digest(style),
        "script_hash": digest(script),
        "five_lines": five_lines(material, shown),
        "between_two": only_between_two(material),
        "sure": how_sure(material, shown),
        "cards": corner_cards(material, shown),
        "laps": lap_rows(material, shown),
        "flags": meanings(f for flags in material.laps["flags"] for f in flags),
        "lap_heads": lap_heads(material, shown),
        "ledger_heads": heads(PAGE, "ledger", shown),
        "lap_chart": lap_chart(material),
        "grip": grip_chart(material),
        "ledger": ledger,
        "ledger_zero": zero,
        "stretches": STRETCHES,
        "total": _total(material),
        "whole": whole_lap(material, shown),
        "other": _other(material, shown),
        "other_beside": _other_beside(material, shown),
        "other_why": [] if material.other is None else why_sentences(material.other, shown),
        "beside_heads": beside_heads(shown),
        "beside_words": BESIDE_WORDS,
        "data": lap_arrays(material, shown),
        "cautions": CAUTIONS,
        "grip_caution": GRIP,
        "grip_rows": grip_rows(material),
        "grip_reached": f"{100.0 * (1.0 - REACHED):.0f} %",
        "other_words": other_words(material),
        "table_words": table_words,
        "any_equal": any_equal(material),
        "about": about(material),
        "noted": noted(material.notes),
        "contents": contents(material),
        "worth": worth,
        "build_up": BUILD_UP,
        "as_driven": AS_DRIVEN,
        "still_known_heading": HEADING,
        "adds_up_heading": ACHIEVABLE_HEADING,
        "calculated": CALCULATED,
        "adds_up_words": TABLE,
        "adds_up_figure": adds_up_figure(material, shown),
        "adds_up_heads": achievable_heads(shown),
        "adds_up_rows": achievable_rows(material, shown),
        "car_heading": CAR_HEADING,
        "no_diagnosis": NO_DIAGNOSIS,
        "unnamed": UNNAMED,
        "plus_minus": PLUS_MINUS,
        "findings": [sentence(finding_text(f)) for f in material.log.findings],
        "version": __version__,
        "corner_name": lambda corner: corner_name(material, corner),
    }
    return templates().get_template("debrief.html.jinja").render(values)


def _other(material: ReportData, units: Units) -> list[object]:
    if material.other is None:
        return []
    label = f"Delta of lap {material.best} to {material.other_name}"
    window = (0.0, material.length_m)
    return [
        delta_figure(
            material.other, material.corners, window, units, 150, label, "best", linked=False
        )
    ]


def _other_beside(material: ReportData, units: Units) -> list[BesideCorner]:
    if material.other is None:
        return []
    return beside_corners(material.other, units, lap_leads(material.other))


def _total(material: ReportData) -> str:
    c = material.comparison
    return "" if c is None else with_sd(c.time_difference_s, c.time_difference_sd_s)
