"""The circuit that `lapwright track` is about: of a log, or out of a track file."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import click
import numpy as np

from lapwright.cli.opening import open_aloud
from lapwright.cli.options import Choice
from lapwright.cli.printing.progress import TIMING
from lapwright.discovery import start_line_at_time
from lapwright.errors import TrackError
from lapwright.geometry import Track, read_track
from lapwright.session import Session


@dataclass(frozen=True, eq=False)
class Seen:
    """
    A circuit, complete, and where it is from.

    Attributes
    ----------
    track : Track
    how_sure : str
    evidence : tuple of str
        Why it is thought to be so, a sentence each.
    came_from : Path or None
        The track file it is from, where it is driven as in the file.
    session : Session or None
        None where no log was given.
    """

    track: Track
    how_sure: str
    evidence: tuple[str, ...] = ()
    came_from: Path | None = None
    session: Session | None = None


def seen_in_log(log: Path, choice: Choice, start_at: str | None, *, to_file: bool) -> Seen:
    """
    Find the circuit of a log, with the line where the car was at a time.

    Parameters
    ----------
    log : Path
    choice : Choice
    start_at : str or None
    to_file : bool
        Whether it is going to be written down, complete.

    Returns
    -------
    Seen
    """
    session = open_aloud(log, choice, to_file=to_file)
    track, found = session.shared_track, session.discovery
    if to_file:
        # So that every later session is split where this one is.
        with choice.progress.step(TIMING):
            slowing = session.slowing_m
        entries = [corner.entry_m for corner in session.track.corners]
        track = track.with_run_ups(np.maximum(entries - slowing, 0.0).tolist())
    said: Sequence[str] = () if found is None else found.evidence
    if start_at is not None:
        track = _started_at(start_at, session, track)
        # The first says why the line was proposed where it no longer is.
        said = (
            f"the start/finish line is where the car was at {start_at}", *said[1:],
            *_renumbered(session.shared_track, track),
        )  # fmt: skip
    sure = session.opened_with.why if found is None else found.how_sure
    return Seen(track, sure, tuple(said), session.opened_with.track_file, session)


def seen_in_file(file: Path) -> Seen:
    """
    Read a circuit out of a track file.

    Parameters
    ----------
    file : Path

    Returns
    -------
    Seen

    Raises
    ------
    TrackError
        If it cannot be used, or has no path: only a log can give it one.
    """
    track = read_track(file)
    if track.path is None:
        what = "has only the start and sector lines, so there are no corners to show or to name"
        raise TrackError(what, file, hint="Give a log of this circuit as well")
    track = track if track.name else track.renamed(file.stem)
    return Seen(replace(track, source="file"), f"{track.name}, from {file}", came_from=file)


def _started_at(time: str, session: Session, track: Track) -> Track:
    """Return a session's track with the line where the car was at a time."""
    try:
        return start_line_at_time(session.log, time, track)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="'--start-at'") from error


def _renumbered(before: Track, after: Track) -> tuple[str, ...]:
    """Say that corners without a name have other numbers, where they have."""
    if not before.corners or len(before.corners) != len(after.corners):
        return ()
    # Nothing but the line moved, so the order around the circuit is the same.
    ahead = float(before.path.project(*after.start_finish.centre_m)[0]) if before.path else 0.0
    first = next((c.order for c in before.corners if c.apex_m >= ahead), 1)
    if first == 1 or not any(c.name == str(c.order) for c in after.corners):
        return ()
    return (f"corners without a name have new numbers: {first} is now 1",)
