"""The calculated lap's speed along the lap, as a figure of the page."""

import numpy as np

from lapwright.plots.drawing.display_units import speed_in
from lapwright.report.html.along import STEP_M, corner_spans, distance_ticks, stations
from lapwright.report.html.figure import (
    MAX_Y_TICKS,
    Along,
    Curve,
    band,
    frame_y,
    padded,
    path,
    ticks,
)
from lapwright.report.report_data import ReportData
from lapwright.units import Units

_HEIGHT = 190
_MIN_SPEED = 20.0
# In drawing order: role and column.
_LINES = (("usual", "usual_mps"), ("best", "best_mps"), ("calculated", "allowed_mps"))


def adds_up_figure(material: ReportData, units: Units) -> Along | None:
    """
    Speed of the usual, the best and the calculated lap, the last with its 95 % interval.

    Parameters
    ----------
    material : ReportData
    units : Units

    Returns
    -------
    Along or None
        None where there is nothing to say.
    """
    if material.achievable is None:
        return None
    table, window = material.achievable.along, (0.0, material.length_m)
    s = stations(*window, STEP_M)
    speeds = {
        name: speed_in(
            np.interp(s, table["station_m"], table[name], period=material.length_m), units.speed
        )
        for name in table.columns
        if name != "station_m"
    }
    low = min(float(v.min()) for v in speeds.values())
    high = max(float(v.max()) for v in speeds.values())
    low, high = padded(low, high, 0.06, _MIN_SPEED)
    y = {name: frame_y(v, low, high) for name, v in speeds.items()}
    curves = (
        Curve("band", band(s, y["allowed_low95_mps"], y["allowed_high95_mps"])),
        *(Curve(role, path(s, y[name])) for role, name in _LINES),
    )
    label = "Speed along the lap: usual, best and calculated, the last with its 95 % interval"
    return Along(
        "speed", label, units.speed, *window, low, high, _HEIGHT, distance_ticks(window, units),
        ticks(low, high, MAX_Y_TICKS), curves, corner_spans(material.corners, window), (), None,
        linked=False,
    )  # fmt: skip
