"""Wet and dry are never compared; what else differs is said."""

import pytest

from lapwright.coaching.conditions import also_different, changing, not_comparable, surface
from lapwright.notes.weekend_notes import LogNotes


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("dry", "dry"), ("Wet", "wet"), ("rain", "wet"), ("damp", "wet"), ("sunny", ""),
        ("", ""), ("changing", "changing"), ("changed after lap 4", "changing"),
        ("wet patches", "changing"), ("a shower at noon", "changing"), ("wet to dry", "changing"),
    ],
)  # fmt: skip
def test_a_surface_by_any_of_its_words(said: str, expected: str) -> None:
    assert surface(said) == expected


@pytest.mark.parametrize("said", ["dry, then rain", "drying", "mixed", "dry with damp patches"])
def test_a_surface_that_changed_is_compared_with_nothing(said: str) -> None:
    assert changing(said)
    assert surface(said) == "changing"
    assert not_comparable(LogNotes(conditions=said), LogNotes(conditions=said))


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("wet", "dry", True), ("dry", "light rain", True), ("Dry, 24 degrees", "dry", False),
        ("rain", "damp", False), ("", "dry", False), ("sunny", "wet", False), ("", "", False),
    ],
)  # fmt: skip
def test_wet_and_dry_are_kept_apart_either_way_round(one: str, other: str, apart: bool) -> None:
    a, b = LogNotes(conditions=one), LogNotes(conditions=other)
    assert not_comparable(a, b) is not_comparable(b, a) is apart


def test_new_tyres_and_another_car_are_named() -> None:
    old = LogNotes(car="Brackel Wisp", tyres="club slick, set 1")
    new = LogNotes(car="brackel  wisp", tyres="club slick, set 2, new")
    assert also_different(old, new) == (("tyres", "club slick, set 1", "club slick, set 2, new"),)
    # What is noted once only is no difference.
    assert also_different(LogNotes(), new) == ()


def test_the_same_car_on_other_tyres_is_not_another_car() -> None:
    old = LogNotes(car="Brackel Wisp", tyres="set 1")
    assert also_different(old, LogNotes(car="Hollin Kite", tyres="SET  1")) == (
        ("car", "Brackel Wisp", "Hollin Kite"),
    )
    assert also_different(old, LogNotes(car="Hollin Kite")) == (
        ("car", "Brackel Wisp", "Hollin Kite"),
    )
