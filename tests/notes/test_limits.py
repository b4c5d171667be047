"""Limits for the car in the weekend notes; whatever is odd in them is an error."""

from pathlib import Path

import pytest

from lapwright.errors import NotesError
from lapwright.notes.check import notes_oddities
from lapwright.notes.limits import Limit, read_limits

GOOD = """\
[limits]
oil_pressure = { min = 2.0, above_rpm = 3500, unit = "bar" }
"EGT 1" = { max = 900 }
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "weekend.toml"


def test_limits_are_read(path: Path) -> None:
    assert read_limits(path) == ()
    path.write_text(GOOD, encoding="utf-8")
    assert read_limits(path) == (
        Limit("oil_pressure", 2.0, None, 3500.0, "bar"), Limit("EGT 1", None, 900.0),
    )  # fmt: skip
    assert notes_oddities(path) == ()
    path.write_text('timezone = "UTC"\n', encoding="utf-8")
    assert read_limits(path) == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("limits = 3", "'limits' is not a table"),
        ("[limits]\noil_pressure = 2.0", "'limits.oil_pressure' should be"),
        ("[limits]\noil_pressure = { mim = 2.0 }", "holds 'mim', which is not read; it may hold"),
        ("[limits]\noil_pressure = { min = 'two' }", "oil_pressure.min' should be a number"),
        ("[limits]\noil_pressure = { min = true }", "should be a number, not True"),
        ("[limits]\noil_pressure = { min = nan }", "should be a number"),
        ("[limits]\noil_pressure = { min = 3, max = 2 }", "min 3 is not below max 2"),
        ("[limits]\noil_pressure = { above_rpm = 3000 }", "needs min, max or both"),
        ("[limits]\noil_pressure = { min = 2, unit = 3 }", "unit' should be text"),
        ("[limits]\noil_presure = { min = 2 }", "is not known; write oil_pressure"),
        ("[limits]\nWater_Temperatur = { max = 2 }", "write water_temperature"),
        ("[limits", "weekend.toml"),
    ],
)  # fmt: skip
def test_whatever_is_odd_is_an_error_with_what_to_do(path: Path, text: str, said: str) -> None:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(NotesError, match=r"weekend\.toml") as caught:
        read_limits(path)
    assert said in str(caught.value)


def test_a_file_that_is_not_text(path: Path) -> None:
    path.write_bytes(b"\xff\xfe[limits]")
    with pytest.raises(NotesError, match="UTF-8"):
        read_limits(path)


def test_limits_in_the_wrong_place_are_named(path: Path) -> None:
    (path.parent / "a.csv").touch()
    path.write_text('[logs."a.csv".limits]\nrpm = { max = 7000 }\n', encoding="utf-8")
    (said,) = notes_oddities(path)
    assert "'limits'" in said
    assert "write [limits]" in said
    path.write_text("[limit]\nrpm = { max = 7000 }\n", encoding="utf-8")
    (said,) = notes_oddities(path)
    assert "write 'limits'" in said
