"""What cannot be seen is made visible, and nothing else is touched."""

import re
import unicodedata

import pytest
from hypothesis import given
from nasty import cannot_be_seen, encodes, texts

from lapwright.escaping.unseen import encodable, visible


@given(texts)
def test_nothing_unseen_is_left_and_the_rest_stays(text: str) -> None:
    shown = visible(text)
    assert cannot_be_seen(shown) == []
    assert visible(shown) == shown
    # Taken back by the numbers, it is the text again: nothing was lost.
    back = re.sub(r"\[U\+([0-9A-F]{4,6})\]", lambda m: chr(int(m[1], 16)), shown)
    written = re.sub(r"\[U\+([0-9A-F]{4,6})\]", lambda m: chr(int(m[1], 16)), text)
    assert back == written


def test_every_control_and_format_character_is_named() -> None:
    # The whole of Unicode as Python knows it: categories Cc, Cf, Zl, Zp, Cs.
    every = map(chr, range(0x110000))
    unseen = [c for c in every if unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp", "Cs")]
    assert len(unseen) > 2000
    assert [c for c in unseen if c not in "\n\t" and visible(c) != f"[U+{ord(c):04X}]"] == []


def test_every_letter_mark_digit_and_sign_stays() -> None:
    # Hangul fillers, U+034F and the Khmer vowels without a shape have no looks, and are letters
    # or marks all the same (Default_Ignorable_Code_Point, DerivedCoreProperties.txt).
    invisible = set(map(chr, (0x34F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x3164, 0xFFA0)))
    for c in map(chr, range(0x110000)):
        kind = unicodedata.category(c)
        if kind[0] in "LMNPS" and c not in invisible and not 0xE0000 <= ord(c) < 0xE1000:
            assert visible(c) == c, hex(ord(c))


@pytest.mark.parametrize("text", ["Zoë", "鈴鹿", "אבג", "dry, 21 °C", "± − – ·", "\U0001f3ce"])
def test_names_of_any_script_stay(text: str) -> None:
    assert visible(text) == text


@given(texts)
def test_what_utf8_cannot_hold_is_written_as_its_number(text: str) -> None:
    said = encodable(text)
    assert encodes(said)
    # Whatever is no half of a pair stays in its place.
    assert said == re.sub("[\ud800-\udfff]", lambda m: f"[U+{ord(m[0]):X}]", text)
