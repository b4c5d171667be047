"""
Two small searches for noise parameters: a Newton climb, and sampling where the data say little.

Both ask for the log density of many points at once, because a recursion over fixes costs the same
for one set of them as for fifty.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from lapwright.numerics.normal import quantile

Floats = npt.NDArray[np.float64]
LogDensity = Callable[[Floats], Floats]

# Posterior means of a sample worth so many are good to a sixth of a standard deviation.
_MIN_POINTS = 36.0


def even_points(count: int, dimension: int, first: int = 0) -> Floats:
    """
    Points spread evenly in the unit cube, the same ones every time.

    Parameters
    ----------
    count : int
    dimension : int
        At most ten.
    first : int
        How many of the sequence to leave out, because they were had before.

    Returns
    -------
    ndarray, shape (count, dimension)
        Multiples of the square roots of primes [1]_: each axis by itself is covered evenly.

    References
    ----------
    .. [1] R. D. Richtmyer, "The evaluation of definite integrals, and a quasi-Monte-Carlo method
       based on the properties of algebraic numbers", LA-1342, 1951.
    """
    steps = np.sqrt(np.array([2.0, 3.0, 5.0, 7.0, 11.0, 13.0, 17.0, 19.0, 23.0, 29.0])[:dimension])
    return np.asarray((0.5 + np.arange(first + 1, first + count + 1)[:, None] * steps) % 1.0)


def normal_points(count: int, mean: Floats, cov: Floats, first: int = 0) -> Floats:
    """Evenly spread points of a normal distribution, shape (count, d); see `even_points`."""
    z = quantile(even_points(count, len(mean), first))
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
    log_likelihood: LogDensity, prior_mean: Floats, prior_sd: Floats, counts: tuple[int, ...]
) -> tuple[Floats, Floats]:
    """
    Weighted points of a posterior, by importance sampling in a few rounds.

    The first round spreads points over the prior; each further one over a normal fit of what was
    found so far, the weights softened until no handful of lucky points makes the fit too narrow.
    A posterior that stays as wide as the prior is no trouble.  All points count, each against the
    mixture of all that was proposed [1]_.

    Parameters
    ----------
    log_likelihood : callable
        Rows of points to log likelihoods.
    prior_mean, prior_sd : ndarray, shape (d,)
        Of independent normal priors.
    counts : tuple of int
        Points in each round.  The last is repeated up to twice while few points carry the weight.

    Returns
    -------
    points : ndarray, shape (n, d)
    weight : ndarray, shape (n,)
        Summing to one.

    References
    ----------
    .. [1] E. Veach and L. J. Guibas, "Optimally combining sampling techniques for Monte Carlo
       rendering", SIGGRAPH 1995, 419-428 (the balance heuristic).
    """
    prior_cov = np.diag(prior_sd**2)
    proposals = [(prior_mean, prior_cov)]
    points = normal_points(counts[0], prior_mean, prior_cov)
    likelihood = log_likelihood(points)
    used = list(counts)
    log_weight = _log_weights(points, likelihood, proposals, used)
    for n, count in enumerate([*counts[1:], counts[-1], counts[-1]]):
        if n >= len(counts) - 1:
            if _effective(log_weight) > _MIN_POINTS:
                break
            used.append(count)
        softened = _softened(log_weight, 4.0 * len(prior_mean))
        mean = softened @ points
        away = points - mean
        cov = (softened[:, None] * away).T @ away + np.diag((0.15 * prior_sd) ** 2)
        proposals.append((mean, cov))
        # The same numbers again would explore the same directions again.
        more = normal_points(count, mean, cov, len(points))
        points = np.concatenate([points, more])
        likelihood = np.concatenate([likelihood, log_likelihood(more)])
        log_weight = _log_weights(points, likelihood, proposals, used)
    weight = np.exp(log_weight - log_weight.max())
    return points, weight / weight.sum()


def _effective(log_weight: Floats) -> float:
    """How many equally weighted points these are worth (Kish 1965)."""
    weight = np.exp(log_weight - log_weight.max())
    return float(weight.sum() ** 2 / (weight**2).sum())


def _softened(log_weight: Floats, least: float) -> Floats:
    """Weights to the largest power up to one that leaves so many effective points."""
    powers = 0.75 ** np.arange(14)
    power = next((p for p in powers if _effective(p * log_weight) >= least), powers[-1])
    weight = np.exp(power * (log_weight - log_weight.max()))
    return np.asarray(weight / weight.sum())


def _log_weights(
    points: Floats, likelihood: Floats, proposals: list[tuple[Floats, Floats]],
    counts: list[int],
) -> Floats:  # fmt: skip
    """Log of posterior over proposal, up to a constant; the first proposal is the prior."""
    used = np.array(counts[: len(proposals)], dtype=np.float64)
    densities = np.stack([log_normal_density(points, *normal) for normal in proposals])
    mixture = np.logaddexp.reduce(np.log(used / used.sum())[:, None] + densities, axis=0)
    return np.asarray(likelihood + densities[0] - mixture)
