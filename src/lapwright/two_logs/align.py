"""`align_logs`: the clock of one log on that of another, of the same car."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.arguments import checked
from lapwright.errors import LogError
from lapwright.ingest.log import Log
from lapwright.motion import Motion, estimate_motion
from lapwright.motion.estimate import motion_from
from lapwright.motion.measurements import measurements
from lapwright.plane import Plane
from lapwright.two_logs.coarse import MIN_OVERLAP_S, candidates, rough
from lapwright.two_logs.refine import Refined, refine

Floats = npt.NDArray[np.float64]

# A logged speed so late was smoothed, not only late: positions alone are the better guide. [s]
_SMOOTHED_S = 0.2
# Chi-square over degrees of freedom: 0.5 to 11 for two logs of one car in all kinds of simulated
# receivers, 850 and more for two sessions of one driver or two cars on one circuit.
_ONE_CAR = 30.0
# Two shifts are both possible where the second fits nearly as well as the first.
_CLEARLY = 3.0


@dataclass(frozen=True, eq=False)
class Alignment:
    """
    The clock of another log on that of a log, both counted from their first usable fix.

    Attributes
    ----------
    at_s : float
        A moment of the log: the middle of what both have. [s]
    offset_s, offset_sd_s : float
        Time of the other log less time of the log at that moment. [s]
    rate, rate_sd : float
        How much faster the other clock runs, a share: 1e-6 is 3.6 ms in an hour.
    correlation : float
        Of the errors of the two.
    overlap_s : float
        How long both logs were recording. [s]
    position_rms_m, speed_rms_mps : float
        What positions, along the way, and velocities, along the acceleration, differ by.
    misfit : float
        Chi-square over its degrees of freedom; 1 where the two differ as their error bars say.

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> found = lw.align_logs(log, log)
    >>> bool(abs(found.offset_s) < 0.001), bool(found.offset_sd_s < 0.01)
    (True, True)
    """

    at_s: float
    offset_s: float
    offset_sd_s: float
    rate: float
    rate_sd: float
    correlation: float
    overlap_s: float
    position_rms_m: float
    speed_rms_mps: float
    misfit: float

    @checked
    def other_time(self, time_s: npt.ArrayLike) -> Floats:
        """
        Time on the other log's clock.

        Parameters
        ----------
        time_s : array_like, shape (k,)
            On the log's. [s]

        Returns
        -------
        ndarray, shape (k,)

        Examples
        --------
        >>> lw.Alignment(0.0, 5.0, 0.001, 1e-4, 1e-6, 0.0, 60.0, 1.0, 0.1, 1.0).other_time(100.0)
        array(105.01)
        """
        t = np.asarray(time_s, dtype=np.float64)
        return np.asarray(t + self.offset_s + self.rate * (t - self.at_s))

    @checked
    def own_time(self, other_s: npt.ArrayLike) -> Floats:
        """
        Time on the log's clock.

        Parameters
        ----------
        other_s : array_like, shape (k,)
            On the other log's. [s]

        Returns
        -------
        ndarray, shape (k,)

        Examples
        --------
        >>> found = lw.Alignment(0.0, 5.0, 0.001, 1e-4, 1e-6, 0.0, 60.0, 1.0, 0.1, 1.0)
        >>> round(float(found.own_time(105.01)), 9)
        100.0
        """
        t = np.asarray(other_s, dtype=np.float64) - self.offset_s - self.at_s
        return np.asarray(self.at_s + t / (1.0 + self.rate))

    @checked
    def sd_at(self, time_s: npt.ArrayLike) -> Floats:
        """
        Error bar (sd) of `other_time`.

        Parameters
        ----------
        time_s : array_like, shape (k,)
            On the log's clock. [s]

        Returns
        -------
        ndarray, shape (k,)
            [s]

        Examples
        --------
        >>> found = lw.Alignment(0.0, 5.0, 0.003, 0.0, 4e-6, 0.0, 60.0, 1.0, 0.1, 1.0)
        >>> round(float(found.sd_at(1000.0)), 9)
        0.005
        """
        since = np.asarray(time_s, dtype=np.float64) - self.at_s
        both = 2.0 * self.correlation * self.offset_sd_s * self.rate_sd
        return np.sqrt(self.offset_sd_s**2 + both * since + (self.rate_sd * since) ** 2)


@checked
def align_logs(log: Log, other: Log) -> Alignment:
    """
    Align the clocks of two logs of one car by how it moved.

    Neither clock is trusted: speed and heading rate give the rough offset, wherever the two logs
    begin; velocities and positions of the two estimated motions give offset and rate, see
    `lapwright.two_logs.refine`.

    Parameters
    ----------
    log, other : Log
        Of one car at the same time, a minute or longer.

    Returns
    -------
    Alignment

    Raises
    ------
    LogError
        If the two logs are not of the same car at the same time, or have less than a minute of
        driving in common.

    References
    ----------
    1. A. C. Aitken, "On Least Squares and Linear Combination of Observations", Proc. R. Soc.
       Edinburgh 55 (1936) 42-48: generalised least squares.
    2. K.-Y. Liang and S. L. Zeger, "Longitudinal data analysis using generalized linear models",
       Biometrika 73 (1986) 13-22: error bars where neighbouring errors have to do with each other.

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> other = lw.read_log("sample_sessions/sunday_race.csv")
    >>> try:
    ...     lw.align_logs(log, other)
    ... except lw.LogError as error:
    ...     print(str(error)[:75])
    sample_sessions/sunday_race.csv: is not of the same car at the same time as
    """
    plane = Plane.centred_on(log.fixes["lat_deg"], log.fixes["lon_deg"])
    one, two = _motion(log, plane), _motion(other, plane)
    found = [
        (shift, fit)
        for shift, _ in candidates(rough(one), rough(two))
        if (fit := refine(one, two, shift)) is not None
    ]
    if not found:
        what = (
            f"has less than {MIN_OVERLAP_S:.0f} s of driving in common with {log.path.name}, "
            "wherever the two are laid against each other"
        )
        raise LogError(what, other.path, hint="Give two logs of one car at the same time")
    _, best = min(found, key=lambda pair: pair[1].misfit)
    _refuse_others(best, [fit for _, fit in found], log, other)
    sd = np.sqrt(np.diag(best.cov))
    first = max(one.start_s, two.start_s - best.offset_s)
    last = min(one.end_s, two.end_s - best.offset_s)
    return Alignment(
        best.at_s, best.offset_s, float(sd[0]), best.rate, float(sd[1]),
        float(best.cov[0, 1] / (sd[0] * sd[1])), last - first, best.position_rms_m,
        best.speed_rms_mps, best.misfit,
    )  # fmt: skip


def _motion(log: Log, plane: Plane) -> Motion:
    motion = estimate_motion(log, plane)
    if abs(motion.latency_s) <= _SMOOTHED_S:
        return motion
    return motion_from(measurements(log, plane).without_velocity(), plane)


def _refuse_others(best: Refined, found: list[Refined], log: Log, other: Log) -> None:
    """Refuse logs that do not fit, or fit in two ways."""
    if best.misfit > _ONE_CAR:
        what = (
            f"is not of the same car at the same time as {log.path.name}: where they fit best, "
            f"speeds differ by {best.speed_rms_mps:.1f} m/s and places by "
            f"{best.position_rms_m:.0f} m along the way, far beyond the receivers' errors"
        )
        raise LogError(what, other.path, hint="Give two logs of one car at the same time")
    apart = [one for one in found if abs(one.offset_s - best.offset_s) > 1.0]
    if any(one.misfit < _CLEARLY * best.misfit for one in apart):
        what = f"fits {log.path.name} at more than one offset"
        raise LogError(what, other.path, hint="Give longer logs, with more than one lap")
