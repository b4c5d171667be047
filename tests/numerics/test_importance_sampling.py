"""The two searches on densities that are known."""

import numpy as np
import pytest

from lapwright.numerics.importance_sampling import (
    climb,
    even_points,
    log_normal_density,
    normal_points,
    sample,
)

COV = np.array([[0.3, 0.1, 0.0], [0.1, 0.2, -0.05], [0.0, -0.05, 0.4]])
MODE = np.array([0.4, -1.2, 2.0])


def test_climb_finds_the_top_of_a_normal_density_and_its_width() -> None:
    mode, cov = climb(lambda x: log_normal_density(x, MODE, COV), np.zeros(3))
    np.testing.assert_allclose(mode, MODE, atol=1e-9)
    np.testing.assert_allclose(cov, COV, atol=1e-6)


def test_climb_follows_a_crooked_ridge() -> None:
    # Maximum at (1, 1): (a - 1)^2 + 3 (b - a^2)^2, by inspection.
    def density(x: np.ndarray) -> np.ndarray:
        return -((x[:, 0] - 1.0) ** 2) - 3.0 * (x[:, 1] - x[:, 0] ** 2) ** 2

    mode, _ = climb(density, np.array([-0.5, 1.5]), step=0.05, rounds=60)
    # It stops when a move is a tenth of a step; along the ridge moves are short.
    np.testing.assert_allclose(mode, [1.0, 1.0], atol=0.05)


def test_log_normal_density_is_normalised() -> None:
    # At the mean: -(d log 2 pi + log det) / 2.
    expected = -0.5 * (3.0 * np.log(2.0 * np.pi) + np.linalg.slogdet(COV)[1])
    assert log_normal_density(MODE[None], MODE, COV)[0] == pytest.approx(expected)


def test_even_points_fill_the_cube() -> None:
    points = even_points(256, 4)
    assert points.shape == (256, 4)
    # Random points would scatter by sqrt(32 x 7 / 8) = 5.3 about 32 an eighth.
    for axis in points.T:
        counts, _ = np.histogram(axis, 8, (0.0, 1.0))
        assert np.sqrt(np.mean((counts - 32.0) ** 2)) < 2.0


def test_even_points_go_on_where_others_ended() -> None:
    whole = even_points(96, 8)
    np.testing.assert_array_equal(even_points(32, 8, first=64), whole[64:])


def test_normal_points_have_the_moments_asked_for() -> None:
    points = normal_points(4000, MODE, COV)
    np.testing.assert_allclose(points.mean(axis=0), MODE, atol=0.01)
    np.testing.assert_allclose(np.cov(points.T), COV, atol=0.02)


def test_sample_weighs_a_normal_likelihood_against_a_normal_prior() -> None:
    # Conjugate normal: precisions add up (any textbook; Gelman et al., BDA3, sec. 2.5 and 3.5).
    prior_mean, prior_sd = np.zeros(3), np.array([1.0, 0.8, 1.5])
    points, weight = sample(
        lambda x: log_normal_density(x, MODE, COV), prior_mean, prior_sd, (400, 400)
    )
    precision = np.linalg.inv(COV) + np.diag(prior_sd**-2)
    cov = np.linalg.inv(precision)
    mean = cov @ np.linalg.inv(COV) @ MODE
    found = weight @ points
    away = points - found
    assert weight.sum() == pytest.approx(1.0)
    # Importance sampling with some 200 effective points: 0.07 of a standard deviation.
    np.testing.assert_allclose(found, mean, atol=0.07)
    spread = np.sqrt(np.diag((weight[:, None] * away).T @ away))
    np.testing.assert_allclose(spread, np.sqrt(np.diag(cov)), rtol=0.2)


def test_rounds_do_not_repeat_each_other() -> None:
    # A second round over the same distribution has to bring other points.
    points, _ = sample(lambda x: np.full(len(x), -7.0), np.zeros(8), np.ones(8), (96, 96))
    assert np.abs(points[:96] - points[96:]).max(axis=1).min() > 0.3


def test_sample_gives_back_the_prior_where_the_data_say_nothing() -> None:
    prior_mean, prior_sd = np.array([5.0, -1.0]), np.array([0.6, 1.4])
    points, weight = sample(lambda x: np.full(len(x), -7.0), prior_mean, prior_sd, (96, 32))
    found = weight @ points
    # 128 random points would be good to 0.09 of a standard deviation.
    np.testing.assert_allclose((found - prior_mean) / prior_sd, 0.0, atol=0.09)
    np.testing.assert_allclose(np.sqrt(weight @ (points - found) ** 2), prior_sd, rtol=0.08)
