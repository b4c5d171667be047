"""Strings of TOML read back as they were."""

import tomllib

from hypothesis import given
from nasty import cannot_be_seen, encodes, texts

from lapwright.escaping.toml import basic_string


@given(texts.filter(encodes))
def test_reads_back_by_another_reader(text: str) -> None:
    said = basic_string(text)
    assert tomllib.loads(f"a = {said}\n[logs.{said}]\nb = 1\n") == {
        "a": text,
        "logs": {text: {"b": 1}},
    }
    assert "\n" not in said
    assert cannot_be_seen(said) == []


def test_letters_stay_readable() -> None:
    assert basic_string("Zoë, 鈴鹿") == '"Zoë, 鈴鹿"'
