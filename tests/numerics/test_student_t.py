"""Quantiles of Student's t."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import stdtrit

from lapwright.numerics.student_t import t_quantile


def test_published_quantiles() -> None:
    # NIST/SEMATECH e-Handbook, 1.3.6.7.2: 0.975 with 1, 5, 10 and 30 degrees of freedom.
    table = {1: 12.706, 5: 2.571, 10: 2.228, 30: 2.042}
    for dof, value in table.items():
        assert t_quantile(0.975, dof) == pytest.approx(value, abs=5e-4)
    assert t_quantile(0.975, 0) == math.inf


@pytest.mark.parametrize("probability", [0.6, 0.9, 0.975, 0.999])
def test_one_and_two_degrees_in_closed_form(probability: float) -> None:
    # N. L. Johnson, S. Kotz and N. Balakrishnan, "Continuous Univariate Distributions", vol. 2,
    # ch. 28 (from memory): tan(pi (p - 1/2)), and (2p - 1) sqrt(2 / (4 p (1 - p))).
    p = probability
    assert t_quantile(p, 1.0) == pytest.approx(math.tan(math.pi * (p - 0.5)), rel=1e-12)
    two = (2.0 * p - 1.0) * math.sqrt(2.0 / (4.0 * p * (1.0 - p)))
    assert t_quantile(p, 2.0) == pytest.approx(two, rel=1e-12)
    assert t_quantile(1.0 - p, 2.0) == pytest.approx(-two, rel=1e-12)


@given(st.floats(0.501, 0.9999), st.floats(0.5, 500.0))
def test_another_implementation_says_the_same(probability: float, dof: float) -> None:
    expected = float(stdtrit(dof, probability))
    assert t_quantile(probability, dof) == pytest.approx(expected, rel=1e-9)


def test_the_middle_is_nothing() -> None:
    assert t_quantile(0.5, 7.0) == 0.0


@pytest.mark.parametrize(("probability", "dof"), [(0.975, math.nan), (math.nan, 7.0)])
def test_of_nothing_known_nothing_is_said(probability: float, dof: float) -> None:
    assert math.isnan(t_quantile(probability, dof))


def test_with_very_many_degrees_it_is_the_normal_distribution() -> None:
    # NIST/SEMATECH e-Handbook, 1.3.6.7.1: 0.975.
    assert t_quantile(0.975, 1e15) == pytest.approx(1.959964, abs=2e-6)
