"""
Which corner a note of an earlier session is about, on the track of today.

A corner's number changes when a corner is added or taken away before it, or when the
start/finish line moves; its place does not.  What the debrief wrote carries both, and the
place decides.  A number in a driver's own words may be the old or the new one: where the
two are different corners it is asked, not guessed (`lapwright.coaching.tried`).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from lapwright.geometry import Track
from lapwright.geometry.corner import CornerMark
from lapwright.geometry.corner_list import marked
from lapwright.notes.worth_trying_item import WorthTrying


@dataclass(frozen=True)
class CornersToday:
    """
    Items of an earlier session with the numbers that their corners have today.

    Attributes
    ----------
    items : tuple of WorthTrying
        In the order given; one without a place keeps its number.
    numbers : dict of int to (int or None)
        What became of the numbers of then that are another corner today; None where there is no
        corner at the place any more.
    gone : tuple of WorthTrying
        Items at whose place there is no corner today; they are not among `items`.
    """

    items: tuple[WorthTrying, ...]
    numbers: dict[int, int | None] = field(default_factory=dict)
    gone: tuple[WorthTrying, ...] = ()


def with_places(items: Sequence[WorthTrying], track: Track) -> tuple[WorthTrying, ...]:
    """
    Give items the place of their corner, so that they are found again under another number.

    Parameters
    ----------
    items : sequence of WorthTrying
    track : Track
        The one their numbers are of.

    Returns
    -------
    tuple of WorthTrying
    """
    corners = {c.order: c for c in track.corners}
    placed = []
    for item in items:
        corner = corners.get(item.corner)
        if corner is not None:
            lat_deg, lon_deg = track.apex_deg(corner)
            item = replace(item, station_m=corner.apex_m, lat_deg=lat_deg, lon_deg=lon_deg)
        placed.append(item)
    return tuple(placed)


def corners_today(items: Sequence[WorthTrying], track: Track) -> CornersToday:
    """
    Find the corners of items of an earlier session on the track of this one.

    Parameters
    ----------
    items : sequence of WorthTrying
        As noted then.
    track : Track
        Of this session.

    Returns
    -------
    CornersToday
    """
    now: list[WorthTrying] = []
    gone: list[WorthTrying] = []
    numbers: dict[int, int | None] = {}
    for item in items:
        place_deg = item.place_deg
        order = item.corner if place_deg is None else corner_at_place(track, place_deg)
        if order != item.corner:
            numbers[item.corner] = order
        if order is None:
            gone.append(item)
        else:
            now.append(item if order == item.corner else replace(item, corner=order))
    return CornersToday(tuple(now), numbers, tuple(gone))


def corner_at_place(track: Track, place_deg: tuple[float, float]) -> int | None:
    """
    Return the number of the corner at a place.

    Parameters
    ----------
    track : Track
        With a path.
    place_deg : (float, float)
        Latitude and longitude. [deg]

    Returns
    -------
    int or None
        None where there is no corner, or the place is not on this track.
    """
    assert track.path is not None
    point_m = track.plane.point_m(place_deg)
    index = marked(track.corners, CornerMark(1, "", point_m), track.path)
    return None if index is None else track.corners[index].order


def numbers_in_doubt(items: Sequence[WorthTrying], own: Track, track: Track) -> tuple[int, ...]:
    """
    Return the numbers of items without a place that are another corner in their own track file.

    Parameters
    ----------
    items : sequence of WorthTrying
        As noted then.
    own : Track
        Of the track file that lies beside their log.
    track : Track
        Of this session.

    Returns
    -------
    tuple of int
    """
    unsure = []
    for order in dict.fromkeys(i.corner for i in items if i.place_deg is None):
        corner = next((c for c in own.corners if c.order == order), None)
        if corner is None or corner_at_place(track, own.apex_deg(corner)) != order:
            unsure.append(order)
    return tuple(unsure)
