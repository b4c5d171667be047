"""
The stretches a lap is split into for its ledger: fixed by the circuit alone.

They must not depend on the laps compared, or swapping two laps would change more than the sign.
So the beginning of each braking zone comes from the path's own shape: a nominal car that corners,
accelerates and brakes at fixed rates.
"""

import numpy as np
import pandas as pd

from lapwright.geometry import Corner, Track

# A nominal club car (common practice, no source). It decides nothing but where 'straight' ends and
# 'braking' begins on the page.
_CORNER_MPS2, _ACCELERATE_MPS2, _BRAKE_MPS2 = 10.0, 3.0, 7.0
_TOP_MPS = 75.0
STRETCHES = ("braking", "entry", "exit", "straight")


def braking_starts(track: Track) -> list[float]:
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
        gap = corner.entry_m - _behind(before, corner, length)
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


def _behind(before: Corner, corner: Corner, length: float) -> float:
    """Exit of the corner before, unwrapped to lie at or behind this one's entry."""
    exit_m = before.exit_m
    while exit_m > corner.entry_m + 1e-9:
        exit_m -= length
    # Two corners that touch or overlap by rounding have no straight between them.
    return min(exit_m, corner.entry_m)


def _nominal_mps(corner: Corner) -> float:
    return min(float(np.sqrt(_CORNER_MPS2 * corner.radius_m)), _TOP_MPS)


def stretches(track: Track) -> pd.DataFrame:
    """
    The stretches of a lap.

    Parameters
    ----------
    track : Track

    Returns
    -------
    DataFrame
        ``corner``, ``stretch``, ``start_m``, ``end_m``; they tile the lap from 0 to its length.
        Rows of no length are kept; the stretch that holds the line gives two rows.
    """
    length, corners = track.length_m, track.corners
    if not corners:
        whole = {"corner": 0, "stretch": "straight", "start_m": 0.0, "end_m": length}
        return pd.DataFrame([whole])
    braking = braking_starts(track)
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
    return [(order, name, a, length), (order, name, 0.0, b - length)]
