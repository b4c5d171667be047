"""What the motion shows of the receiver: its noise, and what is said as findings of the log."""

from lapwright.ingest.log import Finding
from lapwright.motion import Motion
from lapwright.units import error_bar, number


def receiver_findings(motion: Motion) -> tuple[Finding, ...]:
    """Say that the logged speed is late, where it is."""
    late_s, sd_s = motion.latency_s, motion.latency_sd_s
    if late_s == 0.0:
        return ()
    how = "behind" if late_s > 0.0 else "ahead of"
    message = (
        f"the logged speed is {number(abs(late_s), sd_s, 3)} ± {error_bar(sd_s)} s {how} the "
        "positions; corrected"
    )
    return (Finding("speed_delay", message),)


def noise_found(motion: Motion, *, repeat_line: bool) -> dict[str, object]:
    """
    What the receiver's noise was found to be.

    Parameters
    ----------
    motion : Motion
    repeat_line : bool
        Whether the repeated line was used as a sensor.

    Returns
    -------
    dict
        Names with their units; None for what does not apply.
    """
    levels = motion.best.smoothing.noise
    has = levels.has_velocity
    return {
        "position_sd_m": levels.white_m,
        "drift_sd_m": levels.drift_m,
        "drift_tau_s": levels.drift_tau_s,
        "speed_sd_mps": levels.speed_mps if has else None,
        "slow_speed_sd_mps": levels.slow_speed_mps if has else None,
        "lasting_sd_m": levels.coloured_m,
        "clock_sd_ppm": 1e6 * motion.clock_rate_sd,
        "sources": list(motion.sources),
        "repeat_line": repeat_line,
        # The same under its first name; goes with version 0.3.
        "road": repeat_line,
    }
