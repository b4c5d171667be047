"""
Finding a circuit in a log: its path, corners, lines and pit lane, or that there is none.

This room takes logs or plain positions and gives tracks.  It works on thinned
fixes, because paths are averaged over laps; it knows nothing of lap times.
"""

from lapwright.discovery.corners import find_corners
from lapwright.discovery.discover import Discovery, discover_from_positions, discover_track
from lapwright.discovery.known_tracks import (
    KnownTrack,
    LookUp,
    find_known_track,
    look_up,
)
from lapwright.discovery.loop import NoCircuitError
from lapwright.discovery.moment import start_line_at_time
from lapwright.discovery.reference import complete_from_positions, complete_track
from lapwright.discovery.reverse import reversed_track
from lapwright.discovery.track_folders import library_folder, save_to_library

__all__ = [
    "Discovery",
    "KnownTrack",
    "LookUp",
    "NoCircuitError",
    "complete_from_positions",
    "complete_track",
    "discover_from_positions",
    "discover_track",
    "find_corners",
    "find_known_track",
    "library_folder",
    "look_up",
    "reversed_track",
    "save_to_library",
    "start_line_at_time",
]
