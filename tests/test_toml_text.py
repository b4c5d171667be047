"""TOML: what `tomllib` takes, and one error for all that it does not."""

import time

import pytest

from lapwright.toml_text import MAX_LETTERS, TomlError, toml_of


def test_what_people_write_is_read() -> None:
    text = '[logs."a.b.csv"]\ndriver = "Runa"\nsite."x.y".z = [1, [2.5, 1979-05-27]]\n'
    found = toml_of(text)
    assert found["logs"]["a.b.csv"]["driver"] == "Runa"
    assert found["logs"]["a.b.csv"]["site"]["x.y"]["z"][0] == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = ", "Invalid value"),
        ("a = 1\na = 2", "overwrite"),
        ("a = " + "[" * 3000 + "]" * 3000, "brackets within brackets"),
        ("a = " + "9" * 5000, "thousands of digits"),
        # TOML v1.0.0, "Integer": 64 bits, and an error where it cannot be kept.
        ("a = 9223372036854775808", "64 bits"),
        ("a = [{ b = [-9223372036854775809] }]", "64 bits"),
        ("a = 0x" + "f" * 5000, "64 bits"),
        ("#" * (MAX_LETTERS + 1), "letters"),
        ("\n" + "a." * 60 + "b = 1", r"parts \(at line 2\)"),
        ("[" + '"a" . ' * 60 + "b]", "parts"),
    ],
)
def test_all_else_is_one_error(text: str, said: str) -> None:
    with pytest.raises(TomlError, match=said):
        toml_of(text)


def test_the_least_and_the_most_that_toml_has_are_read() -> None:
    assert toml_of("a = -9223372036854775808\nb = 9223372036854775807") == {
        "a": -(2**63),
        "b": 2**63 - 1,
    }


def test_a_key_of_thousands_of_parts_is_refused_at_once() -> None:
    started = time.process_time()
    with pytest.raises(TomlError, match="parts"):
        toml_of("a." * 100_000 + "b = 1")
    # `tomllib` looks at all parts for each part.
    assert time.process_time() - started < 1.0


def test_a_line_of_dots_in_a_text_is_no_key() -> None:
    text = 'a = """\n' + "." * 200 + '\n"""'
    assert toml_of(text)["a"].strip() == "." * 200
