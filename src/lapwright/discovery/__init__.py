"""
Finding a circuit in a log: its path, corners, lines and pit lane, or that there is none.

This room takes logs or plain positions and gives tracks.  It works on thinned
fixes, because paths are averaged over laps; it knows nothing of lap times.
"""

from lapwright.discovery.corner_search.corners import find_corners
from lapwright.discovery.discover import Discovery, discover_from_positions, discover_track
from lapwright.discovery.library.known_tracks import (
    KnownTrack,
    LookUp,
    find_known_track,
    look_up,
)
from lapwright.discovery.library.reverse import reversed_track
from lapwright.discovery.library.track_folders import library_folder, save_to_library
from lapwright.discovery.loop.find_loop import NoCircuitError
from lapwright.discovery.loop.reference import complete_from_positions, complete_track
from lapwright.discovery.moment import start_line_at_time

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
