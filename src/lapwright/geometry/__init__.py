"""
Values and sums on a plane: lines a car crosses, a closed reference path, corners, the circuit.

Signs are those of ISO 8855: offset and curvature are positive to the left.
This room knows nothing of logs, and nothing of how a circuit is found in one.
"""

from lapwright.geometry.closed_curve import PathPoint
from lapwright.geometry.corner import Corner
from lapwright.geometry.gate import Gate
from lapwright.geometry.map_matching import MapMatch, map_match
from lapwright.geometry.passages import crossings, passages
from lapwright.geometry.path import ReferencePath
from lapwright.geometry.track import Track
from lapwright.geometry.trackfile.read_write import read_track, write_track

__all__ = [
    "Corner",
    "Gate",
    "MapMatch",
    "PathPoint",
    "ReferencePath",
    "Track",
    "crossings",
    "map_match",
    "passages",
    "read_track",
    "write_track",
]
