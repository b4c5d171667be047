"""Messages: one line of bounded length, whatever the file holds that they quote."""

import pickle

import pytest

from lapwright.errors import LogError, NotesError, one_line, shown
from lapwright.ingest.log import Finding


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("a\nb\tc\0", r"a\nb\tc\x00"),
        ("\x1b[2J", r"\x1b[2J"),
        ("a\u2028b\x85", r"a\u2028b\x85"),
        ("\ud800", r"\ud800"),
        ("Länge °C 5 µs", "Länge °C 5 µs"),
    ],
)
def test_what_breaks_a_line_is_written_out(text: str, wanted: str) -> None:
    assert one_line(text) == wanted


def test_an_error_and_a_finding_are_one_short_line() -> None:
    long = LogError("x" * 100_000 + "\nend", "a.csv", 3, "y" * 100_000)
    assert len(str(long)) < 2600
    assert str(long).startswith("a.csv:3: xxx")
    assert "end" in str(long)
    assert len(str(long).splitlines()) == 1
    found = Finding("odd", "column 'a\nb'")
    assert found.message == r"column 'a\nb'"
    # It must still leave a worker process.
    again = pickle.loads(pickle.dumps(long))
    assert str(again) == str(long)
    assert str(NotesError("is odd", "a.toml")) == "a.toml: is odd."


def deep(levels: int) -> object:
    """A list in a list, so many times."""
    out: object = 1
    for _ in range(levels):
        out = [out]
    return out


@pytest.mark.parametrize(
    "value",
    [deep(50_000), 10**5000, "a" * 10**6, {str(k): k for k in range(10**4)}, "\x1b\n"],
    ids=["deep", "digits", "letters", "table", "control"],
)
def test_any_value_can_be_shown(value: object) -> None:
    assert 0 < len(shown(value)) <= 61
    assert shown(value).isprintable()


def test_a_plain_value_is_shown_as_it_is_written() -> None:
    assert [shown(v) for v in ("km/h", 3, [1.6, None], True)] == [
        "'km/h'",
        "3",
        "[1.6, None]",
        "True",
    ]
