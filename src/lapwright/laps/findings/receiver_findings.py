"""What the motion shows of the receiver and is said as findings of the log."""

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
