"""What is said of the receiver is what the motion found."""

from types import SimpleNamespace

import pytest

from lapwright.laps.findings.receiver_findings import receiver_findings


def motion(late_s: float = 0.0) -> SimpleNamespace:
    """Only what is asked of a motion."""
    return SimpleNamespace(latency_s=late_s, latency_sd_s=0.004)


@pytest.mark.parametrize(
    ("late_s", "how"),
    [(0.1234, "0.123 ± 0.004 s behind the positions"), (-0.2, "0.200 ± 0.004 s ahead of the")],
)
def test_a_late_speed_is_said_with_its_error_bar(late_s: float, how: str) -> None:
    (finding,) = receiver_findings(motion(late_s=late_s))
    assert finding.code == "speed_delay"
    assert how in finding.message
    assert finding.message.endswith("; corrected")


def test_a_speed_in_time_is_not_worth_a_word() -> None:
    assert receiver_findings(motion()) == ()
