"""
Which corner a note of an earlier session is about, on the track of today.

A corner's number changes when a corner is added or taken away before it, or when the
start/finish line moves; its place does not.  What the debrief wrote carries both, and the
place decides.  A number in a driver's own words may be the old or the new one: where the
two are different corners it is asked, not guessed (`lapwright.coaching.tried`).
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from lapwright.geometry import Track
from lapwright.geometry.corner import CornerMark
from lapwright.geometry.corner_list import marked
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.units import Units, number


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


def renumbered_remarks(then: CornersToday, log_name: str, units: Units) -> tuple[str, ...]:
    """
    Say which noted corners have another number today, and which are no corner any more.

    Parameters
    ----------
    then : CornersToday
    log_name : str
        The log whose notes they are.
    units : Units

    Returns
    -------
    tuple of str
    """
    said = [
        f"Corner {old} in the notes of {log_name} is corner {new} of this track: it is found by "
        "its place."
        for old, new in then.numbers.items()
        if new is not None
    ]
    for item in {i.corner: i for i in then.gone}.values():
        where = number(units.distance_of(item.station_m or 0.0), most=0)
        said.append(
            f"Corner {item.corner} in the notes of {log_name} was {where} {units.distance} after "
            "the start line of then. This track has no corner there, so it is not compared."
        )
    return tuple(said)


def which_is_meant(
    entry: str, order: int, numbers_then: Mapping[int, int | None], there: Collection[int]
) -> str:
    """
    Ask which corner an entry means whose number is, or may be, another corner than it was.

    Parameters
    ----------
    entry : str
        As written.
    order : int
        The number in it.
    numbers_then : mapping of int to (int or None)
        See `CornersToday.numbers`; what is not in it is not known.
    there : collection of int
        Numbers of the corners of this track.

    Returns
    -------
    str
    """
    today = numbers_then.get(order)
    became = "no corner any more" if today is None else f"corner {today} today"
    why = f"Corner {order} of the session before is {became}."
    ways = [] if today is None else [f'"corner {today} now" for the corner of then']
    ways += [f'"corner {order} now" for the one that is {order} today'] if order in there else []
    if order not in numbers_then:
        why = "Corners of this track have other numbers than in the session before."
        ways.append("another number of today in the same way")
    how = f" Write {', or '.join(ways)}." if ways else ""
    return f'Which corner is meant by "{entry}"? {why}{how}'


def numbers_differ(
    items: Sequence[WorthTrying], own: Track, track: Track, log_name: str, file_name: str
) -> str:
    """
    Say which items without a place have a number that is another corner in their own track file.

    Parameters
    ----------
    items : sequence of WorthTrying
        As noted then.
    own : Track
        Of the track file that lies beside their log.
    track : Track
        Of this session.
    log_name, file_name : str
        Of that log and that track file.

    Returns
    -------
    str
        Empty where there is none.
    """
    unsure = []
    for order in dict.fromkeys(i.corner for i in items if i.place_deg is None):
        corner = next((c for c in own.corners if c.order == order), None)
        if corner is None or corner_at_place(track, own.apex_deg(corner)) != order:
            unsure.append(str(order))
    if not unsure:
        return ""
    which = "corner " if len(unsure) == 1 else "corners "
    return (
        f"The notes of {log_name} say {which}{', '.join(unsure)} without a place, and "
        f"{file_name} beside it has another corner of that number than this track. They are taken "
        "by their number on this track; check that these are meant."
    )
