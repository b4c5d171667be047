"""The rough offset, and the Fourier sums it rests on against plain loops."""

import numpy as np
import pytest

from lapwright.two_logs.coarse import STEP_S, Rough, _correlated, _sums, candidates

RNG = np.random.default_rng(4)


def test_sums_for_every_shift_are_those_of_a_loop() -> None:
    a, b = RNG.normal(size=7), RNG.normal(size=5)
    known_a, known_b = RNG.random(7) > 0.3, RNG.random(5) > 0.3
    squares, pairs = _sums(a, known_a, b, known_b)
    for k, lag in enumerate(range(-6, 5)):
        both = [(i, i + lag) for i in range(7) if 0 <= i + lag < 5]
        both = [(i, j) for i, j in both if known_a[i] and known_b[j]]
        assert squares[k] == pytest.approx(sum((a[i] - b[j]) ** 2 for i, j in both), abs=1e-9)
        assert pairs[k] == max(len(both), 1)
    assert _correlated(np.array([1.0, 2.0]), np.array([10.0, 20.0])) == pytest.approx([20, 50, 20])


def _rough(speed: np.ndarray, rate: np.ndarray, start_s: float = 0.0) -> Rough:
    whole = np.ones(len(speed), dtype=np.bool_)
    return Rough(start_s, speed, rate, whole, whole)


def test_laps_that_are_alike_are_told_apart() -> None:
    # Five laps of 100 s, each a little different; the other begins 230 s in and counts from 7 s.
    time_s = np.arange(0.0, 500.0, STEP_S)
    speed = 30.0 + 10.0 * np.sin(time_s / 100.0 * 2 * np.pi) + np.repeat(RNG.normal(size=5), 400)
    rate = 0.3 * np.cos(time_s / 100.0 * 6 * np.pi)
    first = round(230.0 / STEP_S)
    later = _rough(speed[first:], rate[first:], 7.0)
    found = candidates(_rough(speed, rate), later)
    assert found[0][0] == pytest.approx(7.0 - 230.0, abs=0.01)
    assert found[0][1] < 0.01
    assert found[1][1] > 0.3


def test_too_little_in_common_is_nothing_found() -> None:
    short = _rough(np.full(200, 30.0), np.zeros(200))
    assert candidates(short, short) == []
