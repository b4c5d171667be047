"""A track driven the other way, as some circuits are on some days."""

from dataclasses import replace

from lapwright.geometry.corner import Corner
from lapwright.geometry.corner_list import ordered
from lapwright.geometry.track import Track

REVERSED = " (reversed)"


def reversed_track(track: Track) -> Track:
    """
    Return a track driven the other way.

    Parameters
    ----------
    track : Track

    Returns
    -------
    Track
        Lines turned round, corners renumbered from the line (names that are more
        than a number stay with their corner), left and right changed over. The name
        says so; turned once more it is the first again.
    """
    name = track.name.removesuffix(REVERSED)
    if name == track.name:
        name = f"{name}{REVERSED}" if name else ""
    pit_lane = None if track.pit_lane is None else track.pit_lane[::-1]
    turned = replace(
        track,
        name=name,
        start_finish=track.start_finish.reversed(),
        sectors=tuple(gate.reversed() for gate in track.sectors[::-1]),
        path=None,
        corners=(),
        pit_lane=pit_lane,
        direction=None,
    )
    if track.path is None:
        return turned
    length_m = track.path.length_m
    corners = [
        Corner(
            corner.order,
            corner.name,
            "left" if corner.direction == "right" else "right",
            length_m - corner.exit_m,
            length_m - corner.apex_m,
            length_m - corner.entry_m,
            corner.radius_m,
        )
        for corner in track.corners
    ]
    return replace(
        turned,
        path=track.path.reversed(),
        corners=ordered(corners, length_m),
        length_sd_m=track.length_sd_m,
    )
