"""Scales, ticks and paths: by hand."""

import numpy as np
import pytest

from lapwright.report.html.figure import (
    Along,
    Mark,
    Span,
    Tick,
    band,
    frame_y,
    nice_step,
    padded,
    path,
    ticks,
)


@pytest.mark.parametrize(
    ("span", "most", "step"),
    [
        # So many steps of 1, 2 or 5 times a power of ten fit at most: counted by hand.
        (10.0, 10, 1.0), (10.0, 9, 2.0), (10.0, 5, 2.0), (10.0, 4, 5.0), (10.0, 2, 5.0),
        (10.0, 1, 10.0), (11.0, 1, 20.0), (0.06, 5, 0.02), (5100.0, 5, 2000.0), (-1.0, 5, 1.0),
        (9.9, 1, 10.0),
    ],
)  # fmt: skip
def test_steps_are_round(span: float, most: int, step: float) -> None:
    assert nice_step(span, most) == pytest.approx(step)


def test_ticks_stand_at_their_numbers() -> None:
    # Every 20 between 95 and 183: the first 5 from the low end, of 88.
    found = ticks(95.0, 183.0, 5)
    assert [t.text for t in found] == ["100", "120", "140", "160", "180"]
    assert [t.share for t in found] == pytest.approx([5 / 88, 25 / 88, 45 / 88, 65 / 88, 85 / 88])
    assert found[0].percent == "5.682%"


def test_ticks_have_the_digits_of_their_step_and_a_true_minus() -> None:
    found = ticks(-0.1, 0.1, 5)
    assert [t.text for t in found] == ["\N{MINUS SIGN}0.10", "\N{MINUS SIGN}0.05", "0.00", "0.05",
                                       "0.10"]  # fmt: skip
    assert [t.share for t in found] == pytest.approx([0.0, 0.25, 0.5, 0.75, 1.0])
    assert [t.text for t in ticks(0.0, 10.0, 2)] == ["0", "5", "10"]
    assert [t.text for t in ticks(0.0, 1.0, 1, decimals=2)] == ["0.00", "1.00"]


def test_up_is_more() -> None:
    # From 0 at the top, the high end, to 1000 at the bottom.
    assert frame_y([2.0, 4.0, 3.5], 2.0, 4.0) == pytest.approx([1000.0, 0.0, 250.0])


def test_a_path_goes_through_its_points() -> None:
    # Steps from point to point; a number that begins with a minus needs no space before it.
    x, y = np.array([3.0, 5.0, 4.0, 10.0]), np.array([7.0, 9.0, 9.0, 4.0])
    assert path(x, y) == "M3 7l2 2-1 0 6-5"
    assert path(x[:1], y[:1]) == "M3 7"
    # Whole units each, so that rounding does not add up along the line.
    third = np.arange(1, 4) / 3.0
    assert path(third, third) == "M0 0l1 1 0 0"
    holes = np.array([np.nan, 5.0, 4.0, np.inf])
    assert path(holes, y) == "M5 9l-1 0"
    assert path(holes[:1], y[:1]) == ""


def test_a_band_goes_out_along_the_top_and_back_along_the_bottom() -> None:
    x = np.array([0.0, 10.0])
    assert band(x, np.array([8.0, 9.0]), np.array([2.0, 3.0])) == "M0 2l10 1 0 6-10-1z"


def test_ranges_are_widened_on_both_sides_alike() -> None:
    assert padded(10.0, 20.0, 0.1, 5.0) == pytest.approx((9.0, 21.0))
    # Four short of the least: two on either side.
    assert padded(10.0, 11.0, 0.1, 5.0) == pytest.approx((8.0, 13.0))
    # One short: half of it is less than a tenth of the range.
    assert padded(10.0, 20.0, 0.1, 11.0) == pytest.approx((9.0, 21.0))


def test_places_are_written_in_percent() -> None:
    assert Tick(0.25, "").percent == "25.000%"
    assert Mark("brake", "best", 0.125, 0.5, "").percent == "12.500%"
    assert Span(100.0, 200.0, 0.5, "4").percent == "50.000%"


def test_the_inner_frame_is_as_wide_as_the_stretch_is_long() -> None:
    figure = Along("speed", "", "km/h", 215.25, 541.25, 0.0, 1.0, 170, (), (), (), ())
    assert figure.view_box == "215.2 0 326.0 1000"
