"""What seconds show: white noise and agility as planted, and the prior where they show nothing."""

from dataclasses import replace

import numpy as np
import pytest
from motion_oracles import ORDINARY, POSITIONS_ONLY, driven
from motion_worlds import Kind, lapped

from lapwright.motion.noise.white_noise import short_term_noise


@pytest.mark.parametrize("noise", [ORDINARY, POSITIONS_ONLY], ids=["vector", "positions"])
def test_levels_are_those_the_fixes_were_drawn_from(noise: object) -> None:
    # Drawn from the model itself: 32 stretches of 48 fixes and two axes are 3000 fixes, of which
    # a white level is good to some 3 %, the car's agility to 10 %.
    assert isinstance(noise, type(ORDINARY))
    m = driven(np.random.default_rng(4), np.arange(0.0, 400.0, 0.1), noise)
    found = short_term_noise(m)
    assert found.white_m == pytest.approx(0.3, rel=0.1)
    assert found.accel_mps2 == pytest.approx(5.0, rel=0.2)
    if noise is ORDINARY:
        assert found.speed_mps == pytest.approx(0.05, rel=0.15)
    else:
        assert found.speed_mps == np.inf


@pytest.mark.parametrize("speed_noise", [0.05, 0.2])
def test_white_noise_of_a_speed_without_a_course(speed_noise: float) -> None:
    m, _ = lapped(4, 25.0, "speed", speed_noise=speed_noise, slow=0.001, seconds=200.0)
    assert short_term_noise(m).speed_mps == pytest.approx(speed_noise, rel=0.15)


@pytest.mark.parametrize("kind", ["vector", "speed", "none"])
def test_too_short_a_log_has_the_levels_of_an_ordinary_receiver(kind: Kind) -> None:
    # Fewer than a stretch of 48 fixes and one more.
    m, _ = lapped(3, 10.0, kind, seconds=4.75)
    assert len(m) == 48
    found = short_term_noise(m)
    assert (found.white_m, found.accel_mps2) == (0.5, 5.0)
    assert found.speed_mps == (np.inf if kind == "none" else 0.08)
    longer, _ = lapped(3, 10.0, kind, seconds=60.0, white=0.1)
    assert short_term_noise(longer).white_m < 0.2


def test_a_velocity_that_is_no_news_leaves_the_prior() -> None:
    m, _ = lapped(3, 10.0, "vector", seconds=120.0)
    silent = replace(m, velocity_factor=np.full(len(m), np.inf))
    found = short_term_noise(silent)
    assert found.speed_mps == pytest.approx(0.08, rel=0.02)
    assert found.white_m == pytest.approx(0.3, rel=0.1)


def test_a_fix_is_weighed_by_what_the_receiver_says_of_it() -> None:
    # Every second fix has three times the error, and says so: nine times the variance.
    m, _ = lapped(3, 10.0, "none", seconds=300.0, white=0.0)
    factor = np.where(np.arange(len(m)) % 2 == 0, 1.0, 9.0)
    error = np.random.default_rng(8).standard_normal((len(m), 2)) * np.sqrt(factor)[:, None]
    said = replace(m, position_m=m.position_m + 0.2 * error, position_factor=factor)
    assert short_term_noise(said).white_m == pytest.approx(0.2, rel=0.1)


def test_a_car_that_stands_says_nothing_of_noise_on_the_move() -> None:
    # Half of the time in the pits, where the receiver repeats itself: the clock of the drive runs
    # out within six seconds, at 50 s, and starts again at 144 s.
    m, drive = lapped(3, 10.0, "none", seconds=200.0)
    rate = np.clip((np.abs(m.time_s - 100.0) - 44.0) / 6.0, 0.0, 1.0)
    noise = 0.3 * np.random.default_rng(9).standard_normal((len(m), 2))
    position = drive.position(np.cumsum(rate) * 0.1) + np.where(rate[:, None] > 0.0, noise, 0.0)
    assert (rate == 0.0).mean() > 0.4
    assert short_term_noise(replace(m, position_m=position)).white_m == pytest.approx(0.3, rel=0.1)


def test_a_car_that_only_stands_is_looked_at_all_the_same() -> None:
    rng = np.random.default_rng(5)
    m, _ = lapped(3, 10.0, "none", seconds=120.0)
    still = replace(m, position_m=0.2 * rng.standard_normal((len(m), 2)))
    assert short_term_noise(still).white_m == pytest.approx(0.2, rel=0.1)


def test_stretches_do_not_go_across_gaps() -> None:
    # Ten seconds of fixes, then twenty of none: a car of 5 m/s2 is lost by hundreds of metres.
    m, _ = lapped(
        3, 10.0, "none", seconds=610.0, gaps=tuple((t + 10.0, t + 30.0) for t in range(0, 600, 30))
    )
    assert short_term_noise(m).white_m == pytest.approx(0.3, rel=0.1)
    assert short_term_noise(m).accel_mps2 < 8.0
