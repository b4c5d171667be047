"""Notes of what was tried, as people write them."""

import pytest

from lapwright.coaching.tried import parse_tried, what_was_tried
from lapwright.geometry import Corner
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.wording.coaching.follow_up import not_understood


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
    ("text", "pairs"),
    [
        ("corner 1, braking: at the usual place", {1: "braking"}),
        ("Brake later for corner 3", {3: "braking"}),
        ("corner 4, minimum speed", {4: "minimum_speed"}),
        ("Corner 10 throttle as early as on the quicker passes", {10: "throttle"}),
        ("another line at corner 2", {2: "line"}),
        # As the debrief writes its codes.
        ("corner 4, minimum_speed", {4: "minimum_speed"}),
        # By name: letter case, blanks and words around it do not matter, parts of words do.
        ("long  barrow: carry more", {4: "minimum_speed"}),
        ("LONG BARROW min speed", {4: "minimum_speed"}),
        ("Earlier throttle out of höhe", {10: "throttle"}),
        ("turnstile braking", {}),
        # The longer name first, and a name is no code.
        ("stile out: throttle", {5: "throttle"}),
        ("Stile: throttle", {3: "throttle"}),
        ("Line Farm: brake later", {2: "braking"}),
        # A corner that is named twice is one corner.
        ("T4 (Long Barrow), braking", {4: "braking"}),
        # Several corners in one entry; a distance, a gear or a lap is no corner.
        ("T4 and 5: throttle", {4: "throttle", 5: "throttle"}),
        ("T4, T5: throttle", {4: "throttle", 5: "throttle"}),
        ("corners 4, 10: throttle", {4: "throttle", 10: "throttle"}),
        ("corners 4,5 and 10: throttle", {4: "throttle", 5: "throttle", 10: "throttle"}),
        ("Gatehouse and Long Barrow, line", {1: "line", 4: "line"}),
        ("braking at corner 4 and at corner 10", {4: "braking", 10: "braking"}),
        ("corner 4, 5 m later on the brakes", {4: "braking"}),
        ("corner 4 and 5 m later on the brakes", {4: "braking"}),
        ("corner 4: brake at the 100 board, in 3rd gear, from lap 5 on", {4: "braking"}),
        ("7: throttle", {7: "throttle"}),
        ("corner 4, more apex speed", {4: "minimum_speed"}),
        ("corner 4, later apex", {4: "line"}),
        # A corner and nothing else.
        ("corner 7", {7: None}),
        ("line farm", {2: None}),
        ("7", {7: None}),
        ("corners 4, 10", {4: None, 10: None}),
        # Each corner with the code beside it.
        ("corner 4 minimum speed, corner 10 throttle", {4: "minimum_speed", 10: "throttle"}),
        ("braking at Gatehouse and earlier throttle at Stile", {1: "braking", 3: "throttle"}),
        ("T4: line; T5 and 6: throttle", {4: "line", 5: "throttle", 6: "throttle"}),
        ("T4: line; T5/6: throttle", {4: "line", 5: "throttle", 6: "throttle"}),
    ],
)
def test_notes_of_a_try_are_understood(text: str, pairs: dict[int, str | None]) -> None:
    assert parse_tried(text, CORNERS) == tuple(pairs.items())


@pytest.mark.parametrize(
    "text",
    [
        "tyre pressures",
        "5 m later",
        # More than one code for a corner.
        "Long Barrow: brake later and earlier throttle",
        "corner 4 throttle, less brake",
        "corner 4: braking, corner 4: throttle",
        "corner 4, minimum speed, corner 10, throttle",
        "T4: line; T5, T6: throttle",
        "corner 4 minimum speed, throttle at all others",
        # A corner that is only compared with, or is not certainly meant.
        "corner 4 braking like in corner 10",
        "corner 4, throttle as at Gatehouse",
        "corner 1-4: braking",
        "corners 1 to 4: braking",
        "corner 1 to corner 4: braking",
        "T1 - T4: braking",
        "corner 4, 10: throttle",
        "corner 4 minimum speed, 10 throttle",
        # A corner without a code, but with more to say.
        "corner 4: no change",
        "kerb at corner 4",
        # No corner.
        "did not dare the throttle",
        "",
    ],
)
def test_nothing_is_guessed(text: str) -> None:
    assert parse_tried(text, CORNERS) == ()


def test_without_a_track_numbers_are_understood() -> None:
    assert parse_tried("corner 4, minimum speed") == ((4, "minimum_speed"),)
    assert parse_tried("Long Barrow, minimum speed") == ()


ITEMS = (WorthTrying(1, "braking"), WorthTrying(4, "line"), WorthTrying(4, "throttle"))


def test_nothing_noted_is_nothing_tried() -> None:
    sorted_out = what_was_tried((), ITEMS, CORNERS)
    assert (sorted_out.items, sorted_out.left, sorted_out.unclear) == ((), ITEMS, ())


def test_what_was_tried_and_what_was_left() -> None:
    both = what_was_tried(("corner 4",), ITEMS, CORNERS)
    assert (both.items, both.left) == (ITEMS[1:], ITEMS[:1])
    one = what_was_tried(("Long Barrow throttle",), ITEMS, CORNERS)
    assert (one.items, one.left) == (ITEMS[2:], ITEMS[:2])
    # An idea of one's own is followed up as well, once the note says where and what.
    own = what_was_tried(
        ("corner 1 brake", "corner 9, braking", "brakes at corner 9"), ITEMS, CORNERS
    )
    assert own.items == (ITEMS[0], WorthTrying(9, "braking"))
    assert own.left == ITEMS[1:]


def test_entries_are_kept_as_written() -> None:
    tried = ("T4:  throttle later", "corner 1", "Long Barrow throttle", "brake at 9", "T9, line")
    noted = {
        (n.item.corner, n.item.code): n.entries for n in what_was_tried(tried, ITEMS, CORNERS).noted
    }
    assert noted == {
        (1, "braking"): ("corner 1",),
        (4, "throttle"): ("T4: throttle later", "Long Barrow throttle"),
        (9, "line"): ("T9, line",),
    }


def test_what_is_not_understood_is_kept_apart() -> None:
    tried = ("softer bar", "corner 14, braking", "corner 9", "corner 4, line", "T4 and T14: line")
    sorted_out = what_was_tried(tried, ITEMS, CORNERS)
    assert sorted_out.unclear == (
        "softer bar", "corner 14, braking", "corner 9", "T4 and T14: line"
    )  # fmt: skip
    assert sorted_out.items == (ITEMS[1],)


# Names that are numbers: 5 is called "6", 6 is called "Kink" and 9 is called "5".
DIGITS = [corner(4), corner(5, "6"), corner(6, "Kink"), corner(9, "5"), corner(10, "12")]


def test_names_that_are_numbers_do_not_chain() -> None:
    assert parse_tried("Kink: line", DIGITS) == ((6, "line"),)
    assert parse_tried("corner 4: line", DIGITS) == ((4, "line"),)
    assert parse_tried("corner 9 and Kink: line", DIGITS) == ((9, "line"), (6, "line"))
    # A number that is no other corner's is a name like any other, or the corner's number.
    assert parse_tried("line at 12", DIGITS) == ((10, "line"),)


@pytest.mark.parametrize("text", ["corner 5: line", "corner 6: line", "corners 4, 5: line"])
def test_a_number_that_another_corner_is_called_is_not_guessed(text: str) -> None:
    assert parse_tried(text, DIGITS) == ()
    unclear = what_was_tried((text,), (), DIGITS).unclear
    assert unclear == (text,)
    said = not_understood(unclear, DIGITS)
    assert 'Corner 5 is called "6": "corner 5 now" goes by the number' in said
    assert parse_tried("corner 5 now: line", DIGITS) == ((5, "line"),)


# Since the session before a corner came in before 4: what was 4 is 5 today, what was 1 is gone.
THEN: dict[int, int | None] = {1: None, 4: 5}
TODAY = tuple(
    WorthTrying(order, code, lat_deg=-43.0, lon_deg=144.0)
    for order, code in ((5, "line"), (5, "throttle"), (9, "braking"))
)


def test_a_number_that_was_another_corner_is_not_guessed() -> None:
    out = what_was_tried(("corner 4, line",), TODAY, CORNERS, THEN)
    assert (out.items, out.unclear, out.doubtful) == ((), (), (("corner 4, line", 4),))
    # Neither noted nor said not to be.
    assert out.left == TODAY[2:]
    assert what_was_tried(("corner 1, line",), TODAY, CORNERS, THEN).doubtful
    # Where numbers have changed, one of which nothing is known may have changed as well.
    other = what_was_tried(("corner 7, line",), TODAY, CORNERS, THEN)
    assert other.doubtful == (("corner 7, line", 7),)
    assert other.left == TODAY
    assert what_was_tried(("corner 7, line",), TODAY, CORNERS).doubtful == ()


def test_the_answer_is_understood() -> None:
    old = what_was_tried(("corner 5 now, line",), TODAY, CORNERS, THEN)
    assert (old.items, old.doubtful) == (TODAY[:1], ())
    new = what_was_tried(("corner 4 now: line",), TODAY, CORNERS, THEN)
    assert (new.items, new.doubtful) == ((WorthTrying(4, "line"),), ())
    assert new.left == TODAY


def test_a_name_and_a_number_that_stayed_are_not_asked_about() -> None:
    entries = "Long Barrow: line", "corner 9, braking"
    named = what_was_tried(entries, TODAY, CORNERS, THEN)
    assert named.items == (TODAY[2], WorthTrying(4, "line"))
    assert (named.doubtful, named.unclear) == ((), ())
