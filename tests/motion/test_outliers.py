"""Wild fixes have no say; ordinary ones are left alone."""

from dataclasses import replace

import numpy as np
import pytest
from motion_worlds import Drive, Kind, lapped

from lapwright.motion.estimate import motion_from
from lapwright.motion.measurements import Measurements
from lapwright.motion.motion import Motion
from lapwright.motion.outliers import residual_factors, screen
from lapwright.plane import Plane

PLANE = Plane(50.0, 10.0)
# Times at which the car is looked at: once a lap, as at a line.
LOOKS = np.array([63.0, 123.0, 183.0, 243.0, 303.0])


def along(motion: Motion, drive: Drive) -> tuple[np.ndarray, np.ndarray]:
    """Place along the way at the looks, and its covariance."""
    way = drive.velocity(LOOKS) / np.linalg.norm(drive.velocity(LOOKS), axis=1)[:, None]
    weights = np.concatenate([way, np.zeros((len(LOOKS), 4))], axis=1)
    return motion.best.mean(LOOKS, weights), motion.best.cov(LOOKS, weights)


def lap_change(before: Motion, after: Motion, drive: Drive) -> np.ndarray:
    """Change of the distances between looks, in standard deviations stated afterwards."""
    (a, _), (b, cov) = along(before, drive), along(after, drive)
    step = np.diff(np.eye(len(LOOKS)), axis=0)
    return np.abs(step @ (b - a)) / np.sqrt(np.diag(step @ cov @ step.T))


def without(m: Measurements, begin_s: float, end_s: float) -> Measurements:
    """Drop the fixes between two times."""
    keep = ~((m.time_s > begin_s) & (m.time_s < end_s))
    return Measurements(
        m.time_s[keep], m.position_m[keep], m.position_factor[keep], m.kind, m.velocity_mps[keep],
        m.speed_mps[keep], m.velocity_factor[keep], None,
    )  # fmt: skip


@pytest.mark.parametrize("kind", ["vector", "speed", "none"])
@pytest.mark.parametrize("rate_hz", [1.0, 10.0])
def test_spikes_and_frozen_fixes_move_no_lap_by_its_sd(kind: Kind, rate_hz: float) -> None:
    m, drive = lapped(seed=5, rate_hz=rate_hz, kind=kind, seconds=330.0)
    clean = motion_from(m, PLANE)
    rng = np.random.default_rng(3)
    spiked = m.position_m.copy()
    for i in rng.choice(len(m) - 20, 8, replace=False) + 10:
        angle = rng.uniform(0.0, 2.0 * np.pi)
        spiked[i] += rng.uniform(20.0, 80.0) * np.array([np.cos(angle), np.sin(angle)])
    frozen = (m.time_s > 90.0) & (m.time_s < 92.0)
    spiked[frozen] = spiked[np.flatnonzero(frozen)[0] - 1]
    factor = np.where(frozen, np.inf, 1.0)
    moved = motion_from(replace(m.weighted(factor, factor), position_m=spiked), PLANE)
    assert lap_change(clean, moved, drive).max() < 1.0


@pytest.mark.parametrize("kind", ["vector", "none"])
def test_a_dropout_away_from_the_looks_moves_a_lap_by_less_than_its_sd(kind: Kind) -> None:
    # What was known before is part of what is known after: on average over draws the change is
    # smaller than the standard deviation afterwards.
    changes = []
    for seed in range(4):
        m, drive = lapped(seed=seed, rate_hz=5.0, kind=kind, seconds=330.0)
        before, after = (motion_from(x, PLANE) for x in (m, without(m, 210.0, 215.0)))
        changes.append(lap_change(before, after, drive))
    assert np.sqrt(np.mean(np.square(changes), axis=0)).max() < 1.0
    # The other laps do not notice.
    assert np.delete(changes, 2, axis=1).max() < 0.3


def test_a_single_jump_is_screened_and_its_neighbours_are_not() -> None:
    m, _ = lapped(seed=6, rate_hz=10.0, kind="vector", seconds=60.0)
    position, velocity = m.position_m.copy(), m.velocity_mps.copy()
    position[100] += [30.0, 0.0]
    velocity[200] += [0.0, 15.0]
    found = screen(replace(m, position_m=position, velocity_mps=velocity))
    assert np.flatnonzero(np.isinf(found.position_factor)).tolist() == [100]
    assert np.flatnonzero(np.isinf(found.velocity_factor)).tolist() == [200]


@pytest.mark.parametrize("kind", ["vector", "speed", "none"])
def test_an_ordinary_session_is_left_alone(kind: Kind) -> None:
    m, _ = lapped(seed=6, rate_hz=10.0, kind=kind, seconds=120.0)
    screened = screen(m)
    assert np.isfinite(screened.position_factor).all()
    motion = motion_from(m, PLANE)
    position, velocity = residual_factors(motion.best.smoothing, m)
    # Beyond 3 sd of the mean of two axes: 1 in 8000.
    assert (position > 1.0).mean() < 0.01
    assert (velocity > 1.0).mean() < 0.02


def test_short_records_are_not_screened() -> None:
    m, _ = lapped(seed=6, rate_hz=1.0, kind="none", seconds=4.0)
    assert screen(m) is m


def test_a_dropout_across_a_look_widens_its_bar() -> None:
    m, drive = lapped(seed=7, rate_hz=10.0, kind="none", seconds=330.0)
    gap = without(m, 120.5, 125.5)
    (_, whole), (place, broken) = (along(motion_from(x, PLANE), drive) for x in (m, gap))
    way = drive.velocity(LOOKS) / np.linalg.norm(drive.velocity(LOOKS), axis=1)[:, None]
    truth = (drive.position(LOOKS) * way).sum(axis=1)
    assert broken[1, 1] > 1.5 * whole[1, 1]
    assert abs(place[1] - truth[1]) < 3.0 * np.sqrt(broken[1, 1])
    assert broken[3, 3] == pytest.approx(whole[3, 3], rel=0.3)


@pytest.mark.parametrize("rate_hz", [1.0, 2.0, 10.0, 25.0])
def test_the_top_of_a_straight_is_no_jump(rate_hz: float) -> None:
    m, _ = lapped(seed=6, rate_hz=rate_hz, kind="speed", seconds=200.0)
    # Full throttle at 0.5 g, then the brakes at 1 g, on to the next straight; steps of 1 km/h.
    phase = np.mod(m.time_s, 9.0)
    speed = 20.0 + np.where(phase < 6.0, 5.0 * phase, 30.0 - 10.0 * (phase - 6.0))
    m = replace(m, speed_mps=np.round(speed * 3.6) / 3.6)
    np.testing.assert_array_equal(screen(m).velocity_factor, m.velocity_factor)
    wild = m.speed_mps.copy()
    wild[100] += 40.0
    assert np.flatnonzero(np.isinf(screen(replace(m, speed_mps=wild)).velocity_factor)) == [100]


def test_where_two_drives_take_turns_the_other_has_no_say() -> None:
    """Every second fix of two seconds is of another car: its place and its speed count for none."""
    m, _ = lapped(seed=5, rate_hz=10.0, kind="vector", seconds=60.0)
    place, velocity = m.position_m.copy(), m.velocity_mps.copy()
    other = np.arange(300, 320, 2)
    place[other] += [60.0, -80.0]
    velocity[other] *= -1.0
    seen = screen(replace(m, position_m=place, velocity_mps=velocity))
    own = np.setdiff1d(np.arange(295, 325), other)
    assert np.isinf(seen.position_factor[other]).all()
    assert np.isinf(seen.velocity_factor[other]).all()
    assert np.isfinite(seen.position_factor[own]).all()
