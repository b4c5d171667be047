"""Notes of what was tried, as people write them."""

import pytest

from lapwright.analysis.tried import not_tried_text, parse_tried, what_was_tried
from lapwright.analysis.worth_trying_item import WorthTrying
from lapwright.geometry import Corner


def corner(order: int, name: str = "") -> Corner:
    """A corner somewhere."""
    return Corner(
        order,
        name or str(order),
        "left",
        100.0 * order,
        100.0 * order + 20.0,
        100.0 * order + 40.0,
        50.0,
    )


CORNERS = [
    corner(1, "Gatehouse"), corner(2, "Line Farm"), corner(3, "Stile"), corner(4, "Long Barrow"),
    corner(5, "Stile Out"), corner(6, "6"), corner(7), corner(9), corner(10, "Höhe"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("corner 1, braking: at the usual place", ((1,), "braking")),
        ("Brake later for corner 3", ((3,), "braking")),
        ("corner 4, minimum speed", ((4,), "minimum_speed")),
        ("Corner 10 throttle as early as on the quicker passes", ((10,), "throttle")),
        ("another line at corner 2", ((2,), "line")),
        ("corner 7", ((7,), None)),
        ("tyre pressures", ((), None)),
        # As the debrief writes its codes.
        ("corner 4, minimum_speed", ((4,), "minimum_speed")),
        # By name: letter case, blanks and words around it do not matter, parts of words do.
        ("long  barrow: carry more", ((4,), "minimum_speed")),
        ("LONG BARROW min speed", ((4,), "minimum_speed")),
        ("Earlier throttle out of höhe", ((10,), "throttle")),
        ("turnstile braking", ((), "braking")),
        # The longer name first, and a name is no code.
        ("stile out: throttle", ((5,), "throttle")),
        ("Stile: throttle", ((3,), "throttle")),
        ("Line Farm: brake later", ((2,), "braking")),
        ("line farm", ((2,), None)),
        # A number counts before a name it is compared with.
        ("corner 4, throttle as at Gatehouse", ((4,), "throttle")),
        # Several corners in one entry; a distance is no corner.
        ("T4 and 5: throttle", ((4, 5), "throttle")),
        ("Gatehouse and Long Barrow, line", ((1, 4), "line")),
        ("corner 4, 5 m later on the brakes", ((4,), "braking")),
        ("corner 4 and 5 m later on the brakes", ((4,), "braking")),
        ("7: throttle", ((7,), "throttle")),
        ("5 m later", ((), None)),
        # What is said first is what is meant.
        ("corner 4 throttle, less brake", ((4,), "throttle")),
        ("corner 4, more apex speed", ((4,), "minimum_speed")),
        ("corner 4, later apex", ((4,), "line")),
    ],
)
def test_notes_of_a_try_are_understood(
    text: str, meaning: tuple[tuple[int, ...], str | None]
) -> None:
    assert parse_tried(text, CORNERS) == meaning


def test_without_a_track_numbers_are_understood() -> None:
    assert parse_tried("corner 4, minimum speed") == ((4,), "minimum_speed")
    assert parse_tried("Long Barrow, minimum speed") == ((), "minimum_speed")


ITEMS = (WorthTrying(1, "braking"), WorthTrying(4, "line"), WorthTrying(4, "throttle"))


def test_nothing_noted_is_nothing_tried() -> None:
    sorted_out = what_was_tried((), ITEMS, CORNERS)
    assert (sorted_out.items, sorted_out.left, sorted_out.advice) == ((), ITEMS, "")


def test_what_was_tried_and_what_was_left() -> None:
    both = what_was_tried(("corner 4",), ITEMS, CORNERS)
    assert (both.items, both.left) == (ITEMS[1:], ITEMS[:1])
    one = what_was_tried(("Long Barrow throttle",), ITEMS, CORNERS)
    assert (one.items, one.left) == (ITEMS[2:], ITEMS[:2])
    # An idea of one's own is followed up as well, once the note says where and what.
    own = what_was_tried(("corner 1 brake", "corner 9, braking", "brake at 9"), ITEMS, CORNERS)
    assert own.items == (ITEMS[0], WorthTrying(9, "braking"))
    assert own.left == ITEMS[1:]


def test_what_is_not_understood_is_said_with_how_to_write_it() -> None:
    tried = ("softer bar", "corner 14, braking", "corner 9", "corner 4, line", "T4 and T14: line")
    advice = what_was_tried(tried, ITEMS, CORNERS).advice
    for text in ("softer bar", "corner 14, braking", "corner 9", "T4 and T14: line"):
        assert f'"{text}"' in advice
    assert '"corner 4, line"' not in advice
    assert "by number or name, and one of braking, minimum speed, throttle, line" in advice


def test_what_was_left_in_one_sentence() -> None:
    assert not_tried_text(ITEMS[:2], CORNERS) == (
        "Not noted as tried: corner 1 (Gatehouse), braking; corner 4 (Long Barrow), line."
    )
