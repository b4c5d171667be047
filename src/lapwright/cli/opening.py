"""From the options of a command to a session, with a word on stderr about what was chosen."""

import os
import subprocess
from pathlib import Path
from shlex import quote

from lapwright.cli.options import Choice
from lapwright.cli.printing import say
from lapwright.cli.printing.progress import MOVING, OPENING
from lapwright.ingest.archive import folder_of
from lapwright.notes.time_zone import time_zone_for
from lapwright.session import Session, open_session


def open_aloud(
    path: Path, choice: Choice, *, beside: Session | None = None, to_file: bool = False,
    notes_aloud: bool = True,
) -> Session:  # fmt: skip
    """
    Read a log and set it on its circuit, and say what was chosen and found.

    Parameters
    ----------
    path : Path
    choice : Choice
    beside : Session, optional
        A session of the same circuit; its track is taken, so that laps can be compared.
    to_file : bool
        Whether the circuit is going to be written down, complete.
    notes_aloud : bool
        Whether to say what of the weekend notes is not read; no where the result says it.

    Returns
    -------
    Session
    """
    with choice.progress.step(OPENING):
        session = open_session(
            path, track=choice.track if beside is None else beside.shared_track,
            tracks=choice.tracks, columns=choice.columns, repeat_line=choice.repeat_line,
            cache=choice.cache,
        )  # fmt: skip
    with choice.progress.step(MOVING):
        found = session.findings
    # A log or a circuit that cannot be used is one line on stderr; so nothing is said before.
    say.findings(found)
    place = folder_of(session.log.path)
    if notes_aloud and (beside is None or folder_of(beside.log.path) != place):
        say.not_read(place)
    if beside is not None:
        return session
    zone = time_zone_for(session.log.path, session.shared_track.other_members)
    if zone.odd:
        say.note(zone.odd)
    opened = session.opened_with
    for one in opened.remarks:
        say.note(f"track file: {one}")
    say.note(f"circuit: {opened.why}")
    for mark in session.shared_track.marks_without_corner:
        name = "" if mark.name == str(mark.order) else f" {mark.name!r}"
        say.note(f"track file: corner {mark.order}{name}: its point is not on this circuit")
    if opened.lines_only and opened.track_file is not None and not to_file:
        say.note(f"track file: {_advice(opened.track_file, path)}")
    return session


def _advice(file: Path, log: Path) -> str:
    """Say what it means that a file has no path, and how to give it one."""
    whole = file.with_name(f"{file.stem}_whole{file.suffix}")
    # What is pasted into a Windows shell takes double quotes only.
    quoted = quote if os.name == "posix" else lambda path: subprocess.list2cmdline([path])
    again, given, out = (quoted(str(path)) for path in (log, file, whole))
    return (
        f"{file.name} has only the start and sector lines; path and corners come from this log and "
        "differ a little from log to log. To save the rest once and for all, run: "
        f"lapwright track {again} --track {given} --out {out}"
    )
