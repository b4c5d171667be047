"""A circuit as text: length, direction, lines, corners."""

from lapwright.cli.printing.table import table
from lapwright.geometry import Track
from lapwright.units import Units, error_bar, number
from lapwright.wording.terms import UNNAMED


def track_lines(track: Track, sure: str, units: Units) -> list[str]:
    """
    Say what a circuit is.

    Parameters
    ----------
    track : Track
        With a path.
    sure : str
        How sure it is, a sentence.
    units : Units

    Returns
    -------
    list of str
    """
    name = track.name or UNNAMED
    length = number(units.distance_of(track.length_m))
    if track.length_sd_m is not None:
        length += f" \N{PLUS-MINUS SIGN} {error_bar(units.distance_of(track.length_sd_m), most=1)}"
    count = len(track.corners)
    corners = f"{count} corner{'' if count == 1 else 's'}"
    lines = [f"{name}: {length} {units.distance}, {track.direction}, {corners}", sure]
    if len(track.gate_stations_m) > 1:
        places = ", ".join(
            number(units.distance_of(float(s)), most=0) for s in track.gate_stations_m[1:]
        )
        lines.append(f"Sector lines at {places} {units.distance} from the start/finish line")
    lines.append(f"Pit lane: {'found' if track.pit_lane is not None else 'not found'}")
    rows = [
        [
            str(c.order),
            "" if c.name == str(c.order) else c.name,
            c.direction,
            *(number(units.distance_of(v), most=0) for v in (c.entry_m, c.apex_m, c.exit_m)),
            number(units.distance_of(c.radius_m), most=0),
        ]
        for c in track.corners
    ]
    d = units.distance
    heads = ["corner", "", "", f"entry {d}", f"apex {d}", f"exit {d}", f"radius {d}"]
    return [*lines, "", table(heads, rows, left=[1, 2]), ""]
