"""Signs and sizes of a gate, on all compass headings."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapwright.geometry import Gate


def test_a_driver_going_north_sees_the_western_end_left() -> None:
    gate = Gate(left_m=(-6.0, 100.0), right_m=(4.0, 100.0))
    assert gate.forward == pytest.approx((0.0, 1.0))
    assert gate.along == pytest.approx((1.0, 0.0))
    assert gate.centre_m == (-1.0, 100.0)
    assert gate.width_m == 10.0
    assert gate.heading_rad == pytest.approx(math.pi / 2)
    # Two metres past the line, at the left end: ISO 8855 has y to the left.
    assert gate.signed_distance(-6.0, 102.0) == pytest.approx(2.0)
    assert gate.offset(-6.0, 102.0) == pytest.approx(5.0)
    assert gate.offset([4.0, -1.0], [90.0, 0.0]) == pytest.approx([-5.0, 0.0])


@given(
    heading=st.floats(-7, 7),
    ahead=st.floats(-100, 100),
    left=st.floats(-100, 100),
    east=st.floats(-3000, 3000),
    north=st.floats(-3000, 3000),
)
def test_ahead_and_left_on_every_heading(
    heading: float, ahead: float, left: float, east: float, north: float
) -> None:
    gate = Gate.across((east, north), heading, 12.0)
    x = east + ahead * math.cos(heading) - left * math.sin(heading)
    y = north + ahead * math.sin(heading) + left * math.cos(heading)
    assert gate.signed_distance(x, y) == pytest.approx(ahead, abs=1e-6)
    assert gate.offset(x, y) == pytest.approx(left, abs=1e-6)
    # Crossed the other way, both change sign.
    assert gate.reversed().signed_distance(x, y) == pytest.approx(-ahead, abs=1e-6)
    assert gate.reversed().offset(x, y) == pytest.approx(-left, abs=1e-6)


def test_widening_moves_the_ends_outwards() -> None:
    gate = Gate((0.0, 5.0), (0.0, -5.0)).widened(2.5)
    assert (gate.left_m, gate.right_m) == ((0.0, 7.5), (0.0, -7.5))
    assert gate.forward == pytest.approx((1.0, 0.0))


def test_values_are_plain_and_equal() -> None:
    gate = Gate((np.float64(0), 1), (2, 3))
    assert gate == Gate((0.0, 1.0), (2.0, 3.0))
    assert type(gate.left_m[0]) is float


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Gate((1.0, 1.0), (1.0, 1.0)), "give two different points"),
        (lambda: Gate((math.nan, 1.0), (1.0, 1.0)), "not finite"),
        (lambda: Gate.across((0.0, 0.0), 0.0, 0.0), "width of a gate must be more than 0"),
        (lambda: Gate.across((0.0, 0.0), 0.0, math.nan), "width of a gate"),
    ],
)
def test_a_gate_refuses_nonsense(make, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        make()
