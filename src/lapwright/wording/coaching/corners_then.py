"""What is said where corners have other numbers than in the session before."""

from collections.abc import Sequence

from lapwright.coaching.corners_then import CornersToday
from lapwright.coaching.tried import Tried
from lapwright.geometry import Track
from lapwright.units import Units, number


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


def which_are_meant(tried: Tried, then: CornersToday, track: Track) -> tuple[str, ...]:
    """
    Ask which corners are meant by entries whose number is, or may be, another corner than it was.

    Parameters
    ----------
    tried : Tried
    then : CornersToday
    track : Track
        Of this session.

    Returns
    -------
    tuple of str
        A question for each number.
    """
    there = {corner.order for corner in track.corners}
    said = []
    for entry, order in tried.doubtful:
        today = then.numbers.get(order)
        became = "no corner any more" if today is None else f"corner {today} today"
        why = f"Corner {order} of the session before is {became}."
        ways = [] if today is None else [f'"corner {today} now" for the corner of then']
        if order in there:
            ways.append(f'"corner {order} now" for the one that is {order} today')
        if order not in then.numbers:
            why = "Corners of this track have other numbers than in the session before."
            ways.append("another number of today in the same way")
        how = f" Write {', or '.join(ways)}." if ways else ""
        said.append(f'Which corner is meant by "{entry}"? {why}{how}')
    return tuple(said)


def by_number_alone(orders: Sequence[int], log_name: str, file_name: str) -> str:
    """
    Say that notes without a place are taken by number, though their own track counts otherwise.

    Parameters
    ----------
    orders : sequence of int
    log_name, file_name : str
        The log whose notes they are, and the track file beside it.

    Returns
    -------
    str
    """
    listed = ", ".join(str(order) for order in orders)
    which = "corner" if len(orders) == 1 else "corners"
    return (
        f"The notes of {log_name} say {which} {listed} without a place, and {file_name} beside it "
        "has another corner of that number than this track. They are taken by their number on "
        "this track; check that these are meant."
    )
