"""
How a thing worth trying is said: plain words, numbers with units, nothing beyond own passes.

Numbers are rounded towards the usual passes, so that rounding never names a place or a speed that
was not driven.
"""

import numpy as np
import numpy.typing as npt

from lapwright.analysis.worth_trying_item import WorthTrying
from lapwright.geometry import Corner

Floats = npt.NDArray[np.float64]

# Metres a second in one of each; mph by the international yard of 1959 (0.9144 m exactly).
SPEED_UNITS = {"km/h": 1.0 / 3.6, "mph": 1609.344 / 3600.0, "m/s": 1.0}


def lap_list(laps: tuple[int, ...]) -> str:
    """Laps as said: ``lap 3``, ``laps 3, 5 and 8``."""
    if len(laps) == 1:
        return f"lap {laps[0]}"
    return f"laps {', '.join(str(n) for n in laps[:-1])} and {laps[-1]}"


def rounded_towards(value: float, towards: float, decimals: int = 0) -> str:
    """Round a number, but not away from another one."""
    scale = 10.0**decimals
    near = np.round(value * scale) / scale
    if (near - value) * (towards - value) < 0.0:
        near = (np.floor if towards < value else np.ceil)(value * scale) / scale
    return f"{near:.{decimals}f}"


def seconds(value: float, sd: float) -> str:
    """A time with its error bar, no finer than the error bar deserves."""
    decimals = 3 if sd < 0.005 else 2
    return f"{value:.{decimals}f} ± {max(sd, 10.0**-decimals):.{decimals}f} s"


def named(corner: Corner) -> str:
    """Name of a corner, empty where it has none but its number."""
    name = corner.name or ""
    return "" if name == str(corner.order) else name


def place(corner: Corner) -> str:
    """Where: number and, if it has one, name."""
    name = named(corner)
    return f"Corner {corner.order} ({name})" if name else f"Corner {corner.order}"


def item_text(item: WorthTrying, corner: Corner, column: str, speed_unit: str, clock: str) -> str:
    """
    Say a thing worth trying as a coach would.

    Parameters
    ----------
    item : WorthTrying
        Without its text.
    corner : Corner
    column : str
        The quantity ``item.usual`` and ``item.better`` are of.
    speed_unit : {"km/h", "mph", "m/s"}
    clock : {"span", "run_in", "run_out"}
        What the time at stake was measured over.

    Returns
    -------
    str
    """
    stake = seconds(item.time_at_stake_s, item.time_at_stake_sd_s)
    laps = lap_list(item.better_laps)
    where = place(corner)
    if item.code == "braking":
        better, usual = (corner.entry_m - v for v in (item.better, item.usual))
        said = (
            f"{where}: worth trying is braking where you did on your quicker passes ({laps}), "
            f"about {rounded_towards(better, usual)} m before the corner and no later, instead of "
            f"the usual {rounded_towards(usual, better)} m"
        )
        if better > usual:
            said = (
                f"{where}: worth trying is braking a little earlier and releasing sooner, as on "
                f"your quicker passes ({laps}): about {rounded_towards(better, usual)} m before "
                f"the corner instead of the usual {rounded_towards(usual, better)} m"
            )
    elif item.code == "minimum_speed":
        scale = SPEED_UNITS[speed_unit]
        better, usual = item.better / scale, item.usual / scale
        said = (
            f"{where}: worth trying is carrying the minimum speed of your quicker passes ({laps}), "
            f"about {rounded_towards(better, usual)} {speed_unit} instead of the usual "
            f"{rounded_towards(usual, better)} {speed_unit}"
        )
    elif item.code == "throttle":
        said = (
            f"{where}: worth trying is going back to the throttle where you did on your quicker "
            f"passes ({laps}), {_past_apex(item.better, item.usual, corner)} instead of the usual "
            f"{_past_apex(item.usual, item.better, corner)}"
        )
    else:
        said = (
            f"{where}: worth trying is the line of your quicker passes ({laps}), "
            f"{_aside(item.better, item.usual)} the reference line at {_POINTS[column]} instead of "
            f"the usual {_aside(item.usual, item.better)} it"
        )
    return f"{said}. Those passes were {stake} quicker {_OVER[clock]}."


_POINTS = {
    "turn_in_offset_m": "turn-in", "apex_offset_m": "the apex", "exit_offset_m": "the exit"
}  # fmt: skip


_OVER = {
    "span": "from this braking zone to the next",
    "run_in": "from there to the slowest point, and lost nothing after it",
    "run_out": "from the slowest point to the next braking zone",
}


def _past_apex(station: float, towards: float, corner: Corner) -> str:
    past = station - corner.apex_m
    if past >= 0.0:
        return f"{rounded_towards(past, towards - corner.apex_m)} m past the apex"
    return f"{rounded_towards(-past, corner.apex_m - towards)} m before the apex"


def _aside(offset: float, towards: float) -> str:
    side = "left" if offset >= 0.0 else "right"
    sign = 1.0 if offset >= 0.0 else -1.0
    return f"{rounded_towards(sign * offset, sign * towards, 1)} m to the {side} of"


def evidence_text(
    item: WorthTrying, corner: Corner, column: str, speed_unit: str, usual: Floats, better: Floats
) -> str:
    """
    Say what an item rests on.

    Parameters
    ----------
    item : WorthTrying
    corner : Corner
    column : str
    speed_unit : {"km/h", "mph", "m/s"}
    usual, better : ndarray
        The quantity on the usual and on the quicker passes.

    Returns
    -------
    str
    """
    unit, what, scale, zero = "m", "", 1.0, 0.0
    if item.code == "braking":
        what, scale, zero = "before the corner", -1.0, corner.entry_m
    elif item.code == "minimum_speed":
        unit, scale = speed_unit, SPEED_UNITS[speed_unit]
    elif item.code == "throttle":
        what, zero = "past the apex", corner.apex_m
    else:
        what = "to the left"
    decimals = 1 if item.code in ("line", "minimum_speed") else 0

    def spread(values: Floats) -> str:
        shown = (values - zero) / scale
        low = np.ceil(shown.min() * 10.0**decimals) / 10.0**decimals
        high = np.floor(shown.max() * 10.0**decimals) / 10.0**decimals
        low, high = min(low, high), max(low, high)
        return f"{low:.{decimals}f} to {high:.{decimals}f} {unit} {what}".rstrip()

    often = max(2, round(1.0 / item.chance))
    return (
        f"{len(better)} of {len(better) + len(usual)} clean passes at {spread(better)}, the other "
        f"{len(usual)} at {spread(usual)}; a driver who only varies from lap to lap would give "
        f"evidence as strong in about one session of {often}."
    )
