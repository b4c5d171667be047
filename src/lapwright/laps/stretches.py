"""
The stretches a lap is split into for its ledger: the same for all laps of a session.

They must not depend on the two laps compared, or swapping them would change more than the sign.  So
the beginning of each braking zone comes from all clean laps together (`lapwright.laps.slowing`), or
where there is none from a nominal car that corners, accelerates and brakes at fixed rates.
"""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from lapwright.geometry import Corner, Track

# A nominal club car (common practice, no source). It decides nothing but where 'straight' ends and
# 'braking' begins on the page.
_CORNER_MPS2, _ACCELERATE_MPS2, _BRAKE_MPS2 = 10.0, 3.0, 7.0
_TOP_MPS = 75.0
STRETCHES = ("braking", "entry", "exit", "straight")
# What a lap begins with, before it slows for the first corner, belongs to no corner: the straight
# behind the last one was driven a lap earlier.
FROM_LINE = 0


def nominal_braking(track: Track) -> list[float]:
    """
    Station at which the nominal car begins to brake for each corner.

    Parameters
    ----------
    track : Track
        With corners.

    Returns
    -------
    list of float
        At or before the corner's entry, at or after the exit of the corner before. [m]
    """
    length, corners = track.length_m, track.corners
    out = []
    for k, corner in enumerate(corners):
        before = corners[k - 1]
        gap = corner.entry_m - exit_behind(before, corner, length)
        v_out, v_in = _nominal_mps(before), _nominal_mps(corner)
        # Up from one speed, down to the other, within the distance there is.
        peak2 = (
            2.0 * _ACCELERATE_MPS2 * _BRAKE_MPS2 * gap
            + _BRAKE_MPS2 * v_out**2
            + _ACCELERATE_MPS2 * v_in**2
        ) / (_ACCELERATE_MPS2 + _BRAKE_MPS2)
        peak2 = min(peak2, _TOP_MPS**2)
        braking = max(0.0, (peak2 - v_in**2) / (2.0 * _BRAKE_MPS2))
        out.append(corner.entry_m - min(braking, gap))
    return out


def exit_behind(before: Corner, corner: Corner, length: float) -> float:
    """Exit of the corner before, unwrapped to lie at or behind this one's entry. [m]."""
    exit_m = before.exit_m
    while exit_m > corner.entry_m + 1e-9:
        exit_m -= length
    # Two corners that touch or overlap by rounding have no straight between them.
    return min(exit_m, corner.entry_m)


def _nominal_mps(corner: Corner) -> float:
    return min(float(np.sqrt(_CORNER_MPS2 * corner.radius_m)), _TOP_MPS)


def stretches(track: Track, slowing_m: Sequence[float] | None = None) -> pd.DataFrame:
    """
    The stretches of a lap.

    Parameters
    ----------
    track : Track
    slowing_m : sequence of float, optional
        For each corner the station from which the car usually slows for it, at or before the
        entry, see `lapwright.laps.slowing.usual_slowing`; a nominal car's where not given. [m]

    Returns
    -------
    DataFrame
        ``corner``, ``stretch``, ``start_m``, ``end_m``; they tile the lap from 0 to its length.
        Rows of no length are kept.  The stretch that holds the line gives two rows; the part of a
        straight behind the line is of corner 0, no corner's.
    """
    length, corners = track.length_m, track.corners
    if not corners:
        whole = {"corner": 0, "stretch": "straight", "start_m": 0.0, "end_m": length}
        return pd.DataFrame([whole])
    braking = nominal_braking(track) if slowing_m is None else list(slowing_m)
    edges: list[tuple[int, str, float, float]] = []
    for k, corner in enumerate(corners):
        after = (k + 1) % len(corners)
        to = braking[after] + (length if after <= k else 0.0)
        edges += [
            (corner.order, "braking", braking[k], corner.entry_m),
            (corner.order, "entry", corner.entry_m, corner.apex_m),
            (corner.order, "exit", corner.apex_m, corner.exit_m),
            (corner.order, "straight", corner.exit_m, max(to, corner.exit_m)),
        ]
    rows = []
    for order, name, start, end in edges:
        rows += _cut_at_line(order, name, start, end, length)
    table = pd.DataFrame(rows, columns=["corner", "stretch", "start_m", "end_m"])
    rank = table["stretch"].map({s: i for i, s in enumerate(STRETCHES)})
    table = table.assign(rank=rank).sort_values(
        ["start_m", "end_m", "corner", "rank"], kind="stable"
    )
    return table.drop(columns="rank").reset_index(drop=True)


def _cut_at_line(
    order: int, name: str, start: float, end: float, length: float
) -> list[tuple[int, str, float, float]]:
    """Bring a stretch into [0, length], in two pieces where the line lies inside it."""
    turn = np.floor(start / length) * length
    a, b = start - turn, end - turn
    if b <= length:
        return [(order, name, a, b)]
    first = FROM_LINE if name == "straight" else order
    return [(order, name, a, length), (first, name, 0.0, b - length)]
