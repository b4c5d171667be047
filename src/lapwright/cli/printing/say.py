"""What is said around the results: progress and findings on stderr, units, cautions."""

import sys
from collections.abc import Sequence
from pathlib import Path

import click

from lapwright.cli.printing.terminal import write_err
from lapwright.errors import NotesError
from lapwright.ingest import Finding
from lapwright.notes.check import notes_oddities
from lapwright.notes.weekend_notes import FILE_NAME
from lapwright.settings import remember_units, remembered_units, user_file
from lapwright.units import Units
from lapwright.wording.findings import finding_text

_FINDINGS_SHOWN = 6
_LINES_SHOWN = 4


def note(text: str) -> None:
    """Say something on stderr, on one line."""
    write_err(text)


def units_for(chosen: Units | None, folder: Path, *, as_json: bool) -> Units:
    """
    Find out which units a person reads: as said now, as remembered, as asked; if none, km/h.

    Parameters
    ----------
    chosen : Units or None
        From the command line.
    folder : Path
        The folder of the log.
    as_json : bool
        Whether a program reads the result; then nothing is asked and nothing is remembered.

    Returns
    -------
    Units
    """
    remembered = None if chosen is not None and as_json else remembered_units(folder)
    if as_json:
        return chosen or remembered or Units()
    if remembered is not None:
        return chosen or remembered
    if chosen is None:
        if not all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stderr)):
            return Units()
        answer = click.prompt(
            "Speeds in km/h, mph or m/s? (asked once; mph,ft for feet as well)",
            default="km/h",
            value_proc=_asked,
            err=True,
        )
        assert isinstance(answer, Units)
        chosen = answer
    _remember(chosen)
    return chosen


def _asked(text: str) -> Units:
    try:
        return Units.parse(text)
    except ValueError as error:
        raise click.UsageError(str(error)) from error


def _remember(units: Units) -> None:
    """Remember a first choice; a folder that cannot be written to is no reason to stop."""
    try:
        note(f"units: {units}, remembered in {remember_units(units)}")
    except NotesError:
        note(f"units: {units}; they could not be remembered in {user_file()}")


def not_read(folder: Path, *, broken_too: bool = False) -> None:
    """
    Say on stderr what of the weekend notes in a folder is not read, on one line each.

    Parameters
    ----------
    folder : Path
        Where the logs are.
    broken_too : bool
        Whether notes that cannot be read at all are said as well; else they are an error.
    """
    try:
        odd = notes_oddities(folder / FILE_NAME)
    except NotesError as error:
        if not broken_too:
            raise
        odd = (str(error),)
    for said in odd:
        note(said)


def findings(found: Sequence[Finding]) -> None:
    """Say on stderr what was odd in the log, the most important first."""
    for one in found[:_FINDINGS_SHOWN]:
        note(f"odd in the log: {finding_text(one, _LINES_SHOWN)}")
    if len(found) > _FINDINGS_SHOWN:
        more = len(found) - _FINDINGS_SHOWN
        note(f"odd in the log: {more} more, listed by 'lapwright check'")
