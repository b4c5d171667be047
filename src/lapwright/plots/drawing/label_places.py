"""
Where labels go on a map: beside their place, clear of each other and of what is drawn.

One after the other, each where it costs least; the best places for all at once are not worth the
search for a dozen labels.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# Gaps between a place and its label that are tried, the nearest first, and directions. [pt]
_GAPS_PT = (7.0, 13.0, 20.0, 30.0, 42.0)
_DIRECTIONS = 16
# Lying over another label is worst, over a line bad; farther off and turned away cost a little.
_OVER_LABEL, _OVER_LINE, _AWAY, _TURNED = 100.0, 8.0, 0.12, 0.6


@dataclass(frozen=True, slots=True)
class Label:
    """
    What is to be placed.

    Attributes
    ----------
    at_pt : (float, float)
        The place it belongs to. [pt]
    size_pt : (float, float)
        Width and height. [pt]
    towards : (float, float)
        The direction it had best go, of length 1.
    """

    at_pt: tuple[float, float]
    size_pt: tuple[float, float]
    towards: tuple[float, float]


def label_places(labels: Sequence[Label], drawn_pt: Floats) -> list[tuple[float, float]]:
    """
    Place labels.

    Parameters
    ----------
    labels : sequence of Label
    drawn_pt : ndarray, shape (n, 2)
        Points of what is drawn, a few points apart. [pt]

    Returns
    -------
    list of (float, float)
        From each label's place to its middle. [pt]

    Examples
    --------
    >>> two = [Label((0.0, 0.0), (40.0, 10.0), (0.0, 1.0))] * 2
    >>> first, second = label_places(two, np.zeros((0, 2)))
    >>> first, abs(second[1] - first[1]) >= 10.0 or abs(second[0] - first[0]) >= 40.0
    ((0.0, 12.0), True)
    """
    taken: list[tuple[float, float, float, float]] = []
    offsets = []
    for label in labels:
        ways = [
            (_cost(label, offset, gap, taken, drawn_pt), k, offset)
            for k, (gap, offset) in enumerate(_candidates(label))
        ]
        offset = min(ways)[2]
        taken.append(_box(label, offset))
        offsets.append(offset)
    return offsets


def _candidates(label: Label) -> list[tuple[float, tuple[float, float]]]:
    """Gap and offset of the middle, from the wanted direction round to either side."""
    begin = float(np.arctan2(label.towards[1], label.towards[0]))
    turns = sorted(np.arange(_DIRECTIONS) - _DIRECTIONS // 2, key=abs)
    out = []
    for gap in _GAPS_PT:
        for turn in turns:
            angle = begin + 2.0 * np.pi * turn / _DIRECTIONS
            c, s = float(np.cos(angle)), float(np.sin(angle))
            # The middle of the box whose edge is a gap away.
            half = 0.5 * (abs(c) * label.size_pt[0] + abs(s) * label.size_pt[1])
            out.append((gap, (round((gap + half) * c, 2), round((gap + half) * s, 2))))
    return out


def _cost(
    label: Label, offset: tuple[float, float], gap: float,
    taken: Sequence[tuple[float, float, float, float]], drawn_pt: Floats,
) -> float:  # fmt: skip
    west, east, south, north = _box(label, offset)
    over = sum(
        max(min(east, e) - max(west, w), 0.0) * max(min(north, n) - max(south, s), 0.0) > 0.0
        for w, e, s, n in taken
    )
    x, y = drawn_pt.T if len(drawn_pt) else (np.zeros(0), np.zeros(0))
    lines = int(((x > west) & (x < east) & (y > south) & (y < north)).sum())
    along = float(np.dot(offset, label.towards)) / max(float(np.hypot(*offset)), 1e-9)
    return _OVER_LABEL * over + _OVER_LINE * lines + _AWAY * gap + _TURNED * (1.0 - along)


def _box(label: Label, offset: tuple[float, float]) -> tuple[float, float, float, float]:
    """West, east, south and north edge of a placed label."""
    x, y = label.at_pt[0] + offset[0], label.at_pt[1] + offset[1]
    half_x, half_y = 0.5 * label.size_pt[0], 0.5 * label.size_pt[1]
    return x - half_x, x + half_x, y - half_y, y + half_y
