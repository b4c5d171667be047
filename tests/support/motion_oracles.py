"""
What the smoother is held against: plain recursions and dense algebra, written without haste.

Nothing here shares code with the package but the matrices of a single step, which have tests of
their own.
"""

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.model import NoiseParameters, axis_start_cov, axis_step
from lapwright.motion.measurements import Measurements

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

ORDINARY = NoiseParameters(0.3, 1.0, 200.0, 0.05, 0.02, 20.0, 5.0, 2.0)
POSITIONS_ONLY = NoiseParameters(0.3, 1.0, 200.0, np.inf, 0.02, 20.0, 5.0, 2.0)


def inverse(matrices: npt.NDArray) -> npt.NDArray:
    """Gauss-Jordan elimination of stacked positive definite matrices in their own precision."""
    k = matrices.shape[-1]
    work = np.concatenate([matrices, np.broadcast_to(np.eye(k), matrices.shape)], axis=-1)
    work = work.astype(matrices.dtype)
    for p in range(k):
        work[..., p, :] /= work[..., p, p][..., None].copy()
        others = np.arange(k) != p
        work[..., others, :] -= work[..., others, p][..., None] * work[..., [p], :]
    return work[..., k:]


def plain_recursion(
    f: npt.NDArray, q: npt.NDArray, h: npt.NDArray, r: npt.NDArray, y: npt.NDArray,
    start_mean: npt.NDArray, start_cov: npt.NDArray,
) -> tuple[npt.NDArray, npt.NDArray]:  # fmt: skip
    """
    Kalman filter and Rauch-Tung-Striebel smoother, one step after the other, in long double.

    Shapes: f, q (n - 1, b, k, k); h (m, k); r (n, m); y (n, b, m, c); b systems side by side.
    Returns means (n, b, k, c) and covariances (n, b, k, k).
    """
    f, q, h, r, y = (x.astype(np.longdouble) for x in (f, q, h, r, y))
    mean, cov = start_mean.astype(np.longdouble), start_cov.astype(np.longdouble)
    eye = np.eye(h.shape[1], dtype=np.longdouble)
    means, covs, ahead_means, ahead_covs = [], [], [], []
    for i in range(len(y)):
        if i:
            mean = f[i - 1] @ mean
            cov = f[i - 1] @ cov @ f[i - 1].swapaxes(-1, -2) + q[i - 1]
        ahead_means.append(mean)
        ahead_covs.append(cov)
        gain = cov @ h.T @ inverse(h @ cov @ h.T + np.diag(r[i]))
        mean = mean + gain @ (y[i] - h @ mean)
        keep = eye - gain @ h
        cov = keep @ cov @ keep.swapaxes(-1, -2) + gain @ np.diag(r[i]) @ gain.swapaxes(-1, -2)
        means.append(mean)
        covs.append(cov)
    for i in range(len(y) - 2, -1, -1):
        back = covs[i] @ f[i].swapaxes(-1, -2) @ inverse(ahead_covs[i + 1])
        means[i] = means[i] + back @ (means[i + 1] - ahead_means[i + 1])
        change = covs[i + 1] - ahead_covs[i + 1]
        covs[i] = covs[i] + back @ change @ back.swapaxes(-1, -2)
    return np.array(means), np.array(covs)


class DenseSession:
    """
    One session as one big normal distribution, conditioned on one measurement after the other.

    States of both axes at all times of interest, east before north, in long double: an unknown
    start of 60 m/s leaves a kilometre to cancel after 15 s.
    """

    def __init__(self, m: Measurements, noise: NoiseParameters, others_s: Floats) -> None:
        self.time_s = np.unique(np.concatenate([m.time_s, others_s]))
        f, q = axis_step(np.diff(self.time_s), noise)
        n, self.k = len(self.time_s), f.shape[0]
        axis = self._prior_cov(f.dense(n - 1), q.dense(n - 1), axis_start_cov(noise))
        self.cov = np.kron(np.eye(2), axis)
        mean = np.zeros((2, n, self.k), dtype=np.longdouble)
        # The prior mean stays at the first fix while the car is not known to move.
        mean[:, :, 0] = m.position_m[0][:, None]
        self.mean = mean.ravel()

    def _prior_cov(self, f: Floats, q: Floats, start: Floats) -> npt.NDArray:
        n, k = len(self.time_s), self.k
        cov = np.zeros((n, k, n, k), dtype=np.longdouble)
        cov[0, :, 0] = start
        for i in range(1, n):
            for j in range(i):
                cov[i, :, j] = f[i - 1] @ cov[i - 1, :, j]
                cov[j, :, i] = cov[i, :, j].T
            cov[i, :, i] = f[i - 1] @ cov[i - 1, :, i - 1] @ f[i - 1].T + q[i - 1]
        return cov.reshape(n * k, n * k)

    def row(self, time_s: float, weights: dict[tuple[int, int], float]) -> Floats:
        """Functional of the states at a time; weights by (axis, state)."""
        i = int(np.flatnonzero(self.time_s == time_s)[0])
        out = np.zeros((2, len(self.time_s), self.k))
        for (axis, state), weight in weights.items():
            out[axis, i, state] += weight
        return out.ravel()

    def car_rows(self, time_s: Floats, weights: Floats) -> Floats:
        """Functionals of [pe, pn, ve, vn, ae, an], shape (w, 2 n k)."""
        pairs = zip(time_s, weights, strict=True)
        return np.array([self.row(t, {(j % 2, j // 2): w[j] for j in range(6)}) for t, w in pairs])

    def measure(self, row: Floats, value: float, var: float) -> None:
        """Condition on a measurement."""
        used = np.flatnonzero(row)
        ph = self.cov[:, used] @ row[used]
        gain = ph / (row[used] @ ph[used] + var)
        self.mean = self.mean + gain * (value - row[used] @ self.mean[used])
        self.cov -= gain[:, None] * ph

    def posterior(self, wanted: Floats) -> tuple[Floats, Floats]:
        """Mean and covariance of functionals, shape (w, 2 n k)."""
        cov = wanted @ self.cov @ wanted.T
        return (wanted @ self.mean).astype(float), cov.astype(float)

    def posterior_given(
        self, wanted: Floats, rows: Floats, value: Floats, noise_cov: Floats, unknowns: Floats
    ) -> tuple[Floats, Floats]:
        """The same given correlated rows that share unknowns: generalised least squares."""
        joint = np.concatenate([wanted, rows])
        mean, cov = self.posterior(joint)
        w = len(wanted)
        cross, inner = cov[:w, w:], cov[w:, w:] + noise_cov
        precision = np.linalg.inv(inner)
        residual = value - mean[w:]
        beta = np.linalg.solve(unknowns.T @ precision @ unknowns, unknowns.T @ precision @ residual)
        found = mean[:w] + cross @ precision @ (residual - unknowns @ beta)
        # What the rows say with the unknowns known, and what not knowing them costs.
        known = cov[:w, :w] - cross @ precision @ cross.T
        felt = cross @ precision @ unknowns
        return found, known + felt @ np.linalg.inv(unknowns.T @ precision @ unknowns) @ felt.T


def uneven_times(rng: np.random.Generator, count: int, rate_hz: float) -> Floats:
    """Steps scattered by a third, and a gap of twenty steps in the middle."""
    step = rng.uniform(0.7, 1.3, count) / rate_hz
    step[count // 2] = 20.0 / rate_hz
    step[0] = 0.0
    return np.cumsum(step)


def driven(rng: np.random.Generator, time_s: Floats, noise: NoiseParameters) -> Measurements:
    """Fixes drawn from the model itself, vector velocity if the noise has one."""
    f, q = (e.dense(len(time_s) - 1) for e in axis_step(np.diff(time_s), noise))
    k = f.shape[-1]
    sds = np.sqrt(np.diag(axis_start_cov(noise)))
    sds[0] = 0.0
    state = np.empty((len(time_s), k, 2))
    state[0] = sds[:, None] * rng.standard_normal((k, 2))
    lower = np.linalg.cholesky(q + 1e-18 * np.eye(k))
    for i in range(1, len(time_s)):
        state[i] = f[i - 1] @ state[i - 1] + lower[i - 1] @ rng.standard_normal((k, 2))
    n = len(time_s)
    position = state[:, 0] + state[:, 3] + noise.white_m * rng.standard_normal((n, 2))
    if not noise.has_velocity:
        nothing = np.full(n, np.inf)
        zeros = np.zeros((n, 2))
        return Measurements(time_s, position, np.ones(n), "none", zeros, zeros[:, 0], nothing, None)
    velocity = state[:, 1] + state[:, 4] + noise.speed_mps * rng.standard_normal((n, 2))
    speed = np.hypot(velocity[:, 0], velocity[:, 1])
    one = np.ones(n)
    return Measurements(time_s, position, one, "vector", velocity, speed, one.copy(), None)


def place_contrasts(place: Ints) -> Floats:
    """Orthonormal combinations free of the places' unknowns, shape (m - q, m)."""
    _, index = np.unique(place, return_inverse=True)
    design = np.zeros((len(place), index.max() + 1))
    design[np.arange(len(place)), index] = 1.0
    full, _ = np.linalg.qr(design, mode="complete")
    return np.asarray(full[:, design.shape[1] :].T)
