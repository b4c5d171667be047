"""
What the driver did in every run through every corner and on every lap, by the logged channels.

Places are where the car was at the moment the channel says.  A logger that writes its channels
later than its positions shifts all of them alike, which no difference between laps sees.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.columns import arranged, empty, records
from lapwright.columns.driver import DRIVER, DRIVER_LAPS
from lapwright.corners.driver_inputs import FULL, ON, Channel
from lapwright.corners.gears import Gears, find_gears
from lapwright.corners.pass_points import THROTTLE_ON
from lapwright.corners.pedal_use import (
    BRAKING,
    brake_limit_s,
    braking_use,
    closed_share,
    full_throttle_s,
    hesitations,
)
from lapwright.corners.steering_use import steering_use, straight_ahead
from lapwright.laps.lap_trace import LapTrace
from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

# The gear at the slowest point is that of so long about it; one that changes there is none.
_GEAR_S = 0.25
# A change of gear within so long of a closing of the throttle is what it was closed for.
_SHIFT_S = 0.2
# Finer than any channel of a car is logged.
_FINE_S = 0.005


@dataclass(frozen=True, eq=False)
class DriverInputs:
    """
    A session's channels, and what of them holds for all of its laps.

    Attributes
    ----------
    channels : mapping of str to Channel
        By role.
    straight_ahead : float
        What the steering reads there, on its scaled range; NaN where not known.
    gears : Gears or None
        None where engine speed and speed do not show them.
    gear : Channel or None
        Gear against time by the two.
    """

    channels: Mapping[str, Channel]
    straight_ahead: float
    gears: Gears | None
    gear: Channel | None


def driver_inputs(
    channels: Mapping[str, Channel], motion: Motion, traces: Mapping[int, LapTrace]
) -> DriverInputs:
    """
    Find out what holds for all laps: where the steering is straight, which gears there are.

    Parameters
    ----------
    channels : mapping of str to Channel
    motion : Motion
    traces : mapping of int to LapTrace

    Returns
    -------
    DriverInputs
    """
    steering, rpm = channels.get("steering"), channels.get("rpm")
    ahead = np.nan if steering is None else straight_ahead(steering, list(traces.values()))
    gears = gear = None
    if rpm is not None:
        known = (rpm.time_s >= motion.start_s) & (rpm.time_s <= motion.end_s)
        time, turning = rpm.time_s[known], rpm.raw[known]
        speed = motion.at(time).speed_mps
        gears = find_gears(turning, speed)
        if gears is not None:
            gear = Channel("gear", time, gears.gear(turning, speed))
    return DriverInputs(channels, ahead, gears, gear)


def driver_table(
    inputs: DriverInputs, traces: Mapping[int, LapTrace], passes: pd.DataFrame
) -> pd.DataFrame:
    """
    Describe what the driver did in every run through a corner.

    Parameters
    ----------
    inputs : DriverInputs
    traces : mapping of int to LapTrace
        Of every lap in `passes`.
    passes : DataFrame
        See `lapwright.Session.passes`.

    Returns
    -------
    DataFrame
        See `lapwright.columns.driver.DRIVER`; no row where the log has no such channel.
    """
    if passes.empty or not inputs.channels:
        return empty(DRIVER)
    rows = []
    for row in records(passes):
        here = {str(key): value for key, value in row.items()}
        rows.append(_run(inputs, traces[int(row["lap"])], here))
    return arranged(pd.DataFrame(rows), DRIVER)


def _run(inputs: DriverInputs, trace: LapTrace, row: "dict[str, float]") -> dict[str, object]:
    braking = _braking(inputs.channels.get("brake"), trace, row)
    throttle = _throttle(inputs, trace, row)
    steering = inputs.channels.get("steering")
    peak, corrections = (
        (np.nan, np.nan)
        if steering is None
        else steering_use(steering, row["entry_s"], row["exit_s"], inputs.straight_ahead)
    )
    return {
        "lap": int(row["lap"]), "corner": int(row["corner"]), **braking,
        "brake_off_station_m": _station(trace, braking["brake_off_s"]),
        **_coasting(inputs.channels.get("throttle"), trace, braking, row), **throttle,
        "steering_peak": peak,
        "steering_peak_sd": np.nan if steering is None else abs(steering.span) * steering.noise,
        "steering_corrections": corrections, "gear": _gear(inputs.gear, row["min_speed_s"]),
    }  # fmt: skip


def _station(trace: LapTrace, time_s: float) -> float:
    if not trace.time_s[0] <= time_s <= trace.time_s[-1] or trace.unseen(time_s):
        return np.nan
    return float(np.interp(time_s, trace.time_s, trace.station_m))


def _braking(brake: Channel | None, trace: LapTrace, row: "dict[str, float]") -> dict[str, float]:
    if brake is None or not np.isfinite(row["brake_s"]):
        return dict.fromkeys(BRAKING, np.nan)
    turn_in_s, turn_in_sd_s = np.nan, np.nan
    if np.isfinite(row["turn_in_station_m"]):
        turn_in_s = float(trace.time_at(row["turn_in_station_m"])[0])
        speed = float(np.interp(turn_in_s, trace.time_s, trace.speed_mps))
        turn_in_sd_s = row["turn_in_station_sd_m"] / max(speed, 1.0)
    limit = brake_limit_s(row["throttle_s"], row["exit_s"])
    return braking_use(brake, row["brake_s"], limit, turn_in_s, turn_in_sd_s)


def _coasting(
    throttle: Channel | None, trace: LapTrace, braking: "dict[str, float]",
    row: "dict[str, float]",
) -> dict[str, float]:  # fmt: skip
    """From brakes off to throttle on, less what the throttle was open for in between."""
    off, on = braking["brake_off_s"], row["throttle_s"]
    none = dict.fromkeys(("coast_s", "coast_sd_s", "coast_m", "coast_sd_m"), np.nan)
    if throttle is None or not np.isfinite([off, on]).all():
        return none
    if trace.unseen(off) or trace.unseen(on) or not throttle.whole(min(off, on), max(off, on)):
        return none
    ends = np.array([braking["brake_off_sd_s"], throttle.moment_sd_s(on)])
    speed = float(np.interp(off, trace.time_s, trace.speed_mps))
    if on <= off:
        sd = float(np.hypot(*ends))
        return {"coast_s": 0.0, "coast_sd_s": sd, "coast_m": 0.0, "coast_sd_m": sd * speed}
    time, closed = closed_share(throttle, off, on, THROTTLE_ON)
    station = np.interp(time, trace.time_s, trace.station_m)
    # Every opening in between adds two moments that are known to a sample.
    partly = np.count_nonzero((closed > 0.0) & (closed < 1.0)) - 1
    sd = float(np.sqrt(np.sum(ends**2) + max(partly, 0) * ends[1] ** 2))
    return {
        "coast_s": float(closed @ np.diff(time)), "coast_sd_s": sd,
        "coast_m": float(closed @ np.diff(station)), "coast_sd_m": sd * speed,
    }  # fmt: skip


def _throttle(inputs: DriverInputs, trace: LapTrace, row: "dict[str, float]") -> dict[str, float]:
    throttle, on = inputs.channels.get("throttle"), row["throttle_s"]
    out = dict.fromkeys(
        ("hesitations", "hesitation_s", "hesitation_sd_s", "full_throttle_s",
         "full_throttle_sd_s", "full_throttle_station_m"), np.nan,
    )  # fmt: skip
    if throttle is None or not np.isfinite(on):
        return out
    # Full throttle is looked for on the straight behind the corner too, up to the lap trace's end.
    ends = np.searchsorted(trace.time_s, [on, row["exit_s"]])
    slower = np.flatnonzero(trace.accel_long_mps2[ends[1] :] < 0.0)
    until = float(trace.time_s[ends[1] + slower[0]] if len(slower) else trace.time_s[-1])
    full = full_throttle_s(throttle, on, max(until, row["exit_s"]))
    if np.isfinite(full) and throttle.whole(on, full):
        out |= {
            "full_throttle_s": full, "full_throttle_sd_s": throttle.moment_sd_s(full),
            "full_throttle_station_m": _station(trace, full),
        }  # fmt: skip
    end = np.fmin(full, row["exit_s"])
    if end <= on:
        return out | {"hesitations": 0.0, "hesitation_s": 0.0, "hesitation_sd_s": 0.0}
    if not throttle.whole(on, end):
        return out
    closed = [one for one in hesitations(throttle, on, end) if not _shifted(inputs.gear, one)]
    sds = [throttle.moment_sd_s(moment) for one in closed for moment in one]
    return out | {
        "hesitations": float(len(closed)), "hesitation_s": float(sum(b - a for a, b in closed)),
        "hesitation_sd_s": float(np.sqrt(np.sum(np.square(sds)))),
    }  # fmt: skip


def _shifted(gear: Channel | None, closed: tuple[float, float]) -> bool:
    """Whether another gear was in after the throttle closed than before."""
    if gear is None:
        return False
    part = gear.part(closed[0] - _SHIFT_S, closed[1] + _SHIFT_S)
    there = gear.value[part]
    there = there[np.isfinite(there)]
    return len(there) > 1 and bool(there[0] != there[-1])


def _gear(gear: Channel | None, moment_s: float) -> float:
    if gear is None:
        return np.nan
    about = gear.value[gear.part(moment_s - _GEAR_S, moment_s + _GEAR_S)]
    if len(about) < 2 or not np.isfinite(about).all() or np.ptp(about) > 0.0:
        return np.nan
    return float(about[0])


def driver_laps(channels: Mapping[str, Channel], traces: Mapping[int, LapTrace]) -> pd.DataFrame:
    """
    Shares of each lap's time at full throttle, coasting and braking.

    Parameters
    ----------
    channels : mapping of str to Channel
    traces : mapping of int to LapTrace

    Returns
    -------
    DataFrame
        See `lapwright.columns.driver.DRIVER_LAPS`; no row where the log has no pedal.
    """
    throttle, brake = channels.get("throttle"), channels.get("brake")
    if (throttle is None and brake is None) or not traces:
        return empty(DRIVER_LAPS)
    rows = []
    for lap, trace in traces.items():
        ends = trace.start_s, trace.end_s
        time = np.arange(*ends, _FINE_S)
        open_, pressed = (_scaled(one, time, ends) for one in (throttle, brake))
        coasting = (open_ <= THROTTLE_ON) & (pressed <= ON) if throttle and brake else None
        row: dict[str, object] = {"lap": lap}
        for name, flags, of in (
            ("full_throttle", open_ > FULL, throttle), ("coasting", coasting, throttle),
            ("braking", pressed > ON, brake),
        ):  # fmt: skip
            share, sd = _share(flags, of, ends)
            row |= {f"{name}_share": share, f"{name}_share_sd": sd}
        rows.append(row)
    return arranged(pd.DataFrame(rows), DRIVER_LAPS)


def _scaled(channel: Channel | None, time: Floats, ends: tuple[float, float]) -> Floats:
    """A channel on its scaled range; NaN all along where it is not whole."""
    if channel is None or not channel.whole(*ends):
        return np.full(len(time), np.nan)
    return np.interp(time, channel.time_s, channel.value)


def _share(
    flags: "npt.NDArray[np.bool_] | None", channel: Channel | None, ends: tuple[float, float]
) -> tuple[float, float]:
    """Share of a lap and its error bar: each change is known to a sample of the channel."""
    if flags is None or channel is None or not channel.whole(*ends):
        return np.nan, np.nan
    changes = int(np.count_nonzero(np.diff(flags)))
    step = (ends[1] - ends[0]) / max(len(channel.time_s[channel.part(*ends)]), 1)
    return float(flags.mean()), float((changes / 12.0) ** 0.5 * step / (ends[1] - ends[0]))
