"""`open_session`: from a file to a session, with track, notes and column map found."""

from pathlib import Path

from lapwright.arguments import checked
from lapwright.geometry import Track
from lapwright.ingest.archive import folder_of, name_of
from lapwright.ingest.map_beside import read_with_map
from lapwright.kept import USUAL, CacheChoice, store_of
from lapwright.notes.limits import read_limits
from lapwright.notes.weekend_notes import FILE_NAME, LogNotes, read_notes
from lapwright.session.choose_track import Chosen, choose_track_kept, places_for
from lapwright.session.opened_with import OpenedWith
from lapwright.session.session import Session


@checked
def open_session(
    path: str | Path, *, track: str | Path | Track | None = None,
    tracks: str | Path | None = None, columns: str | Path | None = None,
    repeat_line: bool = True, cache: CacheChoice = USUAL,
) -> Session:  # fmt: skip
    """
    Read a log and set it on its circuit, as the commands do.

    Parameters
    ----------
    path : path
        The log, see `lapwright.read_log`.
    track : path or Track, optional
        The track file; or the track of another session (`Session.shared_track`), so that laps of
        the two can be compared.  Else the circuit is looked up in the track files beside the log
        and in the track library, and found in the log where none of them fits.
    tracks : path, optional
        The folder of the track library; it is then looked into before the folder of the log.
    columns : path, optional
        The column map; else ``columns.toml`` beside the log, where there is one that fits.
    repeat_line : bool
        Whether to use the repeated line as a sensor where there are three laps or more.
    cache : Store, path or None, optional
        The folder in which results are kept from one run to the next, see `lapwright.kept`; None to
        do without.  The user's cache folder where not given.

    Returns
    -------
    Session
        With the notes of ``weekend.toml`` beside the log; `Session.opened_with` says which files
        were taken and why.

    Raises
    ------
    LogError
        If the log cannot be used.
    TrackError
        If the given track file or library cannot be used, or no circuit is found in the log.
    NotesError
        If the weekend notes or the column map cannot be read.

    References
    ----------
    See `Session.motion` and `Session.judgement`.

    Examples
    --------
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx")
    >>> session.notes.driver
    'Ivo Marlen'
    >>> session.opened_with.track_file.name
    'wren_hollow.geojson'
    """
    store = store_of(cache)
    log, used = read_with_map(path, columns, store)
    noted = folder_of(log.path) / FILE_NAME
    notes = read_notes(noted).get(name_of(log.path), LogNotes())
    if isinstance(track, Track):
        chosen = Chosen(track, track.name)
    else:
        given = None if track is None else Path(track)
        library = None if tracks is None else Path(tracks)
        places = [] if given else places_for(log.path, library)
        chosen = choose_track_kept(store, log, given, places)
    session = Session(
        log, chosen.track, repeat_line=repeat_line, notes=notes, completed=chosen.completed,
        opened_with=OpenedWith(
            chosen.why, chosen.file, chosen.lines_only, used, chosen.remarks
        ),
        cache=store,
        limits=read_limits(noted),
    )  # fmt: skip
    # A circuit that cannot be used is an error here, not wherever the first result is asked for.
    _ = session.path
    return session
