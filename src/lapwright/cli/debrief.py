"""`lapwright debrief LOG`: one screen between two sessions."""

from pathlib import Path
from typing import Any

import click

from lapwright.cli.opening import open_aloud
from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.previous import CameOfIt, came_of_it
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.lap_text import header_lines, remarks, summary_lines
from lapwright.cli.printing.objects import car_objects, session_object, variation_objects
from lapwright.cli.printing.progress import CORNERS, TIMING
from lapwright.cli.printing.table import rows_of
from lapwright.cli.printing.terminal import write_out
from lapwright.cli.printing.worth_text import WIDTH, worth_objects, wrapped
from lapwright.coaching.carried_on import CarriedOn
from lapwright.coaching.follow_up import COLUMNS, FollowUp
from lapwright.errors import NotesError
from lapwright.ingest.archive import folder_of, name_of
from lapwright.notes.weekend_notes import FILE_NAME, write_worth_trying
from lapwright.session import Session
from lapwright.units import Units, clock
from lapwright.wording.car import HEADING as CAR_HEADING
from lapwright.wording.car import NO_DIAGNOSIS, car_lines
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP, NOT_OFFICIAL
from lapwright.wording.coaching.follow_up import CODE_NAMES
from lapwright.wording.coaching.still_known import HEADING, still_known
from lapwright.wording.coaching.worth_trying import Advice, advice_in_words
from lapwright.wording.event.race import held_up_short
from lapwright.wording.terms import PLUS_MINUS

_CELL = 15


@click.command("debrief")
@log_argument
@click.option(
    "--notes/--no-notes", "write_notes", default=True,
    help="Write what is worth trying into weekend.toml beside the log (default: yes).",
)  # fmt: skip
@track_options
def command(log: Path, write_notes: bool, **options: Any) -> None:
    """
    Show on one screen what LOG says: laps, what came of the last try, what to try next.

    What is worth trying goes into the weekend notes (weekend.toml beside the log), so that the
    next session's debrief can say what came of it.  The log itself is never written to.
    """
    choice = choice_of(options)
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    session = open_aloud(log, choice, notes_aloud=False)
    with choice.progress.step(TIMING):
        _ = session.laps
    with choice.progress.step(CORNERS):
        advice = advice_in_words(session, units)
        # One screen: the place that varies most; the report has the next one too.
        known = still_known(session, units, None if choice.as_json else 1)
    came = came_of_it(session, units, choice.progress)
    noted = write_notes and _note(log, advice)
    if choice.as_json:
        write_json(
            **session_object(session),
            before=came.name or None,
            came_of_it=[
                _follow_up_object(one, text)
                for one, text in zip(came.followed, came.said, strict=True)
            ],
            carried_on=[
                _carried_object(one, text)
                for one, text in zip(came.carried, came.carried_said, strict=True)
            ],
            before_remarks=[*came.caveats, *came.remarks],
            worth_trying=worth_objects(advice),
            remark=advice.remark or None,
            still_known=list(known),
            variation=variation_objects(session),
            **car_objects(session, units),
        )
        return
    lines = [*header_lines(session, units), *_strip(session), *summary_lines(session, units)]
    lines += [*filter(None, [held_up_short(session)]), "", *_car_lines(session, units)]
    lines += [*_before_lines(came), *_worth_lines(advice), *_known_lines(known)]
    if noted and advice.items:
        lines += _how_to_note(log, advice)
    write_out("\n".join([*lines, PLUS_MINUS, NOT_OFFICIAL]))


def _note(log: Path, advice: Advice) -> bool:
    """Write what is worth trying into the notes; where that fails, the debrief is shown still."""
    try:
        write_worth_trying(folder_of(log) / FILE_NAME, name_of(log), advice.items)
    except NotesError as error:
        say.note(f"not noted for the next debrief: {error}")
        return False
    return True


def _how_to_note(log: Path, advice: Advice) -> list[str]:
    """Say where it is noted, and how to note that it was tried."""
    tried = ", ".join(f'"corner {item.corner}, {CODE_NAMES[item.code]}"' for item in advice.items)
    return [
        *wrapped(
            f"Noted in {folder_of(log) / FILE_NAME}. Once you have tried it, say so there, under "
            "the next log's own header (write the header only if it is not there yet):"
        ),
        '  [logs."FILE_OF_THE_NEXT_LOG"]',
        f"  tried = [{tried}]",
    ]


def _follow_up_object(one: FollowUp, text: str) -> dict[str, Any]:
    change, rest, feature = one.time, one.against_rest, one.feature
    return {
        "corner": one.item.corner,
        "code": one.item.code,
        "noted": '"; "'.join(one.entries) or None,
        "text": text,
        "passes_before": change.count_before,
        "passes_after": change.count_after,
        "before_s": change.before,
        "after_s": change.after,
        "change_s": change.difference,
        "change_ci95_s": [change.low95, change.high95],
        "against_rest_s": rest.difference,
        "against_rest_ci95_s": [rest.low95, rest.high95],
        "feature": COLUMNS[one.item.code],
        "feature_before": feature.before,
        "feature_after": feature.after,
        "feature_change": feature.difference,
        "feature_change_ci95": [feature.low95, feature.high95],
    }


def _carried_object(one: CarriedOn, text: str) -> dict[str, Any]:
    both = one.together
    return {
        "corner": one.item.corner,
        "code": one.item.code,
        "text": text,
        "before_s": one.before.quicker_s,
        "before_sd_s": one.before.sd_s,
        "now_s": one.now.quicker_s,
        "now_sd_s": one.now.sd_s,
        "together_s": None if both is None else both.value,
        "together_sd_s": None if both is None else both.sd,
        "together_ci95_s": None if both is None else [both.low95, both.high95],
    }


def _strip(session: Session) -> list[str]:
    """Write the laps side by side, with what was out of the ordinary."""
    cells = []
    for row in rows_of(session.laps):
        said = remarks(row)
        if row["lap"] == session.best_lap:
            said = "best"
        time = clock(row["time_s"], row["time_sd_s"]) if row["kind"] == "timed" else ""
        cells.append(" ".join(part for part in (f"{row['lap']:>3}", time, said) if part))
    return _side_by_side(cells)


def _side_by_side(cells: list[str]) -> list[str]:
    """Set cells in columns; a long one takes the room of two or more."""
    lines = [""]
    for cell in cells:
        at = -(-len(lines[-1]) // _CELL) * _CELL
        if at and at + len(cell) > WIDTH:
            lines.append("")
            at = 0
        # A blank at least between two cells: one that fills its columns pushes the next on.
        if at and at == len(lines[-1]):
            at += _CELL
            if at + len(cell) > WIDTH:
                lines.append("")
                at = 0
        lines[-1] = lines[-1].ljust(at) + cell
    return lines


def _car_lines(session: Session, units: Units) -> list[str]:
    """Say what of the car deserves a look; nothing where nothing does."""
    said = car_lines(session, units)
    if not said:
        return []
    lines = [f"{CAR_HEADING}:"]
    for text in said:
        lines += wrapped(text, "- ")
    return [*lines, *(wrapped(NO_DIAGNOSIS) if session.car_warnings else []), ""]


def _before_lines(came: CameOfIt) -> list[str]:
    """Say what came of what was tried since the session before."""
    if not came.texts:
        return []
    compared = f" (compared with {came.name})" if came.name else ""
    lines = [f"What came of what you tried{compared}:"]
    for text in came.texts:
        lines += wrapped(text, "- ")
    return [*lines, ""]


def _worth_lines(advice: Advice) -> list[str]:
    """Say what is worth trying, in short; the evidence is in `corners` and in the report."""
    if not advice.items:
        return ["Worth trying:", *wrapped(advice.remark or "Nothing this time.")]
    lines = ["Worth trying next, if the day allows it:"]
    for number, item in enumerate(advice.items, start=1):
        lines += wrapped(item.text, f"{number}. ")
    if advice.remark:
        lines += wrapped(advice.remark)
    return [*lines, *wrapped(BUILD_UP)]


def _known_lines(known: tuple[str, ...]) -> list[str]:
    """Say what the laps show all the same, where there is nothing worth trying."""
    if not known:
        return []
    lines = ["", f"{HEADING}:"]
    for text in known:
        lines += wrapped(text, "- ")
    return [*lines, *wrapped(AS_DRIVEN)]
