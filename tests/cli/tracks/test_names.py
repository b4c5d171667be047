"""Corner names as they are typed."""

import click
import pytest
from worlds import World

from lapwright.cli.tracks.names import MAX_NAME, corner_names, tidy_name, with_names


def test_names_by_number() -> None:
    given = ["3=Hatch", " 12 = Long   Barrow ", "5=", "6=A=B", '7="The" Bend', "8=גשר"]
    assert corner_names(given) == {
        3: "Hatch", 12: "Long Barrow", 5: "", 6: "A=B", 7: '"The" Bend', 8: "גשר",
    }  # fmt: skip
    # Letters with an accent of their own are those with one: the same name on every computer.
    assert corner_names(["1=Ha\u0308fele"]) == {1: "Häfele"}


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["Hatch"], "not a number and a name"), (["x=Hatch"], "not a number and a name"),
        (["-3=Hatch"], "not a number and a name"), (["3=a", "3=b"], "named twice"),
        (["3=a\x1b[31mb"], "cannot be shown"), (["3=a\udcffb"], "cannot be shown"),
        (["3=" + "a" * (MAX_NAME + 1)], f"{MAX_NAME} characters at most, not {MAX_NAME + 1}"),
    ],
)  # fmt: skip
def test_what_is_no_name(given: list[str], said: str) -> None:
    with pytest.raises(click.BadParameter, match=said):
        corner_names(given)


def test_a_name_of_any_length_up_to_the_limit() -> None:
    assert tidy_name("ü" * MAX_NAME, "'--name'") == "ü" * MAX_NAME


def test_names_that_would_be_taken_for_another_corner(world: World) -> None:
    track = world.session.shared_track.with_corner_names({2: "Weir"})
    for names, said in (
        ({99: "Hatch"}, "there is no corner 99"), ({3: "4"}, "taken for the corner's number"),
        ({3: "WEIR"}, "corner 2 is called 'WEIR' too"), ({4: "Old", 5: "Old"}, "is called 'Old'"),
    ):  # fmt: skip
        with pytest.raises(click.BadParameter, match=said):
            with_names(track, names)
    # Names may be handed on in one go, and taken away.
    swapped = with_names(track, {2: "", 3: "Weir"})
    assert [c.given_name for c in swapped.corners[1:3]] == ["", "Weir"]
