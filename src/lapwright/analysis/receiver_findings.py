"""What the motion shows of the receiver, said as findings beside those of the log."""

from lapwright.ingest.log import Finding
from lapwright.motion import Motion


def receiver_findings(motion: Motion) -> tuple[Finding, ...]:
    """Say that the logged speed is late, where it is."""
    late_s = motion.latency_s
    if late_s == 0.0:
        return ()
    how = "late" if late_s > 0.0 else "early"
    message = (
        f"the logged speed comes {abs(late_s):.2f} s {how} against the positions; it was moved"
    )
    return (Finding("speed_delay", message),)
