"""Pooled estimates against what is worked out by hand."""

import numpy as np
import pytest

from lapwright.coaching.pooled import pooled


def test_the_same_twice_is_one_of_twice_the_runs() -> None:
    both = pooled([0.2, 0.2], [0.05, 0.05])
    assert (both.value, both.between_sd) == (pytest.approx(0.2), 0.0)
    assert both.sd == pytest.approx(0.05 / np.sqrt(2.0))


def test_two_that_differ_by_hand() -> None:
    # w = 100 each, Q = 100 (0.25 + 0.25) = 50, tau^2 = (50 - 1) / (200 - 20000 / 200) = 0.49,
    # so each has a variance of 0.01 + 0.49 and their mean 0.25.
    both = pooled([0.0, 1.0], [0.1, 0.1])
    assert both.between_sd == pytest.approx(0.7)
    assert (both.value, both.sd) == (pytest.approx(0.5), pytest.approx(0.5))
    assert both.low95 == pytest.approx(0.5 - 1.959964 * 0.5, abs=1e-6)
    assert both.high95 == pytest.approx(0.5 + 1.959964 * 0.5, abs=1e-6)
    assert not both.stands


def test_the_surer_one_counts_more() -> None:
    # Within their bars: weights 1 / 0.01 and 1 / 0.04.
    both = pooled([0.3, 0.2], [0.1, 0.2])
    assert both.value == pytest.approx((0.3 * 100 + 0.2 * 25) / 125)
    assert both.sd == pytest.approx(125**-0.5)
    assert both.stands


def test_one_alone_stays_as_it_is() -> None:
    one = pooled([0.3], [0.1])
    assert (one.value, one.sd, one.between_sd) == pytest.approx((0.3, 0.1, 0.0))


def test_three_by_hand() -> None:
    # Three estimates 1, 2, 6 with variances 1, 1, 2: weights 1, 1, 1/2, mean 2.4,
    # Q = 1.96 + 0.16 + 6.48 = 8.6, tau^2 = (8.6 - 2) / (2.5 - 2.25 / 2.5) = 4.125.
    three = pooled([1.0, 2.0, 6.0], [1.0, 1.0, np.sqrt(2.0)])
    assert three.between_sd**2 == pytest.approx(4.125)
    weights = 1.0 / (np.array([1.0, 1.0, 2.0]) + 4.125)
    assert three.value == pytest.approx(weights @ [1.0, 2.0, 6.0] / weights.sum())


@pytest.mark.parametrize("sds", [[0.1, 0.0], [], [0.1, float("nan")]])
def test_without_an_error_bar_nothing_is_pooled(sds: list[float]) -> None:
    with pytest.raises(ValueError, match="must be positive"):
        pooled([0.1] * len(sds), sds)
