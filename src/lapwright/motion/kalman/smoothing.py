"""
A smoothed session: the posterior of the two axes at any time, and between any times.

Between fixes the posterior is exact too.  The mean bridges the two neighbouring nodes; the
covariance of any set of times is a chain of gains, the smoother's own: ``cov(x_a, x_b) = G_ab P_b``
for a before b, with ``G_ac = G_ab G_bc`` (symbols: see `lapwright.motion.kalman.model`).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.motion.kalman.bridge import bridge
from lapwright.motion.kalman.gain_products import (
    covariance_times,
    gain_products,
    sum_backward,
    sum_forward,
)
from lapwright.motion.kalman.model import NoiseParameters, axis_step
from lapwright.motion.kalman.rts_smoother import SmoothedStates
from lapwright.numerics.batched_systems import transpose

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Places:
    """
    Some times, in any order, and what covariances between them are made of.

    Attributes
    ----------
    time_s : ndarray, shape (k,)
    node : ndarray of int, shape (k,)
        The one at or before each time.
    since_s : ndarray, shape (k,)
        Time since that node. [s]
    here : ndarray, shape (k, s, s)
        Covariance given the measurements up to that node.
    to_next : ndarray, shape (k, s, s)
        Gain to the node after.
    cov : ndarray, shape (k, s, s)
        Given all measurements.
    """

    time_s: Floats
    node: Ints
    since_s: Floats
    here: Floats
    to_next: Floats
    cov: Floats

    def take(self, which: Ints | slice) -> "Places":
        """Some of them, shape of ``which``."""
        return Places(
            self.time_s[which], self.node[which], self.since_s[which], self.here[which],
            self.to_next[which], self.cov[which],
        )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Chain:
    """
    The joint posterior of the states at ``k`` times in order, as a chain.

    Attributes
    ----------
    cov : ndarray, shape (k, s, s)
    gain : ndarray, shape (k - 1, s, s)
        From each time to the next.
    """

    cov: Floats
    gain: Floats

    def covariance(self, functionals: Floats) -> Floats:
        """
        Covariance between linear functionals of the states.

        Parameters
        ----------
        functionals : ndarray, shape (k, s) or (k, s, c)
            One functional a time; with c columns that share the chain, their sum.

        Returns
        -------
        ndarray, shape (k, k)
        """
        h = functionals if functionals.ndim == 3 else functionals[:, :, None]
        k, s, c = h.shape
        out = np.empty((k, k))
        later = self.cov @ h
        # v[:, j] holds cov(x_now, f_j) for all j not before now.
        v = np.zeros((s, k, c))
        for i in range(k - 1, -1, -1):
            if i < k - 1:
                tail = v[:, i + 1 :].reshape(s, -1)
                v[:, i + 1 :] = (self.gain[i] @ tail).reshape(s, k - 1 - i, c)
            v[:, i] = later[i]
            out[i, i:] = np.einsum("sc,sjc->j", h[i], v[:, i:])
            out[i:, i] = out[i, i:]
        return out


@dataclass(frozen=True, eq=False)
class Smoothing:
    """
    One session smoothed under one set of noise parameters.

    Attributes
    ----------
    node_s : ndarray, shape (n,)
        Times of the nodes: the fixes. [s]
    noise : NoiseParameters
    states : SmoothedStates
        Either both axes as two columns sharing one covariance (k states an axis), or, where
        the axes are coupled, one column of 2k states, east before north.
    """

    node_s: Floats
    noise: NoiseParameters
    states: SmoothedStates

    @property
    def coupled(self) -> bool:
        """Whether the axes are one system because only the speed along the way is measured."""
        return bool(self.states.mean.shape[-1] == 1)

    def step(self, dt_s: Floats) -> tuple[Floats, Floats]:
        """Transition and process covariance in the layout of the states."""
        f, q = axis_step(dt_s, self.noise)
        if self.coupled:
            f, q = f.twice(), q.twice()
        return f.dense(len(dt_s)), q.dense(len(dt_s))

    def functionals(self, weights: Floats) -> Floats:
        """
        Map weights of [pe, pn, ve, vn, ae, an] to functionals of the states.

        Parameters
        ----------
        weights : ndarray, shape (k, 6)

        Returns
        -------
        ndarray, shape (k, s, c)
        """
        s = self.states.mean.shape[1]
        per_axis = weights.reshape(-1, 3, 2)
        out = np.zeros((len(weights), s, self.states.mean.shape[2]))
        if self.coupled:
            out[:, :3, 0] = per_axis[:, :, 0]
            out[:, s // 2 : s // 2 + 3, 0] = per_axis[:, :, 1]
        else:
            out[:, :3] = per_axis
        return out

    def locate(self, time_s: Floats) -> tuple[Ints, Floats]:
        """
        Node at or before each time and the time since it.

        Raises
        ------
        ValueError
            If a time lies outside the record.
        """
        if len(time_s) and not (
            self.node_s[0] <= np.min(time_s) and np.max(time_s) <= self.node_s[-1]
        ):
            msg = (
                f"times from {np.min(time_s):.3f} to {np.max(time_s):.3f} s reach beyond the "
                f"record, which runs from {self.node_s[0]:.3f} to {self.node_s[-1]:.3f} s"
            )
            raise ValueError(msg)
        i = np.searchsorted(self.node_s, time_s, side="right") - 1
        i = np.clip(i, 0, len(self.node_s) - 2)
        return i, time_s - self.node_s[i]

    def car_mean(
        self, time_s: Floats, node_mean: Floats | None = None
    ) -> tuple[Floats, Floats, Floats]:
        """
        Posterior mean of position, velocity and acceleration, each of shape (k, 2).

        With ``node_mean``, shape (n, s, c), in place of the smoothing's own: the bridge between
        nodes is the same whatever moved them.
        """
        i, since = self.locate(time_s)
        car = self._car(self.states.mean if node_mean is None else node_mean)
        a, b = bridge(since, self.node_s[i + 1] - self.node_s[i], self.noise)
        x = a @ car[i] + b @ car[i + 1]
        return x[:, 0], x[:, 1], x[:, 2]

    def car_at_nodes(self, node_mean: Floats) -> tuple[Floats, Floats, Floats]:
        """Do the same at the nodes themselves, where nothing has to be bridged."""
        x = self._car(node_mean)
        return x[:, 0], x[:, 1], x[:, 2]

    def _car(self, mean: Floats) -> Floats:
        """Position, velocity and acceleration out of the nodes' states, shape (n, 3, 2)."""
        if not self.coupled:
            return mean[:, :3]
        half = mean.shape[1] // 2
        return np.stack([mean[:, :3, 0], mean[:, half : half + 3, 0]], axis=-1)

    def _predicted(self, i: Ints, since: Floats) -> Floats:
        f, q = self.step(since)
        return np.asarray(f @ self.states.filtered_cov[i] @ transpose(f) + q)

    def places(self, time_s: Floats) -> Places:
        """
        What covariances between times are made of.

        Parameters
        ----------
        time_s : ndarray, shape (k,)
            In any order. [s]
        """
        i, since = self.locate(time_s)
        here = self._predicted(i, since)
        step = self.node_s[i + 1] - self.node_s[i]
        f_rest, _ = self.step(step - since)
        ahead = self._predicted(i, step)
        to_next = transpose(np.linalg.solve(ahead, f_rest @ here))
        cov = here + to_next @ (self.states.cov[i + 1] - ahead) @ transpose(to_next)
        return Places(time_s, i, since, here, to_next, 0.5 * (cov + transpose(cov)))

    def chain(self, places: Places) -> Chain:
        """
        Joint posterior covariance at times in ascending order.

        Parameters
        ----------
        places : Places
            Ascending; equal times are allowed.
        """
        return Chain(places.cov, self.gains(places.take(slice(0, -1)), places.take(slice(1, None))))

    def gains(self, a: Places, b: Places) -> Floats:
        """
        Gain from each of some times to a time of its own, at or after it.

        Parameters
        ----------
        a, b : Places
            Of the same length k.

        Returns
        -------
        ndarray, shape (k, s, s)
            ``cov(x_a, x_b) = gain @ cov_b``.
        """
        if not len(a.time_s):
            return np.zeros((0, *b.cov.shape[1:]))
        same = a.node == b.node
        f_between, _ = self.step(np.where(same, b.time_s - a.time_s, 0.0))
        direct = transpose(np.linalg.solve(b.here, f_between @ a.here))
        f_last, _ = self.step(b.since_s)
        last = transpose(np.linalg.solve(b.here, f_last @ self.states.filtered_cov[b.node]))
        nodes = gain_products(self.states, np.minimum(a.node + 1, b.node), b.node)
        return np.where(same[:, None, None], direct, a.to_next @ nodes @ last)

    def response(self, at: Places, kicks: Floats) -> Floats:
        """
        Sum of covariances of every node's state with functionals at other times.

        Parameters
        ----------
        at : Places
            Of m times.
        kicks : ndarray, shape (m, s, c)
            Functionals of the states, each already times its weight.

        Returns
        -------
        ndarray, shape (n, s, c)
            ``sum_j cov(x_i, x(t_j)) @ kicks_j`` at every node i.
        """
        i, to_next = at.node, at.to_next
        f, _ = self.step(at.since_s)
        from_node = transpose(np.linalg.solve(at.here, f @ self.states.filtered_cov[i]))
        before = np.zeros_like(self.states.mean)
        np.add.at(before, i, from_node @ at.cov @ kicks)
        after = np.zeros_like(before)
        np.add.at(after, i + 1, transpose(to_next) @ kicks)
        earlier = sum_backward(self.states, before)
        return earlier + covariance_times(self.states, sum_forward(self.states, after))
