"""Sentences on why one lap beats another, from made causes."""

import pytest

from lapwright.corners.why import ONLY_ONE_BRAKED, Apart, Carried, Why
from lapwright.units import Units
from lapwright.wording.why import cause_words, corner_why, shown_words, that_matter

NAMES = {3: "Hairpin", 4: "4", 5: "Sallow"}.__getitem__
EARLY, HARD = Apart("brake_to_corner_m", 9.04, 2.1), Apart("peak_decel_mps2", 0.1, 0.2)
SOFT = Apart("peak_decel_mps2", -0.785, 0.0981)
SLOW = Apart("min_speed_mps", -1.0, 0.06)
LATE, EXIT = Apart("throttle_station_m", 15.2, 3.1), Apart("exit_speed_mps", -1.2, 0.05)


def said(one: Why, units: str = "km/h") -> str:
    return corner_why(one, NAMES, Units.parse(units))


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (
            Why(3, 0.21, 0.03, "braking", 0.18, 0.03, True, (EARLY,), (), (HARD,)),
            "Hairpin (3): 0.21 ± 0.03 s lost, most of it on the brakes: on 9 m earlier (± 2), as "
            "hard.",
        ),
        (
            Why(4, -0.21, 0.03, "minimum", -0.18, 0.03, True, (Apart(SLOW.name, 1.0, 0.06),)),
            "Corner 4: 0.21 ± 0.03 s gained, most of it around the slowest point: minimum speed "
            "3.6 km/h higher (± 0.2).",
        ),
        # Half of it is not most; what is not clearly the largest is only a part.
        (
            Why(3, 0.30, 0.03, "exit", 0.15, 0.03, True, (LATE, EXIT)),
            "Hairpin (3): 0.30 ± 0.03 s lost, the largest part from the slowest point to the exit: "
            "throttle 15 m later (± 3), exit speed 4.3 km/h lower (± 0.2).",
        ),
        (
            Why(3, 0.30, 0.03, "exit", 0.14, 0.03, False),
            "Hairpin (3): 0.30 ± 0.03 s lost, part of it from the slowest point to the exit.",
        ),
        (
            Why(3, 0.10, 0.02, "minimum", 0.25, 0.03, True, (SLOW,)),
            "Hairpin (3): 0.10 ± 0.02 s lost, more than that (0.25 ± 0.03 s) around the slowest "
            "point: minimum speed 3.6 km/h lower (± 0.2); some won back elsewhere.",
        ),
        (
            Why(3, -0.10, 0.02, "minimum", -0.25, 0.03, True),
            "Hairpin (3): 0.10 ± 0.02 s gained, more than that (0.25 ± 0.03 s) around the slowest "
            "point; some lost again elsewhere.",
        ),
        # Nothing the driver did shows it: only where it was.
        (
            Why(3, 0.21, 0.03, "braking", 0.18, 0.03, True, (), (), (EARLY, HARD)),
            "Hairpin (3): 0.21 ± 0.03 s lost, most of it on the brakes.",
        ),
        (
            Why(3, 0.21, 0.03, "straight", 0.18, 0.03, True),
            "Hairpin (3): 0.21 ± 0.03 s lost, most of it on the straight after it: nothing in the "
            "corner: a lift, traffic or top speed.",
        ),
        (Why(3, 0.21, 0.03), "Hairpin (3): 0.21 ± 0.03 s lost, spread over the corner."),
        # Within twice the bar it is never given a cause.
        (Why(3, 0.0599, 0.03), "Hairpin (3): too close to tell apart."),
        (Why(3, 0.0, 0.0), "Hairpin (3): too close to tell apart."),
        (
            Why(0, 0.0281, 0.0021, "straight", 0.0281, 0.0021, True),
            "Start to corner 1: 0.028 ± 0.002 s lost, brought over the line or on the way to "
            "corner 1.",
        ),
    ],
)
def test_a_corner(one: Why, text: str) -> None:
    assert said(one) == text


def test_what_goes_the_other_way_is_not_hidden() -> None:
    one = Why(3, 0.21, 0.03, "braking", 0.18, 0.03, True, (EARLY,), (Apart(SOFT.name, 0.785, 0.1),))
    assert said(one).endswith("on the brakes: on 9 m earlier (± 2), but 0.08 g harder (± 0.01).")
    one = Why(3, 0.21, 0.03, "minimum", 0.18, 0.03, True, (), (Apart(SLOW.name, 1.0, 0.06),))
    assert shown_words(one, Units()) == "though minimum speed 3.6 km/h higher (± 0.2)"


def test_the_line_is_wider_where_time_is_lost_and_narrower_where_it_is_gained() -> None:
    # 2 ft is 0.6096 m exactly.
    wide = (Apart("apex_offset_m", -0.6096, 0.06096),)
    lost = Why(3, 0.21, 0.03, "minimum", 0.18, 0.03, True, wider=wide)
    assert said(lost, "mph,ft").endswith("the line 2.0 ft wider at the apex (± 0.2).")
    gained = Why(3, -0.21, 0.03, "minimum", -0.18, 0.03, True, wider=wide)
    assert "the line 0.6 m narrower at the apex (± 0.1)" in said(gained)


def test_only_one_braked() -> None:
    for sign, text in ((1.0, "braked, the other lap did not"), (-1.0, "did not brake")):
        shown = (Apart(ONLY_ONE_BRAKED, sign, 0.0),)
        assert cause_words(Why(3, 0.2, 0.01, "braking", 0.2, 0.01, True, shown), Units()) == (
            f"most of it on the brakes: {text}"
        )


def test_what_the_clock_shows_in_a_braking_zone_may_be_from_before() -> None:
    one = Why(4, 0.01, 0.02, carried=Carried(-0.12, 0.02, 3, "exit"))
    assert said(one) == (
        "Corner 4: too close to tell apart. Most of the 0.12 ± 0.02 s that the clock shows in the "
        "braking zone was gained at the exit of Hairpin (3)."
    )
    for cause, place in (
        ("minimum", "at the slowest point of Sallow (5)"),
        ("straight", "on the straight behind Sallow (5)"),
    ):
        one = Why(3, 0.0, 0.02, carried=Carried(0.12, 0.02, 5, cause))
        assert said(one).endswith(f"was lost {place}.")
    one = Why(3, 0.0, 0.02, carried=Carried(0.12, 0.02, 0, "straight"))
    assert said(one).endswith("was lost on the way from the start line.")


def test_an_error_bar_is_never_nothing() -> None:
    sure = (Apart("min_speed_mps", -1.0, 0.001),)
    one = Why(3, 0.21, 0.03, "minimum", 0.18, 0.03, True, sure)
    assert cause_words(one, Units()) == (
        "most of it around the slowest point: minimum speed 3.6 km/h lower (± <0.1)"
    )


def test_briefly_only_what_shows_it_is_named() -> None:
    brake = Why(3, 0.21, 0.03, "braking", 0.18, 0.03, True, (EARLY, SOFT))
    assert cause_words(brake, Units()) == (
        "most of it on the brakes: on 9 m earlier (± 2) and 0.08 g softer (± 0.01)"
    )
    late = Why(3, 0.21, 0.03, "exit", 0.18, 0.03, True, (LATE,), (), (EXIT,))
    assert cause_words(late, Units()) == (
        "most of it from the slowest point to the exit: throttle 15 m later (± 3)"
    )
    third = Why(3, 0.3, 0.03, "exit", 0.1, 0.03, True, (LATE,))
    assert cause_words(third, Units()).startswith("the largest part from the slowest point")
    more = Why(3, 0.1, 0.01, "exit", 0.3, 0.01, True, (LATE,))
    assert cause_words(more, Units()).startswith("all of it and more from the slowest point")
    assert cause_words(Why(3, 0.21, 0.03), Units()) == "spread over the corner"


def test_what_matters_most_comes_first() -> None:
    found = [Why(1, 0.05, 0.01), Why(2, 0.01, 0.01), Why(3, -0.2, 0.01), Why(0, 0.1, 0.01)]
    assert [one.corner for one in that_matter(found)] == [3, 0, 1]
