"""
Two small searches for noise levels: a Newton climb, and sampling where the data say little.

Both ask for the log density of many points at once, because a recursion over fixes costs the same
for one set of levels as for fifty.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from lapwright.motion.normal import quantile

Floats = npt.NDArray[np.float64]
LogDensity = Callable[[Floats], Floats]


def even_points(count: int, dimension: int) -> Floats:
    """
    Points spread evenly in the unit cube, the same ones every time.

    Parameters
    ----------
    count, dimension : int

    Returns
    -------
    ndarray, shape (count, dimension)
        An additive recurrence with the powers of the root of x^(d+1) = x + 1.
    """
    root = 2.0
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (dimension + 1))
    steps = (1.0 / root) ** np.arange(1, dimension + 1)
    return np.asarray((0.5 + np.arange(1, count + 1)[:, None] * steps) % 1.0)


def normal_points(count: int, mean: Floats, cov: Floats) -> Floats:
    """Evenly spread points of a normal distribution, shape (count, d)."""
    z = quantile(even_points(count, len(mean)))
    return np.asarray(mean + z @ np.linalg.cholesky(cov).T)


def log_normal_density(x: Floats, mean: Floats, cov: Floats) -> Floats:
    """Log density of a normal distribution at rows of ``x``, shape (count,)."""
    z = np.linalg.solve(np.linalg.cholesky(cov), (x - mean).T)
    half = 0.5 * float(np.linalg.slogdet(cov)[1]) + 0.5 * len(mean) * np.log(2.0 * np.pi)
    return np.asarray(-0.5 * (z**2).sum(axis=0) - half)


def climb(
    log_density: LogDensity, start: Floats, step: float = 0.25, rounds: int = 6
) -> tuple[Floats, Floats]:
    """
    Find a maximum by Newton's method on a fitted parabola.

    Parameters
    ----------
    log_density : callable
        Rows of points to log densities.
    start : ndarray, shape (d,)
    step : float
        Spacing of the points the parabola is fitted to.
    rounds : int
        At most.

    Returns
    -------
    mode : ndarray, shape (d,)
    cov : ndarray, shape (d, d)
        Inverse curvature there.
    """
    d = len(start)
    pairs = [(i, j) for i in range(d) for j in range(i + 1, d)]
    stencil = [np.zeros(d)]
    for i in range(d):
        stencil += [np.eye(d)[i], -np.eye(d)[i]]
    stencil += [np.eye(d)[i] + np.eye(d)[j] for i, j in pairs]
    offsets = step * np.array(stencil)
    at, cov = start.astype(np.float64), np.eye(d)
    for _ in range(rounds):
        value = log_density(at + offsets)
        up, down = value[1 : 2 * d + 1 : 2], value[2 : 2 * d + 1 : 2]
        slope = (up - down) / (2.0 * step)
        bend = np.diag((up - 2.0 * value[0] + down) / step**2)
        for n, (i, j) in enumerate(pairs):
            both = value[2 * d + 1 + n] - up[i] - up[j] + value[0]
            bend[i, j] = bend[j, i] = both / step**2
        values, vectors = np.linalg.eigh(-bend)
        # Where it bends the wrong way the slope alone is followed.
        cov = (vectors / np.maximum(values, 1.0)) @ vectors.T
        move = np.clip(cov @ slope, -1.0, 1.0)
        if np.abs(move).max() < 0.1 * step:
            return at + move, cov
        # Far from the top a parabola points well past it: the best of some shorter steps counts.
        tries = at + np.array([[1.0], [0.5], [0.25], [0.1]]) * move
        heights = log_density(tries)
        best = int(np.argmax(heights))
        if not heights[best] > value[0]:
            break
        at = tries[best]
    return at, cov


def sample(
    log_likelihood: LogDensity, prior_mean: Floats, prior_sd: Floats, counts: tuple[int, int]
) -> tuple[Floats, Floats]:
    """
    Weighted points of a posterior, by importance sampling in two rounds.

    The first round spreads points over the prior; the second over a normal fit, made wider, of
    what the first found.  A posterior that stays as wide as the prior is no trouble.

    Parameters
    ----------
    log_likelihood : callable
        Rows of points to log likelihoods.
    prior_mean, prior_sd : ndarray, shape (d,)
        Of independent normal priors.
    counts : (int, int)
        Points in each round.

    Returns
    -------
    points : ndarray, shape (n, d)
    weight : ndarray, shape (n,)
        Summing to one.
    """
    prior_cov = np.diag(prior_sd**2)
    first = normal_points(counts[0], prior_mean, prior_cov)
    likelihood_1 = log_likelihood(first)
    # Softened, so that a handful of lucky points does not make the fit too narrow.
    tempered = np.exp(0.5 * (likelihood_1 - likelihood_1.max()))
    tempered /= tempered.sum()
    mean = tempered @ first
    away = first - mean
    cov = (tempered[:, None] * away).T @ away + np.diag((0.15 * prior_sd) ** 2)
    second = normal_points(counts[1], mean, cov)
    points = np.concatenate([first, second])
    likelihood = np.concatenate([likelihood_1, log_likelihood(second)])
    share = np.array(counts) / sum(counts)
    prior = log_normal_density(points, prior_mean, prior_cov)
    proposal = np.logaddexp(
        np.log(share[0]) + prior, np.log(share[1]) + log_normal_density(points, mean, cov)
    )
    weight = np.exp(likelihood + prior - proposal - (likelihood + prior - proposal).max())
    return points, weight / weight.sum()
