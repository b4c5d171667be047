"""From a log to lap times with error bars, on a simulated session that knows the truth."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright import simulate as sim
from lapwright.motion.estimate import estimate_motion
from lapwright.motion.motion import Motion
from lapwright.plane import Plane


@pytest.fixture(scope="module")
def run() -> sim.TrueRun:
    return sim.drive(
        sim.invented("wren_hollow"), sim.LIGHT_CAR, sim.Driver(), sim.Plan((5,)), seed=4
    )


def received(run: sim.TrueRun, receiver: sim.Receiver, seed: int) -> tuple[Motion, np.ndarray]:
    """Motion, and true positions less the motion's at all seconds on the track."""
    recording = sim.receive(run, receiver, seed)
    lat, lon = run.circuit.gates_deg[0][0]
    plane = Plane(float(lat), float(lon))
    motion = estimate_motion(recording.log(), plane)
    t = np.arange(motion.start_s + 1.0, motion.end_s - 1.0, 1.0)
    degrees = run.circuit.to_degrees(np.asarray(run.position(t + recording.zero_s)))
    true = np.stack(plane.to_metres(degrees[:, 0], degrees[:, 1]), axis=-1)
    return motion, motion.at(t).position_m - true


@pytest.mark.parametrize("velocity", ["both", "speed", "none"])
@pytest.mark.parametrize("rate_hz", [1.0, 10.0])
def test_positions_err_as_much_as_they_say(run: sim.TrueRun, velocity: str, rate_hz: float) -> None:
    receiver = replace(sim.ORDINARY, velocity=velocity, rate_hz=rate_hz)
    ratios = []
    for seed in (1, 2):
        motion, off = received(run, receiver, seed)
        t = np.arange(motion.start_s + 1.0, motion.end_s - 1.0, 1.0)[::20]
        sd = motion.position_sd_m(t, np.tile([1.0, 0.0], (len(t), 1)))
        ratios.append(np.sqrt(np.mean(off[::20] ** 2) / np.mean(sd**2)))
    # Drift forgets within 200 s: a session has a handful of independent errors.
    assert 0.5 < np.mean(ratios) < 1.7


def test_smooth_speed_is_good_to_decimetres_a_second(run: sim.TrueRun) -> None:
    recording = sim.receive(run, sim.ORDINARY, 3)
    motion, _ = received(run, sim.ORDINARY, 3)
    t = np.arange(motion.start_s + 70.0, motion.end_s - 100.0, 0.5)
    off = motion.at(t).speed_mps - run.speed(t + recording.zero_s)
    assert np.sqrt(np.mean(off**2)) < 0.12


@pytest.mark.parametrize("rate_hz", [5.0, 10.0])
def test_late_velocity_is_noticed(run: sim.TrueRun, rate_hz: float) -> None:
    motion, _ = received(run, replace(sim.ORDINARY, latency_s=0.15, rate_hz=rate_hz), 5)
    assert motion.latency_s == pytest.approx(0.15, abs=0.01)
    motion, _ = received(run, replace(sim.ORDINARY, rate_hz=rate_hz), 5)
    assert motion.latency_s == 0.0


def test_long_records_carry_fewer_sets_of_parameters(run: sim.TrueRun) -> None:
    short, _ = received(run, replace(sim.ORDINARY, rate_hz=2.0), 6)
    long, _ = received(run, replace(sim.ORDINARY, rate_hz=36.0), 6)
    assert len(short.hypotheses) > len(long.hypotheses)
    for motion in (short, long):
        assert sum(h.weight for h in motion.hypotheses) == pytest.approx(1.0)
