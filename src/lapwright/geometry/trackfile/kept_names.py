"""
Corner names that somebody has given in a track file, kept when the file is written again.

A circuit that is found in another log knows its corners by number only; the names in the file it
goes to were typed by a person and are found nowhere else.
"""

from dataclasses import replace

from lapwright.geometry.corner import CornerMark
from lapwright.geometry.corner_list import is_number_name, marked
from lapwright.geometry.track import Track


def with_names_of(track: Track, older: Track) -> tuple[Track, tuple[str, ...]]:
    """
    Give a circuit's corners the names that an older file of the circuit has for them.

    Parameters
    ----------
    track : Track
        With a path.  A name of its own stays.
    older : Track
        As in the file.

    Returns
    -------
    track : Track
    lost : tuple of str
        Names of the older file for which there is no corner near.

    Examples
    --------
    >>> import lapwright as lw
    >>> track = lw.open_session("sample_sessions/friday_test.csv").shared_track
    >>> bare = track.with_corner_names([""] * len(track.corners))
    >>> named, lost = with_names_of(bare, track)
    >>> named.corners[0].name == track.corners[0].name, lost
    (True, ())
    """
    path = track.path
    if path is None:
        return track, ()
    names, lost = {}, []
    theirs = {corner.name for corner in track.corners}
    for mark in _named_places(older, track):
        at = marked(track.corners, mark, path)
        if at is None:
            if mark.name not in theirs | {one.name for one in track.corner_marks}:
                lost.append(mark.name)
        elif is_number_name(track.corners[at]):
            names[track.corners[at].order] = mark.name
    return (track.with_corner_names(names) if names else track), tuple(lost)


def _named_places(older: Track, track: Track) -> list[CornerMark]:
    """Places of the corners that have a name, on the plane of the other track."""
    places = [mark for mark in older.corner_marks if mark.name not in ("", str(mark.order))]
    known = {mark.name for mark in places}
    path = older.path
    for corner in older.corners:
        if path is not None and not is_number_name(corner) and corner.name not in known:
            east, north = path.beside([corner.apex_m], [0.0])
            places.append(CornerMark(corner.order, corner.name, (float(east[0]), float(north[0]))))
    carried = (track.plane.point_m(older.plane.point_deg(mark.apex_m)) for mark in places)
    return [replace(mark, apex_m=at) for mark, at in zip(places, carried, strict=True)]
