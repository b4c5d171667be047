"""Letters that an encoding lacks have a stand-in; those it has stay."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nasty import texts

from lapwright.escaping.plain_letters import in_encoding, with_letters
from lapwright.escaping.unseen import visible


@given(texts, st.sampled_from(["ascii", "cp1252", "latin-1", "utf-8", "cp437"]))
def test_every_text_can_be_written(text: str, encoding: str) -> None:
    said = in_encoding(visible(text), encoding)
    assert said.encode(encoding).decode(encoding) == said
    assert in_encoding(said, encoding) == said


@pytest.mark.parametrize(
    ("text", "ascii_text"),
    [("± 0.01", "+- 0.01"), ("\u22125", "-5"), ("Zoë", "Zoe"), ("Łódź", "Lodz"), ("m/s²", "m/s2"),
     ("Straße", "Strasse"), ("鈴鹿", "??"), ("e\u0301", "e"), ("21 °C", "21 deg C"), ("½", "1/2")],
)  # fmt: skip
def test_stand_ins(text: str, ascii_text: str) -> None:
    assert in_encoding(text, "ascii") == ascii_text


def test_what_is_there_stays() -> None:
    assert in_encoding("± Zoë – 鈴", "cp1252") == "± Zoë – ?"
    assert with_letters("aé鈴", lambda letter: letter == "鈴") == "ae鈴"
    assert in_encoding("Zoë", "no-such-encoding") == "Zoe"
