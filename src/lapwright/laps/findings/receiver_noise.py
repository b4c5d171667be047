"""What the receiver's noise was found to be, as a session says it."""

from dataclasses import dataclass

from lapwright.motion import Motion


@dataclass(frozen=True, slots=True)
class ReceiverNoise:
    """
    What the receiver's noise was found to be; errors of positions are per horizontal axis.

    The most probable noise parameters.  Error bars also allow for how well these are known.

    Attributes
    ----------
    position_sd_m : float
        White error of a position: how far it scatters from fix to fix. [m]
    drift_sd_m, drift_tau_s : float
        Standard deviation and time constant of the slow wandering of the position's error.
        [m], [s]
    speed_sd_mps : float or None
        White error of the logged speed; None where the log has none. [m/s]
    slow_speed_sd_mps : float or None
        Standard deviation of the slow error of the logged speed; None where the log has none.
        [m/s]
    lasting_sd_m : float
        Error of a position that lasts seconds; 0 where none was found. [m]
    clock_sd_ppm : float
        Error of the rate of the log's clock; 0 where the times are the receiver's. [ppm]
    sources : tuple of str
        What the estimate rests on, in plain words.
    repeat_line : bool
        Whether the line that the driver repeats was used as a sensor.
    """

    position_sd_m: float
    drift_sd_m: float
    drift_tau_s: float
    speed_sd_mps: float | None
    slow_speed_sd_mps: float | None
    lasting_sd_m: float
    clock_sd_ppm: float
    sources: tuple[str, ...]
    repeat_line: bool


def receiver_noise(motion: Motion, *, repeat_line: bool) -> ReceiverNoise:
    """
    Say what the receiver's noise was found to be.

    Parameters
    ----------
    motion : Motion
    repeat_line : bool
        Whether the repeated line was used as a sensor.

    Returns
    -------
    ReceiverNoise
    """
    best = motion.best.smoothing.noise
    has = best.has_velocity
    return ReceiverNoise(
        position_sd_m=best.white_m,
        drift_sd_m=best.drift_m,
        drift_tau_s=best.drift_tau_s,
        speed_sd_mps=best.speed_mps if has else None,
        slow_speed_sd_mps=best.slow_speed_mps if has else None,
        lasting_sd_m=best.coloured_m,
        clock_sd_ppm=1e6 * motion.clock_rate_sd,
        sources=tuple(motion.sources),
        repeat_line=repeat_line,
    )
