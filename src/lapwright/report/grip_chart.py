"""Grip used: every moment of the clean laps, the driver's own envelope, and the share a corner."""

from dataclasses import dataclass

import numpy as np

from lapwright.columns import records
from lapwright.report.headline import corner_name
from lapwright.report.numbers import NOTHING
from lapwright.report.report_data import ReportData
from lapwright.units import STANDARD_GRAVITY_MPS2

_MAX_DOTS = 5000
_GRIP_SIZE = 320.0


@dataclass(frozen=True)
class GripChart:
    """Longitudinal against lateral acceleration, in a square picture."""

    size: float
    dots: str
    rings: tuple[tuple[float, str], ...]
    envelope: str


def grip_chart(material: ReportData) -> GripChart | None:
    """
    Grip used on the clean laps.

    Parameters
    ----------
    material : ReportData

    Returns
    -------
    GripChart or None
        None where there is no clean lap.
    """
    traces = [material.traces[int(n)] for n in material.clean["lap"] if int(n) in material.traces]
    if not traces:
        return None
    side = np.concatenate([t.accel_lat_mps2[t.inside] for t in traces]) / STANDARD_GRAVITY_MPS2
    along = np.concatenate([t.accel_long_mps2[t.inside] for t in traces]) / STANDARD_GRAVITY_MPS2
    every = max(1, -(-len(side) // _MAX_DOTS))
    reach = 1.06 * float(np.hypot(side, along).max())
    half = 0.5 * _GRIP_SIZE
    # Left is positive in the tables; on the page a left corner belongs on the left.
    x = np.rint(10.0 * half * (1.0 - side[::every] / reach)).astype(int)
    y = np.rint(10.0 * half * (1.0 - along[::every] / reach)).astype(int)
    dots = "".join(f"M{a} {b}h0" for a, b in zip(x, y, strict=True))
    rings = tuple((half * g / reach, f"{g:.1f} g") for g in np.arange(0.5, reach, 0.5))
    envelope = material.grip.envelope
    reached = envelope.reached_mps2.max(axis=0) / STANDARD_GRAVITY_MPS2
    # The envelope takes left and right together, so it is drawn on both sides.
    turn = np.radians(np.concatenate([envelope.direction_deg, envelope.direction_deg[::-1]]))
    sides = np.repeat([1.0, -1.0], len(reached))
    reached = np.concatenate([reached, reached[::-1]])
    ex = np.rint(10.0 * half * (1.0 + sides * reached * np.cos(turn) / reach)).astype(int)
    ey = np.rint(10.0 * half * (1.0 - reached * np.sin(turn) / reach)).astype(int)
    outline = "M" + "L".join(f"{a} {b}" for a, b in zip(ex, ey, strict=True)) + "z"
    return GripChart(_GRIP_SIZE, dots, rings, outline)


def grip_rows(material: ReportData) -> list[tuple[int, str, tuple[str, ...]]]:
    """
    Say how much of their own envelope the driver used in each corner.

    Parameters
    ----------
    material : ReportData

    Returns
    -------
    list of (int, str, tuple of str)
        Corner, its name, and the shares in braking, mid-corner and exit in percent.
    """
    rows = []
    for row in records(material.grip.corners):
        shares = [float(row[f"grip_{phase}"]) for phase in ("braking", "middle", "exit")]
        cells = tuple(f"{100.0 * v:.0f} %" if np.isfinite(v) else NOTHING for v in shares)
        rows.append((int(row["corner"]), corner_name(material, int(row["corner"])), cells))
    return rows
