"""
The driver's own envelope: cornering, braking and acceleration, place by place, as usually reached.

Cornering is that of the slowest places, found so that the model of the lap is there as fast as the
laps were: where the line bends most only smoothed values are known, and the same ones go in and
come out.  Where a car is slowest for another reason than grip (a kink on a straight, a kart out of
power) the cornering is far below that of the other corners, and theirs is taken.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.achievable.levels import Levels, find_levels
from lapwright.achievable.own_drive import OwnDrive, own_drive
from lapwright.achievable.solver import Limits, lap_times, steady_lap
from lapwright.achievable.usual_line import UsualLine
from lapwright.achievable.zone_runs import braking_runs, drive_runs
from lapwright.achievable.zones import Zones

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Less than this share of what most corners are taken with is not the limit of grip.
_AT_LIMIT = 0.75
_MOST = 0.75
# Fewer of a zone's runs than this share are not a zone's.
_KNOWN = 0.6
# An acceleration that differs by more from the car's own is a lift or a hill, not its limit.
_OWN = 0.2
# Twice round, and the model is as fast as the laps to a thousandth.
_ROUNDS = 2
# Spread of a value that comes from other places, where these cannot tell. Common practice, no
# source.
_SPREAD = 0.05


@dataclass(frozen=True, eq=False)
class Envelope:
    """
    What the driver reaches at each of k slowest places, as natural logarithms.

    Attributes
    ----------
    allowed, usual : ndarray, shape (3, k)
        Cornering [m/s²], braking [m/s²] and acceleration over the car's own [1], as in the better
        runs where a habit parts them, and as in all.
    influence, usual_influence : ndarray, shape (l, 3, k)
        By how much each lap moves them.
    spread : ndarray, shape (3, k)
        Standard deviation of those that come from other places; zero elsewhere.
    drive : OwnDrive
    """

    allowed: Floats
    usual: Floats
    influence: Floats
    usual_influence: Floats
    spread: Floats
    drive: OwnDrive


def find_envelope(line: UsualLine, zones: Zones) -> Envelope | None:
    """
    Find the driver's own envelope.

    Parameters
    ----------
    line : UsualLine
    zones : Zones

    Returns
    -------
    Envelope or None
        None where the car hardly accelerates or never brakes.
    """
    speeds = find_levels(2.0 * np.log(zones.held_speed(line.way_m, line.step_s)))
    held = _held(line, zones)
    at_limit = held > np.quantile(held, _MOST) + np.log(_AT_LIMIT)
    cornering = np.where(at_limit, held, held[at_limit].mean())
    drive = own_drive(line, zones, np.exp(cornering))
    if drive is None:
        return None
    for turn in range(_ROUNDS + 1):
        lateral = np.exp(cornering)
        braking = find_levels(np.log(braking_runs(line, zones, lateral, drive.drag_per_m)))
        push = find_levels(np.log(drive_runs(line, zones, lateral, drive)))
        if not np.isfinite(braking.level).any():
            return None
        brake, brake_known = _from_elsewhere(braking)
        gain, gain_known = _own_or_none(push)
        if turn == _ROUNDS:
            break
        allowed = np.stack([cornering, brake, gain])
        limits = limits_of(len(line.step_m), zones, allowed[:, :, None], drive)
        model = lap_times(line.step_m, steady_lap(line.step_m, line.curvature_per_m, limits))
        off = speeds.level - 2.0 * np.log(zones.held_speed(line.step_m, model.T)[0])
        cornering = cornering + np.where(at_limit, off, 0.0)
        cornering = np.where(at_limit, cornering, cornering[at_limit].mean())
    return _put_together(
        np.stack([cornering, brake, gain]), np.stack([at_limit, brake_known, gain_known]),
        (speeds, braking, push), drive,
    )  # fmt: skip


def limits_of(count: int, zones: Zones, logs: Floats, drive: OwnDrive) -> Limits:
    """
    Limits at every step of the lap, from those at the slowest places.

    Parameters
    ----------
    count : int
        Steps of the lap.
    zones : Zones
    logs : ndarray, shape (3, k, m)
        Cornering, braking and acceleration as in `Envelope`, in m variants.
    drive : OwnDrive

    Returns
    -------
    Limits
        Cornering goes over evenly from one slowest place to the next; braking holds up to each,
        acceleration from each on.
    """
    step, slow = np.arange(count), zones.slow
    after = np.searchsorted(slow, step) % len(slow)
    before = (after - 1) % len(slow)
    gap = np.mod(slow[after] - slow[before] - 1, count) + 1
    share = (np.mod(step - slow[before] - 1, count) + 1) / gap
    cornering = logs[0][before] * (1.0 - share)[:, None] + logs[0][after] * share[:, None]
    gain = np.exp(logs[2])[before]
    return Limits(
        np.exp(cornering), np.exp(logs[1])[after], drive.traction_mps2 * gain,
        drive.power_wpkg * gain, drive.drag_per_m,
    )  # fmt: skip


def _held(line: UsualLine, zones: Zones) -> Floats:
    """Logarithm of the usual cornering where it is highest, shape (k,)."""
    across = line.accel_lat_mps2.mean(axis=0)
    windows = zip(zones.held.tolist(), zones.width.tolist(), strict=True)
    sums = [abs(across[np.arange(a, a + w) % len(across)].mean()) for a, w in windows]
    return np.asarray(np.log(np.maximum(sums, 1e-3)))


def _from_elsewhere(levels: Levels) -> tuple[Floats, Flags]:
    """Levels, and which are a zone's own; where too few runs tell, the middle of the others."""
    known = np.isfinite(levels.values).mean(axis=0) >= _KNOWN
    own = levels.level[known if known.any() else np.isfinite(levels.level)]
    return np.where(known, levels.level, np.median(own)), known


def _own_or_none(levels: Levels) -> tuple[Floats, Flags]:
    """Levels of acceleration, and which are a zone's own; the car's own where too few tell."""
    known = np.isfinite(levels.values).mean(axis=0) >= _KNOWN
    known &= np.abs(np.nan_to_num(levels.level, nan=np.inf)) < _OWN
    return np.where(known, levels.level, 0.0), known


def _put_together(
    allowed: Floats, known: Flags, levels: tuple[Levels, ...], drive: OwnDrive
) -> Envelope:
    """With what each lap did to every value; those from other places move with their mean."""
    influence: list[Floats] = []
    usual_influence: list[Floats] = []
    usual: list[Floats] = []
    for value, own, one in zip(allowed, known, levels, strict=True):
        less = np.nan_to_num(one.usual - one.level)
        usual.append(np.where(own, value + less, value))
        for into, moved in ((influence, one.influence), (usual_influence, one.usual_influence)):
            mean = moved[:, own].mean(axis=1, keepdims=True) if own.any() else 0.0 * moved[:, :1]
            into.append(np.where(own, moved, mean))
    return Envelope(
        allowed, np.stack(usual), np.stack(influence, axis=1), np.stack(usual_influence, axis=1),
        np.where(known, 0.0, _SPREAD), drive,
    )  # fmt: skip
