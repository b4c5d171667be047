"""`write_weekend_report`: from a weekend that was looked at to its page and its PDF."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd

from lapwright.arguments import checked
from lapwright.batch.weekend import Weekend
from lapwright.batch.worker import Job
from lapwright.ingest.archive import archive_of, folder_of
from lapwright.notes.weekend_notes import FILE_NAME, read_notes
from lapwright.outputs import check_ending, check_targets
from lapwright.report.weekend.data import Came, Entry, WeekendData, gather_circuits
from lapwright.report.weekend.document import write_document
from lapwright.report.weekend.page import write_page
from lapwright.session import Session, open_session
from lapwright.units import Units
from lapwright.wording.coaching.before_after import (
    SIMULTANEOUS,
    noted_change_sentences,
    unclear_change,
)
from lapwright.wording.event.folder import copies

Told = Callable[[Path], None]
PAGE_ENDINGS, PDF_ENDINGS = (".html", ".htm"), (".pdf",)


@checked
def write_weekend_report(
    weekend: Weekend, html: str | Path | None = None, pdf: str | Path | None = None,
    units: Units | str = "km/h", came: Came | None = None, told: Told | None = None,
) -> tuple[Path, ...]:  # fmt: skip
    """
    Write what a weekend's sessions show, side by side, as one HTML file and as a PDF.

    Parameters
    ----------
    weekend : Weekend
    html, pdf : path, optional
        Each written whole, or not at all; None to do without.
    units : Units or str
        Of speed, and of distance: ``"mph,ft"``.
    came : callable, optional
        Says what came of what was tried before a session: takes the `Session`, gives a
        `lapwright.report.weekend.session_facts.CameOf`.  The command line's does the work of
        `debrief`.
    told : callable, optional
        Called with the path of a log whenever it is opened; twice where best laps are compared.

    Returns
    -------
    tuple of Path
        The files.

    Raises
    ------
    OutputError
        If a file cannot be written, is one of the inputs, or has another ending.

    Notes
    -----
    Each session is opened again, one at a time; what is kept of it makes that quick.

    Examples
    --------
    >>> from pathlib import Path
    >>> from shutil import copy
    >>> from tempfile import TemporaryDirectory
    >>> import lapwright as lw
    >>> with TemporaryDirectory() as folder:
    ...     for name in ("saturday_qualifying.gpx", "wren_hollow.geojson", "weekend.toml"):
    ...         _ = copy(Path("sample_sessions", name), folder)
    ...     weekend = lw.run_weekend(folder, repeat_line=False, workers=1)
    ...     [file.name for file in lw.write_weekend_report(weekend, Path(folder, "page.html"))]
    ['page.html']
    """
    page, sheets = (None if one is None else Path(one) for one in (html, pdf))
    check_report_targets(weekend.folder, [Path(p) for p in weekend.sessions["path"]], page, sheets)
    shown = Units.parse(str(units))
    material = gather_weekend(weekend, shown, came, told)
    written = []
    if page is not None:
        written.append(write_page(material, page, shown))
    if sheets is not None:
        written.append(write_document(material, sheets, shown))
    return tuple(written)


def check_report_targets(
    folder: Path, logs: list[Path], html: Path | None, pdf: Path | None
) -> None:
    """
    Refuse outputs that would take the place of an input, or that have another ending.

    Parameters
    ----------
    folder : Path
        Of the logs.
    logs : list of Path
    html, pdf : Path or None

    Raises
    ------
    OutputError
    """
    archives = [found[0] for log in logs if (found := archive_of(log)) is not None]
    places = {folder, *(folder_of(log) for log in logs)}
    beside = [file for place in places for file in (place / FILE_NAME, *place.glob("*.geojson"))]
    check_targets([html, pdf], [*logs, *archives, *beside])
    check_ending(html, PAGE_ENDINGS)
    check_ending(pdf, PDF_ENDINGS)


def gather_weekend(
    weekend: Weekend, units: Units, came: Came | None = None, told: Told | None = None
) -> WeekendData:
    """
    Gather what a weekend page says.

    Parameters
    ----------
    weekend : Weekend
    units : Units
    came, told
        As for `write_weekend_report`.

    Returns
    -------
    WeekendData
    """
    rows = [{str(k): v for k, v in row.items()} for row in weekend.sessions.to_dict("records")]
    good = in_order([row for row in rows if row["status"] == "ok"], _noted(weekend))
    entries = [_entry(weekend.jobs[Path(row["path"])], row["session"], told) for row in good]
    circuits, failed = gather_circuits(entries, units, came)
    reasons = (*(row["reason"] for row in rows if row["status"] != "ok"), *failed)
    remarks = (
        *weekend.notes,
        *copies((weekend.below(a), weekend.below(b)) for a, b in weekend.copies),
    )
    return WeekendData(
        # Where it was given as ".", it has a name all the same.
        weekend.folder.resolve(),
        circuits,
        tuple(_without_folders(text, weekend) for text in reasons),
        tuple(weekend.below(path) for path in weekend.left_out),
        tuple(_without_folders(text, weekend) for text in remarks),
        _changes(weekend),
    )


def _noted(weekend: Weekend) -> list[str]:
    """Paths of the logs that have notes, in the order of the notes."""
    places = dict.fromkeys(folder_of(path) for path in weekend.jobs)
    return [str(place / name) for place in places for name in read_notes(place / FILE_NAME)]


def _changes(weekend: Weekend) -> tuple[str, ...]:
    """Say what came of the changes to the car, as `weekend` does in the terminal."""
    said = [" ".join(noted_change_sentences(one)) for one in weekend.changes]
    said += [unclear_change(session, entry) for session, entry in weekend.unclear_changes]
    if any(one.result is not None and one.result.corners for one in weekend.changes):
        said.append(SIMULTANEOUS)
    return tuple(said)


def _without_folders(text: str, weekend: Weekend) -> str:
    """Leave out where files lie: a page is passed on, and says nothing of its maker's computer."""
    for folder, name in ((weekend.out, f"{weekend.out.name}{os.sep}"), (weekend.folder, "")):
        text = text.replace(f"{folder}{os.sep}", name)
    return text


def in_order(rows: list[dict[str, Any]], notes: list[str]) -> list[dict[str, Any]]:
    """
    Put sessions in order: by their time; one without a date after the one noted before it.

    Parameters
    ----------
    rows : list of dict
        With ``path`` and ``start_utc``.
    notes : list of str
        Paths in the order of the notes.

    Returns
    -------
    list of dict
        One that has neither date nor notes is put last.
    """
    dated = sorted((r for r in rows if not pd.isna(r["start_utc"])), key=lambda r: r["start_utc"])
    place = {name: k for k, name in enumerate(notes)}
    rest = [r for r in rows if pd.isna(r["start_utc"])]
    rest.sort(key=lambda r: place.get(str(r["path"]), len(notes)))
    out = dated
    for row in rest:
        mine = place.get(str(row["path"]))
        after = len(out)
        if mine is not None:
            known = [k for k, r in enumerate(out) if place.get(str(r["path"]), mine) < mine]
            after = known[-1] + 1 if known else 0
        out.insert(after, row)
    return out


def _entry(job: Job, name: str, told: Told | None) -> Entry:
    def opened() -> Session:
        if told is not None:
            told(job.path)
        return open_session(
            job.path, track=job.track, columns=job.columns, repeat_line=job.repeat_line,
            cache=job.store,
        )  # fmt: skip

    return Entry(job.path, job.track, opened, name)
