"""What is said of the receiver is what the motion found."""

from types import SimpleNamespace

import pytest

from lapwright.laps.findings.receiver_findings import noise_found, receiver_findings
from lapwright.motion.kalman.model import NoiseParameters

# Each level another number, so that none can stand for another.
LEVELS = NoiseParameters(0.31, 1.2, 210.0, 0.05, 0.02, 20.0, 3.5, 1.1, coloured_m=0.4)


def motion(levels: NoiseParameters = LEVELS, late_s: float = 0.0) -> SimpleNamespace:
    """Only what is asked of a motion."""
    return SimpleNamespace(
        best=SimpleNamespace(smoothing=SimpleNamespace(noise=levels)),
        clock_rate_sd=2e-6,
        sources=("position", "velocity"),
        latency_s=late_s,
        latency_sd_s=0.004,
    )


def test_levels_go_by_their_names() -> None:
    assert noise_found(motion(), repeat_line=True) == {
        "position_sd_m": 0.31,
        "drift_sd_m": 1.2,
        "drift_tau_s": 210.0,
        "speed_sd_mps": 0.05,
        "slow_speed_sd_mps": 0.02,
        "lasting_sd_m": 0.4,
        "clock_sd_ppm": pytest.approx(2.0),
        "sources": ["position", "velocity"],
        "repeat_line": True,
        "road": True,
    }
    assert noise_found(motion(), repeat_line=False)["repeat_line"] is False


def test_without_a_logged_speed_it_has_no_noise() -> None:
    none = NoiseParameters(0.31, 1.2, 210.0, float("inf"), 0.02, 20.0, 3.5, 1.1)
    found = noise_found(motion(none), repeat_line=False)
    assert found["speed_sd_mps"] is None
    assert found["slow_speed_sd_mps"] is None
    assert found["position_sd_m"] == 0.31


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
