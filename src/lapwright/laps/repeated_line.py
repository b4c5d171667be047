"""
The road as a sensor: what a repeated line says about the receiver's drift.

A driver repeats a line to some decimetres, and a lap turns through every compass heading.  So the
distance of a lap from the usual line, place after place, shows how the positions drift.  It enters
the smoother as weak measurements across the way, with these guards against flattering itself:

- where the usual line lies is an unknown with a flat prior at every place, part of the same
  estimate: what all laps share is never narrowed, and no lap is pulled to itself;
- the driver's deviation has a spread, a correlation along the lap and a part that wanders from lap
  to lap, all estimated from the session, and heavy tails: a corner taken on another line is
  given less weight, not bent back;
- it needs three laps.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lapwright.geometry.path import ReferencePath
from lapwright.kept import Keep, not_kept
from lapwright.laps.track_mapping import map_positions, usual_pass
from lapwright.motion import Motion, PseudoMeasurements, RepeatedMeasures
from lapwright.motion.kalman.pseudo_measurements import row_means
from lapwright.motion.noise.priors import PRIORS
from lapwright.motion.noise.restricted_likelihood import DriverKernel, place_differences
from lapwright.numerics.cyclic import cyclic_difference
from lapwright.numerics.gaussian_likelihood import GaussianLikelihood, of_differences
from lapwright.numerics.importance_sampling import sample
from lapwright.numerics.robust_spread import robust_sd

Floats = npt.NDArray[np.float64]

# Of two laps neither is the usual one.
MIN_LAPS = 3
# Half a wide track is 6 to 8 m: farther from the usual line is another way round; farther than a
# whole track is so however noisy the receiver.
_NEAR_M, _FARTHEST_M = 6.0, 15.0
# Slower than this share of the usual speed there, the driver was not driving his line.
_MIN_SLOWNESS = 0.7
# A driver's line bends over some 60 m: closer places would say the same twice.
_FINEST_M = 30.0
# Where the log has a hole of this length nobody knows when, or whether, the car went by a place.
_HOLE_S = 60.0
# Rows cost by their cube, and the latter two in each of many trials: for the motion, for the
# driver's parameters, for the first noise.
_MAX_ROWS = 600
_MAX_ROWS_FOR_DRIVER = 240
_MAX_ROWS_FOR_NOISE = 150
# Of the spread, the correlation length and the wander of `DriverNoise`.
_CENTRE, _PRIOR_SD = np.array(
    [PRIORS[name].log for name in ("driver_m", "driver_length_m", "driver_wander_m")]
).T
# Deviations up to this many spreads count in full.
_FULL_TO = 2.0


@dataclass(frozen=True, slots=True)
class DriverNoise:
    """
    How a driver's line varies.

    Attributes
    ----------
    spread_m : float
        Standard deviation about the usual line. [m]
    length_m : float
        Correlation length along the lap. [m]
    wander_m : float
        Standard deviation of the lasting change from each lap to the next. [m]
    """

    spread_m: float
    length_m: float
    wander_m: float


def repeats_of(
    path: ReferencePath, time_s: Floats, position_m: Floats, speed_mps: Floats, *, most: int,
    near_m: float | None = _NEAR_M,
) -> RepeatedMeasures | None:  # fmt: skip
    """
    Distances of all passes from the path at places along the lap.

    Parameters
    ----------
    path : ReferencePath
    time_s : ndarray, shape (n,)
    position_m : ndarray, shape (n, 2)
        Fixes as measured, or smoothed. [m]
    speed_mps : ndarray, shape (n,)
        Good to a few m/s.
    most : int
        Rows at most.
    near_m : float or None
        What is farther from the usual line than this is another way round; None: farther than
        three spreads of the session, but not less than usual. [m]

    Returns
    -------
    RepeatedMeasures or None
        None where fewer than three laps pass any place.
    """
    length = path.length_m
    followed = map_positions(path, time_s, position_m, None)
    offset, usual_speed, cell = usual_pass(followed.station_m, followed.offset_m, speed_mps, length)
    good = (speed_mps > _MIN_SLOWNESS * usual_speed[cell]) & ~followed.lost
    aside = np.abs(followed.offset_m - offset[cell])
    if near_m is None:
        # Noise of metres is noise too: cut off at a fixed distance it would look too small.
        spread = robust_sd(aside[good], centre=0.0) if good.any() else 0.0
        near_m = float(np.clip(3.0 * spread, _NEAR_M, _FARTHEST_M))
    good &= aside < near_m
    good &= np.diff(followed.station_m, prepend=-np.inf) > 0.0
    laps = max(1.0, (followed.station_m[-1] - followed.station_m[0]) / length)
    places = max(4, min(int(length / _FINEST_M), int(most / laps)))
    rows = _averages(followed.station_m, followed.offset_m, time_s, good, length, places)
    place, lap, station, value, time, averaged = rows
    count = np.bincount(place, minlength=places)
    often = np.flatnonzero(count[place] >= MIN_LAPS)
    if len(often) == 0:
        return None
    keep = often[np.argsort(time[often], kind="stable")]
    place, lap, station, value, time, averaged = (
        place[keep], lap[keep], station[keep], value[keep], time[keep], averaged[keep],
    )  # fmt: skip
    heading = path.at(np.mod(station, length)).heading_rad
    left = np.stack([-np.sin(heading), np.cos(heading)], axis=-1)
    return RepeatedMeasures(time, left, value, place, lap, station, averaged)


def _averages(
    station: Floats, offset: Floats, time: Floats, good: npt.NDArray[np.bool_],
    length: float, places: int,
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], Floats, Floats, Floats, Floats]:  # fmt: skip
    """Offset at each place on each lap: the mean of the fixes near, or between two fixes."""
    spacing = length / places
    first, last = int(np.ceil(station[0] / spacing)), int(np.floor(station[-1] / spacing))
    number = np.arange(first, last + 1)
    mark = number * spacing
    g = np.flatnonzero(good)
    s, n, t = station[g], offset[g], time[g]
    if len(g) < 2:
        empty = np.zeros(0)
        none = np.zeros(0, dtype=np.intp)
        return none, none, empty, empty, empty, empty
    after = np.clip(np.searchsorted(s, mark), 1, len(s) - 1)
    gap = s[after] - s[after - 1]
    inside = (mark >= s[0]) & (mark <= s[-1]) & (gap < max(60.0, 0.5 * spacing))
    inside &= t[after] - t[after - 1] < _HOLE_S
    total_n = np.concatenate([[0.0], np.cumsum(n)])
    half = min(12.0, 0.4 * spacing)
    low, high = np.searchsorted(s, mark - half), np.searchsorted(s, mark + half)
    many = high - low >= 3
    count = np.maximum(high - low, 1)
    mean = (total_n[high] - total_n[low]) / count
    between = np.interp(mark, s, n)
    value = np.where(many, mean, between)
    averaged = np.where(many, count, 1.6).astype(np.float64)
    lap, place = np.divmod(number, places)
    moment = np.interp(mark, s, t)
    k = inside
    return (
        place[k].astype(np.intp), lap[k].astype(np.intp), mark[k], value[k], moment[k], averaged[k]
    )  # fmt: skip


def repeats_for_noise(
    path: ReferencePath, time_s: Floats, position_m: Floats, speed_mps: Floats
) -> RepeatedMeasures | None:
    """Few rows, from the fixes as measured: enough to see the drift between laps."""
    most = _MAX_ROWS_FOR_NOISE
    return repeats_of(path, time_s, position_m, speed_mps, most=most, near_m=None)


def with_road(
    path: ReferencePath, motion: Motion, keep: Keep = not_kept
) -> tuple[Motion, DriverNoise | None]:
    """
    Add what the road says to a motion.

    Parameters
    ----------
    path : ReferencePath
        On the motion's plane.
    motion : Motion
    keep : Keep, optional
        Where what the road says is kept, for the same path and motion.

    Returns
    -------
    motion : Motion
        The same where there are too few laps.
    driver : DriverNoise or None
    """
    said = keep("road", lambda: _road(path, motion))
    if said is None:
        return motion, None
    repeats, driver, factor = said
    return motion.with_rows(_rows(path, repeats, driver, factor)), driver


def _road(
    path: ReferencePath, motion: Motion
) -> tuple[RepeatedMeasures, DriverNoise, Floats] | None:
    """What the road says: where, how the driver's line varies, which deviations are too large."""
    state = motion.at(motion.fix_time_s)
    repeats = repeats_of(path, state.time_s, state.position_m, state.speed_mps, most=_MAX_ROWS)
    if repeats is None or len(np.unique(repeats.lap)) < MIN_LAPS:
        return None
    driver = driver_noise(motion, path, repeats)
    return repeats, driver, _tail_factors(motion, path, repeats, driver)


def _rows(
    path: ReferencePath, repeats: RepeatedMeasures, driver: DriverNoise, factor: Floats
) -> PseudoMeasurements:
    """Turn places on laps into rows across the way: the car is on the usual line, about."""
    weights = np.zeros((len(repeats.time_s), 6))
    weights[:, :2] = repeats.direction
    point = path.at(np.mod(repeats.station_m, path.length_m))
    on_path = repeats.direction[:, 0] * point.east_m + repeats.direction[:, 1] * point.north_m
    _, index = np.unique(repeats.place, return_inverse=True)
    unknowns = np.zeros((len(index), index.max() + 1))
    unknowns[np.arange(len(index)), index] = 1.0
    cov = deviation_cov(repeats, driver, path.length_m)
    scale = np.sqrt(factor)
    return PseudoMeasurements(
        repeats.time_s, weights, on_path, cov * scale[:, None] * scale, unknowns
    )


def deviation_cov(repeats: RepeatedMeasures, driver: DriverNoise, length_m: float) -> Floats:
    """
    Covariance of the driver's deviations from the usual line, shape (m, m).

    Parameters
    ----------
    repeats : RepeatedMeasures
    driver : DriverNoise
    length_m : float
        Of the lap.
    """
    return _deviations(repeats, length_m)(driver)


def _deviations(repeats: RepeatedMeasures, length_m: float) -> Callable[[DriverNoise], Floats]:
    """`deviation_cov` for many drivers: what does not depend on them is done once."""
    # Few distances, as in `DriverKernel`.
    far = np.abs(cyclic_difference(repeats.station_m[:, None], repeats.station_m, length_m))
    along, back = np.unique(far.round(6), return_inverse=True)
    back = back.reshape(far.shape)
    on_lap = DriverKernel(repeats)
    lap = repeats.lap - repeats.lap.min()
    walk = np.minimum(lap[:, None], lap)
    diagonal = np.arange(len(lap))

    def cov_of(driver: DriverNoise) -> Floats:
        # A line that moves for good moves partly everywhere, partly in each corner by itself.
        near = 0.5 + 0.5 * np.exp(-along / driver.length_m)
        cov = (driver.wander_m**2 * near)[back] * walk
        on_lap.add_to(cov, driver.spread_m, driver.length_m)
        # A little of it is forgotten at once, which also keeps the matrix well conditioned.
        cov[diagonal, diagonal] += (0.2 * driver.spread_m) ** 2
        return np.asarray(cov)

    return cov_of


def driver_noise(motion: Motion, path: ReferencePath, repeats: RepeatedMeasures) -> DriverNoise:
    """
    Estimate how the driver's line varies, given what the motion is unsure of.

    Parameters
    ----------
    motion : Motion
        Without rows.
    path : ReferencePath
    repeats : RepeatedMeasures

    Returns
    -------
    DriverNoise
        Their posterior mean by restricted likelihood, on the logarithms.
    """
    # All places of some laps, spread over the session: thinned along the lap, the places would be
    # too far apart to show the correlation length, and too long a one makes bars lie.
    laps, index = np.unique(repeats.lap, return_inverse=True)
    count = max(MIN_LAPS, _MAX_ROWS_FOR_DRIVER * len(laps) // len(repeats.time_s))
    used = np.unique(np.linspace(0, len(laps) - 1, count).round().astype(np.intp))
    chosen = np.flatnonzero(np.isin(index, used))
    part = _subset(repeats, chosen)
    rows = _rows(path, part, DriverNoise(*np.exp(_CENTRE)), np.ones(len(chosen)))
    smoothing = motion.best.smoothing
    functionals = smoothing.functionals(rows.weights)
    known = smoothing.chain(smoothing.places(rows.time_s)).covariance(functionals)
    residual = rows.value - row_means(smoothing, rows.time_s, rows.weights)

    # Differences between passes of one place are free of where the usual line lies there.
    later, first = place_differences(part.place)
    data, known = residual[later] - residual[first], of_differences(known, later, first)
    deviations = _deviations(part, path.length_m)
    likelihood = GaussianLikelihood(data)

    def one(point: Floats) -> float:
        cov = deviations(DriverNoise(*np.exp(point)))
        return likelihood(known + of_differences(cov, later, first))

    points, weight = sample(
        lambda trial: np.array([one(p) for p in trial]), _CENTRE, _PRIOR_SD, (40, 32)
    )
    return DriverNoise(*np.exp(weight @ points).tolist())


def _subset(repeats: RepeatedMeasures, chosen: npt.NDArray[np.intp]) -> RepeatedMeasures:
    fields = RepeatedMeasures.__dataclass_fields__
    return replace(repeats, **{name: getattr(repeats, name)[chosen] for name in fields})


def _tail_factors(
    motion: Motion, path: ReferencePath, repeats: RepeatedMeasures, driver: DriverNoise
) -> Floats:
    """Variance factors of deviations that are larger than the driver's usual ones."""
    count = len(repeats.time_s)
    rows = _rows(path, repeats, driver, np.ones(count))
    smoothing = motion.best.smoothing
    places = smoothing.places(rows.time_s)
    known = smoothing.chain(places).covariance(smoothing.functionals(rows.weights))
    residual = rows.value - row_means(smoothing, rows.time_s, rows.weights)
    usual = np.sqrt(np.diagonal(rows.noise_cov))
    factor = np.ones(count)
    for _ in range(2):
        noise = rows.noise_cov * np.sqrt(factor)[:, None] * np.sqrt(factor)
        # The part of the residual that the estimate puts down to the driver.
        deviation = noise @ _pull(known + noise, rows.unknowns, residual)
        factor = np.maximum(1.0, np.abs(deviation) / usual / _FULL_TO) ** 2
        if factor.max() <= 1.0:
            break
    return factor


def _pull(cov: Floats, unknowns: Floats, residual: Floats) -> Floats:
    """Residual by the precision that is left when unknowns with a flat prior are integrated out."""
    solved = np.linalg.solve(cov, np.column_stack([unknowns, residual]))
    pu, pr = solved[:, :-1], solved[:, -1]
    return np.asarray(pr - pu @ np.linalg.solve(unknowns.T @ pu, unknowns.T @ pr))
