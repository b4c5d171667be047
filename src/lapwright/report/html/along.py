"""Speed and delta along the lap, or around one corner, as figures of the page."""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import records
from lapwright.corners.driver_inputs import Channel
from lapwright.laps.comparison import Comparison, time_since_start
from lapwright.laps.lap_trace import LapTrace
from lapwright.numerics.runs import flag_runs
from lapwright.plots.drawing.display_units import speed_in
from lapwright.report.html.figure import (
    MAX_Y_TICKS,
    Along,
    Curve,
    Mark,
    Span,
    Tick,
    band,
    frame_y,
    padded,
    path,
    ticks,
)
from lapwright.report.two_laps import TwoLaps
from lapwright.units import Units
from lapwright.wording.driver import WORDS, channel_name

Floats = npt.NDArray[np.float64]

STEP_M = 5.0
_MIN_DELTA_S = 0.06
_MIN_SPEED = 20.0
_CHANNEL_TICKS = 3


def stations(start_m: float, end_m: float, step_m: float = STEP_M) -> Floats:
    """Stations of a figure, both ends among them."""
    return np.append(np.arange(start_m, end_m - 1e-6, step_m), end_m)


def speed_figure(
    material: TwoLaps, laps: "list[tuple[int, str]]", window: tuple[float, float], units: Units,
    height: int, label: str, marks: "list[tuple[str, str, float, str]] | None" = None,
) -> Along:  # fmt: skip
    """
    Speed against distance from the line.

    Parameters
    ----------
    material : TwoLaps
    laps : list of (int, str)
        Lap and role, in drawing order.
    window : (float, float)
        Stations at the ends. [m]
    units : Units
    height : int
        [px]
    label : str
        What the figure shows, in words.
    marks : list of (kind, role, station_m, text), optional
        Drawn on the line of the lap with that role.

    Returns
    -------
    Along
    """
    s = stations(*window)
    lines = [
        (lap, role, speed_in(material.traces[lap].at_station("speed_mps", s), units.speed))
        for lap, role in laps
    ]
    low = min((float(v.min()) for _, _, v in lines), default=0.0)
    high = max((float(v.max()) for _, _, v in lines), default=1.0)
    low, high = padded(low, high, 0.06, _MIN_SPEED)
    curves = tuple(Curve(role, path(s, frame_y(v, low, high)), lap) for lap, role, v in lines)
    by_role = {role: v for _, role, v in lines}
    placed = []
    for kind, role, station, text in marks or []:
        if role in by_role and window[0] <= station <= window[1]:
            level = float(np.interp(station, s, by_role[role]))
            share = (station - window[0]) / (window[1] - window[0])
            placed.append(Mark(kind, role, share, (high - level) / (high - low), text))
    return Along(
        "speed", label, units.speed, *window, low, high, height, distance_ticks(window, units),
        ticks(low, high, MAX_Y_TICKS), curves, corner_spans(material.corners, window),
        tuple(placed),
    )  # fmt: skip


def delta_figure(
    comparison: Comparison, corners: pd.DataFrame, window: tuple[float, float], units: Units,
    height: int, label: str, role: str = "usual", *, linked: bool = True,
) -> Along:  # fmt: skip
    """
    Delta against distance from the line, with a band of one sd.

    Parameters
    ----------
    comparison : Comparison
    corners : DataFrame
    window : (float, float)
        Stations at the ends. [m]
    units : Units
    height : int
        [px]
    label : str
        What the figure shows, in words.
    role : str
        Of the compared lap.
    linked : bool
        Whether the script may redraw it for another lap.

    Returns
    -------
    Along
    """
    s = stations(*window)
    table = comparison.delta
    value, sd = (np.interp(s, table["station_m"], table[c]) for c in ("delta_s", "delta_sd_s"))
    whole = window[1] - window[0] > 0.9 * float(table["station_m"].iloc[-1])
    ends = (float((value - sd).min()), float((value + sd).max()))
    if whole:
        ends = min(ends[0], 0.0), max(ends[1], 0.0)
    low, high = padded(*ends, 0.1, _MIN_DELTA_S)
    y = [frame_y(v, low, high) for v in (value, value - sd, value + sd)]
    curves = (
        Curve("band", band(s, y[1], y[2]), comparison.lap),
        Curve(role, path(s, y[0]), comparison.lap),
    )
    zero = (high - 0.0) / (high - low) if low < 0.0 < high else None
    return Along(
        "delta", label, "s", *window, low, high, height, distance_ticks(window, units),
        ticks(low, high, MAX_Y_TICKS), curves, corner_spans(corners, window), (), zero, linked,
    )  # fmt: skip


def channel_figure(
    material: TwoLaps, role: str, laps: "list[tuple[int, str]]", window: tuple[float, float],
    units: Units, height: int,
) -> Along:  # fmt: skip
    """
    Draw a logged channel against distance from the line; holes in it stay empty.

    Parameters
    ----------
    material : TwoLaps
    role : str
        One of `material.channels`.
    laps : list of (int, str)
        Lap and its part in the picture, in drawing order.
    window : (float, float)
        Stations at the ends. [m]
    units : Units
    height : int
        [px]

    Returns
    -------
    Along
    """
    channel, s = material.channels[role], stations(*window)
    lines = [(lap, part, channel_along(material.traces[lap], channel, s)) for lap, part in laps]
    known = np.concatenate([values[np.isfinite(values)] for _, _, values in lines])
    ends = (float(known.min()), float(known.max())) if len(known) else (0.0, 1.0)
    low, high = padded(*ends, 0.08, 0.1 * abs(channel.span))
    curves = tuple(
        Curve(part, _broken_path(s, frame_y(values, low, high)), lap) for lap, part, values in lines
    )
    name = channel_name(role, channel.unit)
    return Along(
        role, f"{name} along the lap", channel.unit, *window, low, high, height,
        distance_ticks(window, units), ticks(low, high, _CHANNEL_TICKS), curves,
        corner_spans(material.corners, window),
    )  # fmt: skip


def channel_along(trace: LapTrace, channel: Channel, station_m: Floats) -> Floats:
    """Return what a channel said at stations of a lap, in its own unit; NaN in its holes."""
    return channel.at(trace.time_at(station_m))


def _broken_path(x: Floats, y: Floats) -> str:
    return "".join(path(x[a : b + 1], y[a : b + 1]) for a, b in flag_runs(np.isfinite(y)))


def distance_ticks(window: tuple[float, float], units: Units) -> tuple[Tick, ...]:
    """Ticks at round distances from the line, in the unit that is shown."""
    return ticks(units.distance_of(window[0]), units.distance_of(window[1]), 7)


def corner_spans(corners: pd.DataFrame, window: tuple[float, float]) -> tuple[Span, ...]:
    """Corners within a window, as shares of it where written, in metres where drawn."""
    out = []
    span = window[1] - window[0]
    for row in records(corners):
        start, end = max(row["entry_m"], window[0]), min(row["exit_m"], window[1])
        if end > start and window[0] <= row["apex_m"] <= window[1]:
            middle = (row["apex_m"] - window[0]) / span
            out.append(Span(start, end, middle, str(row["corner"])))
    return tuple(out)


def lap_arrays(
    material: TwoLaps, units: Units, laps: Sequence[int] | None = None
) -> dict[str, object]:
    """
    Numbers for the script: speed and delta of timed laps at the same stations.

    Parameters
    ----------
    material : TwoLaps
    units : Units
    laps : sequence of int, optional
        All there are where not given.

    Returns
    -------
    dict
        Whole numbers: tenths of a speed unit, milliseconds (of error bars tenths), decimetres;
        channels by their own ``scale``.
    """
    if material.best is None:
        return {}
    s = stations(0.0, material.length_m)
    reference = material.traces[material.best]
    base = time_since_start(reference, s)
    place = np.stack([reference.at_station(f"{c}_m", s) for c in ("east", "north")])
    shown = material.traces if laps is None else {n: material.traces[n] for n in laps}
    usual = material.usual
    return {
        "step": STEP_M,
        "length": round(material.length_m, 2),
        "best": material.named(material.best),
        "usual": None if usual is None else material.named(usual),
        "usual_is": material.usual_is,
        "usual_word": material.usual_word,
        "units": units.speed,
        "distance": [units.distance, units.distance_of(1.0)],
        "channels": [_channel_facts(*one) for one in material.channels.items()],
        "place": np.rint(10.0 * place).astype(int).tolist(),
        "laps": {
            str(material.named(lap)): {
                "speed": _tenths(trace, s, units),
                "delta": np.rint(1e3 * (time_since_start(trace, s) - base)).astype(int).tolist(),
                "sd": _sd(material, lap, s),
                **{role: _whole(trace, one, s) for role, one in material.channels.items()},
            }
            for lap, trace in shown.items()
        },
        "corners": [
            [int(r["corner"]), str(r["name"]), round(r["entry_m"], 1), round(r["exit_m"], 1)]
            for r in records(material.corners)
        ],
    }


def _scale(channel: Channel) -> int:
    """By how much a channel is multiplied to be written in whole numbers: a 1000th of its range."""
    return int(10 ** max(0, 3 - math.floor(math.log10(abs(channel.span)))))


def _channel_facts(role: str, channel: Channel) -> dict[str, object]:
    return {"kind": role, "name": WORDS[role], "unit": channel.unit, "scale": _scale(channel)}


def _whole(trace: LapTrace, channel: Channel, s: Floats) -> list[int | None]:
    """A channel in whole numbers; None where it has a hole."""
    values = np.rint(_scale(channel) * channel_along(trace, channel, s))
    return [int(v) if math.isfinite(v) else None for v in values]


def _sd(material: TwoLaps, lap: int, s: Floats) -> list[int]:
    """Error bar of a lap's delta, in tenths of a millisecond; the usual lap's as it was drawn."""
    c = material.comparison
    if c is not None and lap == material.usual:
        sd = np.interp(s, c.delta["station_m"], c.delta["delta_sd_s"])
    else:
        sd = np.interp(s, material.sd_station_m, material.delta_sds[lap])
    return [int(v) for v in np.rint(1e4 * sd)]


def _tenths(trace: LapTrace, s: Floats, units: Units) -> list[int]:
    speed = speed_in(trace.at_station("speed_mps", s), units.speed)
    return [int(v) for v in np.rint(10.0 * speed)]
