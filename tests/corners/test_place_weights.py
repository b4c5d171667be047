"""Places found where the acceleration passes a level, and their error bars, against exact truth."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest
from straight_motion import AHEAD, LEFT, Straight
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.corners.pass_points import BRAKE_MPS2, THROTTLE_MPS2
from lapwright.corners.place_weights import level_place_weights

Floats = npt.NDArray[np.float64]

# Column of the moment, slope and level of the longitudinal acceleration there.
POINTS = {
    "brake": ("brake_s", -1.0, BRAKE_MPS2),
    "throttle": ("throttle_s", 1.0, THROTTLE_MPS2),
    "slowest": ("min_speed_s", 1.0, 0.0),
}


@dataclass(frozen=True)
class Missed:
    """
    How points missed the truth.

    By how much the true place lies farther on, and what is to be added to the estimated state at
    the estimated moment, shape (k, 6), to have the true one.
    """

    moment_s: Floats
    place_m: Floats
    state: Floats


@pytest.fixture(scope="module")
def worlds(tmp_path_factory: pytest.TempPathFactory) -> list[World]:
    return [
        make_world(tmp_path_factory.mktemp("place"), sim.Plan((6,)), seed=seed) for seed in (23, 24)
    ]


def missed(world: World, column: str, slope_sign: float, level: float) -> Missed:
    """Of all passes whose true acceleration passes the level within a second."""
    motion, run = world.session.motion, world.run
    moment = world.session.passes[column].dropna().to_numpy(dtype=np.float64)
    around = np.linspace(-1.0, 1.0, 801)
    time = moment[:, None] + around
    along = run.along_across(time.ravel() + world.zero_s)[0].reshape(time.shape) - level
    passes = (slope_sign * along[:, 1:] > 0.0) & (slope_sign * along[:, :-1] <= 0.0)
    nearest = np.argmin(np.where(passes, np.abs(around[1:]), np.inf), axis=1)
    there = passes.any(axis=1)
    moment, true = moment[there], (moment + around[1:][nearest])[there]

    def place(t: Floats) -> Floats:
        degrees = run.circuit.to_degrees(run.position(t + world.zero_s))
        return np.stack(motion.plane.to_metres(degrees[:, 0], degrees[:, 1]), axis=1)

    state = motion.at(moment)
    turn = np.einsum("kj,kj->k", place(true) - state.position_m, state.direction)
    errors = [
        place(moment) - state.position_m,
        run.velocity(moment + world.zero_s) - state.velocity_mps,
        run.acceleration(moment + world.zero_s) - state.accel_mps2,
    ]
    return Missed(moment, turn, np.concatenate(errors, axis=1))


@pytest.mark.parametrize("point", POINTS)
def test_a_place_is_missed_as_its_weights_say(worlds: list[World], point: str) -> None:
    # The true errors of the state times the weights: the sign and the size of each term.
    column, sign, level = POINTS[point]
    said, true = [], []
    for world in worlds:
        m = missed(world, column, sign, level)
        weights = level_place_weights(world.session.motion, m.moment_s, sign)
        here = np.einsum("kj,kj->k", weights[:, :2], m.state[:, :2])
        # To first order: where the slope stays the same all the way.
        near = np.abs(m.place_m - here) < 3.0
        said.append(np.einsum("kj,kj->k", weights, m.state)[near])
        true.append(m.place_m[near])
    x, y = np.concatenate(said), np.concatenate(true)
    assert len(x) > 0.8 * 120
    assert np.corrcoef(x, y)[0, 1] > 0.8
    # Smoothing makes a slope flatter than it is, so the weights say rather too much.
    assert 0.5 < float(x @ y / (x @ x)) < 1.2


@pytest.mark.parametrize("point", POINTS)
def test_places_miss_the_truth_as_their_error_bars_say(worlds: list[World], point: str) -> None:
    column, sign, level = POINTS[point]
    z = []
    for world in worlds:
        m = missed(world, column, sign, level)
        weights = level_place_weights(world.session.motion, m.moment_s, sign)
        z.append(m.place_m / world.session.motion.posterior(m.moment_s, weights).sd)
    assert 0.6 < float(np.sqrt(np.mean(np.concatenate(z) ** 2))) < 1.5


def test_the_table_has_the_error_bars_of_one_row_under_all_noise_parameters(
    worlds: list[World],
) -> None:
    session = worlds[0].session
    assert len(session.motion.hypotheses) > 1
    for point in ("brake", "throttle"):
        rows = session.passes.dropna(subset=[f"{point}_s"])
        moment = rows[f"{point}_s"].to_numpy()
        weights = level_place_weights(session.motion, moment, POINTS[point][1])
        np.testing.assert_allclose(
            rows[f"{point}_sd_m"], session.motion.posterior(moment, weights).sd, rtol=1e-6
        )


def test_the_weights_in_closed_form() -> None:
    # At 30 m/s, with 4.5 m/s2 to the left; the acceleration along falls by 5 m/s3 about 10 s, rises
    # by 2 m/s3 about 20 s and hardly at all, by 0.2 m/s3, about 40 s.
    ends = np.array([0.0, 100.0])
    motion = Straight(
        np.array([0.0, 9.0, 11.0, 19.0, 21.0, 35.0, 45.0, 100.0]), np.full(8, 30.0),
        np.array([5.0, 5.0, -5.0, -2.0, 2.0, -1.0, 1.0, 1.0]),
        left_mps2=np.full(2, 4.5), left_knots_s=ends,
    ).motion()  # fmt: skip
    for moment, sign, lag_s2 in (
        # place missed = e_p - (v / j) e_a, and j is no less than 1 m/s3.
        (10.0, -1.0, 30.0 / 5.0), (20.0, 1.0, -30.0 / 2.0), (40.0, 1.0, -30.0 / 1.0),
    ):  # fmt: skip
        (weights,) = level_place_weights(motion, np.array([moment]), sign)
        np.testing.assert_allclose(weights[:2], AHEAD, atol=1e-12)
        np.testing.assert_allclose(weights[4:], lag_s2 * AHEAD, rtol=1e-9)
        # A velocity wrong by e across the way turns e / v of the 4.5 m/s2 into the way.
        np.testing.assert_allclose(weights[2:4], lag_s2 * 4.5 / 30.0 * LEFT, rtol=1e-9)


def test_at_the_ends_of_a_log_the_slope_is_that_of_what_is_there() -> None:
    # Rising by 2 m/s3 from the first moment on: only the 0.1 s behind it are known.
    motion = Straight(
        np.array([0.0, 10.0]), np.full(2, 30.0), np.array([0.0, 20.0]), end_s=10.0
    ).motion()
    for moment in (0.0, 10.0):
        (weights,) = level_place_weights(motion, np.array([moment]), 1.0)
        np.testing.assert_allclose(weights[4:], -15.0 * AHEAD, rtol=1e-9)
