"""
Further measurements of a session, beside the receiver's own: generic rows.

A row measures one linear combination of the car's state at one time.  The noise of the rows may be
correlated in any way, and they may share unknowns with no prior (a flat one), such as where the
usual line lies.  The rows enter the smoother's posterior exactly, by conditioning: the chain of
gains gives their joint covariance, and one dense solve of their number does the rest.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.bridge import bridge_cov
from lapwright.motion.kalman.row_reach import RowReach, row_reach
from lapwright.motion.kalman.smoothing import Smoothing
from lapwright.numerics.triangular import lower_inverse

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PseudoMeasurements:
    """
    Rows ``value = weights . state(time) + unknowns . beta + noise``.

    Attributes
    ----------
    time_s : ndarray, shape (m,)
        Ascending. [s]
    weights : ndarray, shape (m, 6)
        Of [pe, pn, ve, vn, ae, an].
    value : ndarray, shape (m,)
    noise_cov : ndarray, shape (m, m)
    unknowns : ndarray, shape (m, q)
        Design matrix of the shared unknowns.
    """

    time_s: Floats
    weights: Floats
    value: Floats
    noise_cov: Floats
    unknowns: Floats


@dataclass(frozen=True, eq=False)
class RowEffect:
    """
    What the rows do to a smoothing: means at the nodes, and how any covariance shrinks.

    Attributes
    ----------
    rows : PseudoMeasurements
    whitening : ndarray, shape (m, m)
        ``cov(f, g | rows) = cov(f, g) - (whitening @ cov(rows, f))' @ (whitening @ cov(rows, g))``.
    pull : ndarray, shape (m,)
        ``E(f | rows) = E(f) + cov(f, rows) @ pull``.
    node_mean : ndarray, shape (n, s, c)
        That of every node, in the layout of the states.
    log_likelihood : float
        Of the rows given the session, the unknowns integrated out.
    reach : RowReach
        Covariances of the rows with anything else.
    """

    rows: PseudoMeasurements
    whitening: Floats
    pull: Floats
    node_mean: Floats
    log_likelihood: float
    reach: RowReach


def row_means(
    smoothing: Smoothing, time_s: Floats, weights: Floats, effect: RowEffect | None = None
) -> Floats:
    """Posterior mean of functionals of [pe, pn, ve, vn, ae, an], shape (k,)."""
    p, v, a = car_mean_with_rows(smoothing, effect, time_s)
    return np.asarray(np.einsum("kj,kj->k", weights, np.concatenate([p, v, a], axis=1)))


def car_mean_with_rows(
    smoothing: Smoothing, effect: RowEffect | None, time_s: Floats
) -> tuple[Floats, Floats, Floats]:
    """
    Posterior mean of position, velocity and acceleration at any times, each (k, 2).

    Where the car can be is settled by the two nodes about it, except in a step that holds rows
    itself: there they act directly too.
    """
    if effect is None:
        return smoothing.car_mean(time_s)
    p, v, a = smoothing.car_mean(time_s, effect.node_mean)
    i, since = smoothing.locate(time_s)
    row_i, row_since = smoothing.locate(effect.rows.time_s)
    # Rows come in order of time: those of one step are neighbours.
    first, last = np.searchsorted(row_i, i, "left"), np.searchsorted(row_i, i, "right")
    kicks = effect.rows.weights.reshape(-1, 3, 2) * effect.pull[:, None, None]
    for nth in range(int(np.max(last - first, initial=0))):
        at = np.flatnonzero(first + nth < last)
        row = first[at] + nth
        step = smoothing.node_s[i[at] + 1] - smoothing.node_s[i[at]]
        x = bridge_cov(since[at], row_since[row], step, smoothing.noise) @ kicks[row]
        p[at] += x[:, 0]
        v[at] += x[:, 1]
        a[at] += x[:, 2]
    return p, v, a


def whitening(cov: Floats, unknowns: Floats) -> tuple[Floats, float]:
    """
    Root W of the inverse covariance after integrating out unknowns with a flat prior.

    Parameters
    ----------
    cov : ndarray, shape (m, m)
    unknowns : ndarray, shape (m, q)
        Design matrix.

    Returns
    -------
    root : ndarray, shape (m, m)
        ``W' W`` is that inverse: the unknowns' directions are projected out of the inverse Cholesky
        factor.
    half_log_det : float
        The restricted likelihood's normalising term, up to a constant of the design.
    """
    lower = np.linalg.cholesky(cov)
    half = float(np.log(np.diagonal(lower)).sum())
    root = lower_inverse(lower)
    if unknowns.shape[1]:
        seen = root @ unknowns
        inner = np.linalg.cholesky(seen.T @ seen)
        basis = np.linalg.solve(inner, seen.T)
        root = root - basis.T @ (basis @ root)
        half += float(np.log(np.diagonal(inner)).sum())
    return root, half


def condition(smoothing: Smoothing, rows: PseudoMeasurements) -> RowEffect:
    """
    Condition a smoothing on extra rows.

    Parameters
    ----------
    smoothing : Smoothing
    rows : PseudoMeasurements

    Returns
    -------
    RowEffect
    """
    functionals = smoothing.functionals(rows.weights)
    reach = row_reach(smoothing, rows.time_s, functionals)
    root, half_log_det = whitening(reach.between_rows + rows.noise_cov, rows.unknowns)
    residual = rows.value - row_means(smoothing, rows.time_s, rows.weights)
    white = root @ residual
    pull = root.T @ white
    moved = smoothing.response(reach.places, functionals * pull[:, None, None])
    return RowEffect(
        rows, root, pull, smoothing.states.mean + moved,
        -0.5 * float(white @ white) - half_log_det, reach,
    )  # fmt: skip
