"""Priors: one table, with sources, read by all who need them, and each one felt where it acts."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from motion_oracles import ORDINARY
from motion_worlds import Kind, lapped

from lapwright.laps import repeated_line
from lapwright.motion.measurements import Measurements
from lapwright.motion.noise import coloured_noise, estimate
from lapwright.motion.noise.estimate import (
    estimate_noise,
    prior_drift_m,
    prior_speed,
    with_white_prior,
)
from lapwright.motion.noise.priors import COLOURED_IF_ANY, PRIORS, Prior, drift_centre_m
from lapwright.motion.noise.restricted_likelihood import RepeatedMeasures

Floats = npt.NDArray[np.float64]

# Centre and sd of the logarithm as the sources of the table have them. Held here a second time on
# purpose: a changed one changes every error bar, and has to be changed twice.
STATED = {
    "white_m": (0.4, 0.7),
    "drift_m": (1.0, 0.6),
    "drift_tau_s": (200.0, 0.8),
    "speed_mps": (0.06, 0.7),
    "slow_speed_mps": (0.02, 1.0),
    "slow_speed_tau_s": (20.0, 0.7),
    "lasting_ratio": (0.3, 1.2),
    "coloured_m": (0.3, 1.2),
    "coloured_tau_s": (4.0, 0.7),
    "driver_m": (0.4, 0.6),
    "driver_length_m": (60.0, 0.5),
    "driver_wander_m": (0.04, 1.0),
}


def test_the_priors_are_those_that_are_stated() -> None:
    assert {name: (p.centre, p.log_sd) for name, p in PRIORS.items()} == STATED
    # Good to some 5 m under open sky, most of it slow: a metre an axis within a factor of two.
    assert (COLOURED_IF_ANY.centre, COLOURED_IF_ANY.log_sd) == (1.0, 0.8)
    assert COLOURED_IF_ANY.log == coloured_noise._SIZE
    centre, sd = repeated_line._CENTRE[2], repeated_line._PRIOR_SD[2]
    assert (math.exp(centre), sd) == pytest.approx(STATED["driver_wander_m"])


def test_every_prior_is_a_proper_one_with_a_source() -> None:
    for name, prior in PRIORS.items():
        assert prior.centre > 0.0, name
        assert 0.0 < prior.log_sd <= 1.5, name
        assert prior.source, name


def test_the_logarithm_is_that_of_the_centre() -> None:
    assert Prior(math.e, 0.5, "").log == pytest.approx((1.0, 0.5))


def test_the_noise_and_the_repeated_line_think_the_same_of_a_driver() -> None:
    of_noise = np.array([estimate._DRIVER["spread_m"], estimate._DRIVER["length_m"]]).T
    of_line = np.array([repeated_line._CENTRE, repeated_line._PRIOR_SD])[:, :2]
    assert of_noise == pytest.approx(of_line)


def test_the_drift_goes_half_the_way_with_the_white_noise() -> None:
    # On the logarithm: a hundred times the white noise is ten times the drift.
    assert drift_centre_m(1.0) == pytest.approx(10.0 * drift_centre_m(0.01))
    # A third of a metre of white noise is metre class.
    assert drift_centre_m(1.0 / 3.0) == pytest.approx(1.0)


def parked_or_not(count: int) -> RepeatedMeasures:
    """Some passes of one place, so that laps are compared at all."""
    row = np.arange(float(count))
    east = np.tile([1.0, 0.0], (count, 1))
    place, lap = np.zeros(count, dtype=np.intp), np.arange(count)
    return RepeatedMeasures(
        90.0 * row, east, np.zeros(count), place, lap, 0.0 * row, np.full(count, 5.0)
    )


class Silent:
    """A likelihood that says nothing, and keeps what it is asked."""

    def __init__(self) -> None:
        self.asked: list[Floats] = []

    def __call__(self, *_: object) -> Callable[[Floats], Floats]:
        def one(points: Floats) -> Floats:
            self.asked.append(points)
            return np.zeros(len(points))

        return one

    def of(self, *names: str) -> dict[str, tuple[float, float]]:
        """Centre and sd of the points of the first round, which are spread over the prior."""
        points = self.asked[0]
        centres, sds = np.exp(points.mean(axis=0)), points.std(axis=0)
        return dict(zip(names, zip(centres.tolist(), sds.tolist(), strict=True), strict=True))


@pytest.fixture
def silent(monkeypatch: pytest.MonkeyPatch) -> tuple[Silent, Silent, Silent]:
    """In place of what velocities say, what laps say, and what laps say where a velocity speaks."""
    velocity, laps, spread = Silent(), Silent(), Silent()
    monkeypatch.setattr(estimate, "velocity_likelihood", velocity)
    monkeypatch.setattr(estimate, "restricted_likelihood", laps)
    monkeypatch.setattr(coloured_noise, "restricted_likelihood", spread)
    return velocity, laps, spread


def agrees(found: tuple[float, float], centre: float, log_sd: float) -> None:
    """Some dozens of evenly spread points: the centre to a tenth of an sd, the sd to a tenth."""
    assert math.log(found[0]) == pytest.approx(math.log(centre), abs=0.1 * log_sd)
    assert found[1] == pytest.approx(log_sd, rel=0.1)


def receiver(kind: Kind) -> Measurements:
    """Once a second, of metre class by its own word: its drift is about 1 m."""
    m, _ = lapped(seed=1, rate_hz=1.0, kind=kind, seconds=200.0)
    return replace(m, stated_sd_m=1.0 / 1.3)


def test_where_positions_and_laps_say_nothing_the_posterior_is_the_prior(
    silent: tuple[Silent, Silent, Silent],
) -> None:
    m = receiver("none")
    found = estimate_noise(m, parked_or_not(21), most=10_000)
    _, laps, _ = silent
    asked = laps.of(
        "drift_m", "drift_tau_s", "driver_m", "driver_length_m", "coloured_m", "coloured_tau_s"
    )
    for name, value in asked.items():
        agrees(value, *STATED[name])
    renamed = {"driver_m": "spread_m", "driver_length_m": "length_m"}
    for name in (*asked, "slow_speed_mps", "slow_speed_tau_s"):
        assert found.log_sd[renamed.get(name, name)] == pytest.approx(STATED[name][1], rel=0.1)
    # A set of levels a point, each with its weight.
    assert len(found.parameters) > 60
    for name in ("drift_m", "drift_tau_s", "slow_speed_mps", "slow_speed_tau_s"):
        logs = np.log([getattr(level, name) for level in found.parameters])
        agrees((math.exp(found.weight @ logs), found.log_sd[name]), *STATED[name])


def test_where_a_velocity_says_nothing_the_posterior_is_the_prior(
    silent: tuple[Silent, Silent, Silent],
) -> None:
    m = receiver("vector")
    found = estimate_noise(m, parked_or_not(21), most=10_000)
    velocity, laps, spread = silent
    asked = velocity.of(
        "drift_m", "drift_tau_s", "slow_speed_mps", "slow_speed_tau_s", "speed_mps", "lasting_m"
    )
    lasting = asked.pop("lasting_m")
    for name, value in asked.items():
        agrees(value, *STATED[name])
    asked = laps.of("drift_m", "drift_tau_s", "driver_m", "driver_length_m")
    asked |= dict(list(spread.of(*asked, "coloured_m", "coloured_tau_s").items())[4:])
    for name, value in asked.items():
        agrees(value, *STATED[name])
    # What lasts is a ratio to the white noise from fix to fix, and comes on top of it.
    logs = np.log([level.speed_mps for level in found.parameters])
    agrees((math.exp(found.weight @ logs), found.log_sd["speed_mps"]), *STATED["speed_mps"])
    local = with_white_prior(m, estimate.short_term_noise(m)).white_m
    agrees(lasting, 0.3 * local, 1.2)
    white = np.array([level.white_m for level in found.parameters])
    lasts = 0.5 * np.log(white**2 - local**2)
    agrees((math.exp(found.weight @ lasts), found.log_sd["lasting_m"]), 0.3 * local, 1.2)


def test_a_speed_that_disagrees_is_believed_about_its_own_error(
    silent: tuple[Silent, Silent, Silent],
) -> None:
    # Half a metre a second of sway in 12 s, seen over a second: an sd of 0.35 m/s, by its median
    # 0.5 m/s; its cosine of an autocorrelation is at 1/e after 0.19 of the period.
    m, _ = lapped(seed=1, rate_hz=10.0, kind="vector", seconds=200.0, white=0.05, drift=0.1)
    sway = 0.5 * np.sin(2.0 * np.pi * m.time_s / 12.0)
    unit = m.velocity_mps / m.speed_mps[:, None]
    wrong = replace(
        m, velocity_mps=m.velocity_mps + sway[:, None] * unit, speed_mps=m.speed_mps + sway
    )
    found = estimate_noise(wrong)
    assert "speed against displacement over a second" in found.sources
    asked = silent[0].of("drift_m", "drift_tau_s", "slow", "slow_tau", "speed_mps", "lasting_m")
    assert asked["slow"][0] == pytest.approx(0.5, rel=0.25)
    assert asked["slow_tau"][0] == pytest.approx(0.19 * 12.0, rel=0.35)
    assert asked["slow"][1] == pytest.approx(0.4, rel=0.1)
    assert asked["slow_tau"][1] == pytest.approx(0.4, rel=0.1)
    assert "speed against displacement over a second" not in estimate_noise(m).sources


# Where the car's own motion hides as much as makes both equally sure, the answer lies half way on
# the logarithm: the model's 2 sigma_a^2 / T_a dt^k / c over the prior's centre squared has to be
# the ratio of the two sds less one. Acceleration of 2 s, by hand.


def test_the_prior_of_the_white_noise_meets_the_stretches_half_way() -> None:
    m, _ = lapped(seed=1, rate_hz=1.0, kind="none", seconds=60.0)
    # 0.7 is 14 times 0.05; a^2 = 13 x 0.4^2 x 20.
    local = replace(ORDINARY, accel_mps2=math.sqrt(13.0 * 0.16 * 20.0), white_m=0.1)
    assert with_white_prior(m, local).white_m == pytest.approx(math.sqrt(0.4 * 0.1))
    # Once in ten seconds nothing is left of what stretches say.
    m, _ = lapped(seed=1, rate_hz=0.1, kind="none", seconds=300.0)
    assert with_white_prior(m, local).white_m == pytest.approx(0.4, rel=1e-3)


def test_the_prior_of_the_velocity_meets_the_stretches_half_way() -> None:
    m, _ = lapped(seed=1, rate_hz=10.0, kind="vector", seconds=30.0)
    # 0.7 is 2.8 times 0.25; a^2 = 1.8 x 0.06^2 x 3 / 0.1^3.
    local = replace(ORDINARY, accel_mps2=math.sqrt(1.8 * 0.0036 * 3.0 / 0.001), speed_mps=0.3)
    centre, sd = prior_speed(m, local)
    assert math.exp(centre) == pytest.approx(math.sqrt(0.06 * 0.3))
    assert sd == pytest.approx(0.7 / math.sqrt(2.0))


def test_the_drift_of_a_receiver_that_says_nothing_follows_its_white_noise() -> None:
    m, _ = lapped(seed=1, rate_hz=5.0, kind="none", seconds=30.0)
    # A third of a metre: metre class; 3.3 cm: less by the root of ten.
    assert prior_drift_m(m, 1.0 / 3.0) == pytest.approx(1.0)
    assert prior_drift_m(m, 1.0 / 30.0) == pytest.approx(10.0**-0.5)


def test_what_an_estimate_rests_on_is_said(silent: tuple[Silent, Silent, Silent]) -> None:
    m = receiver("none")
    always = ("short stretches of fixes", "published accuracy of receivers")
    own, laps = "the receiver's own accuracy column", "laps compared with each other"
    assert estimate_noise(replace(m, stated_sd_m=None)).sources == always
    assert estimate_noise(m).sources == (*always, own)
    # Of twenty passes or fewer nothing is asked.
    assert estimate_noise(m, parked_or_not(20)).sources == (*always, own)
    assert silent[1].asked == []
    assert estimate_noise(m, parked_or_not(21)).sources == (*always, own, laps)
    assert estimate_noise(receiver("vector")).sources == (
        *always, own, "position against integrated speed",
    )  # fmt: skip
