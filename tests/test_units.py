"""Display units, digits and the settings that remember them."""

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapwright import settings
from lapwright.errors import NotesError
from lapwright.settings import remember_units, remembered_units
from lapwright.units import (
    Units,
    clock,
    decimals_for,
    error_bar,
    is_equal,
    number,
    signed,
)


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user's configuration folder of the test's own."""
    file = tmp_path / "config" / "lapwright.toml"
    monkeypatch.setattr(settings, "user_file", lambda: file)
    return file


@pytest.mark.parametrize(
    ("units", "mps", "shown"),
    [
        # 1 km/h is 1000 m in 3600 s.
        ("km/h", 10.0, 36.0),
        # NIST SP 811 (2008), appendix B.8: 1 mi/h = 4.4704 E-01 m/s exactly.
        ("mph", 0.44704, 1.0),
        ("m/s", 12.5, 12.5),
    ],
)
def test_speeds(units: str, mps: float, shown: float) -> None:
    assert Units(units).speed_of(mps) == pytest.approx(shown, rel=1e-14)


def test_feet() -> None:
    # NIST SP 811 (2008), appendix B.8: 1 ft = 3.048 E-01 m exactly.
    assert Units("mph", "ft").distance_of(0.3048) == pytest.approx(1.0, rel=1e-14)


@pytest.mark.parametrize("text", ["furlongs", "", "km/h,yd", "mph ft"])
def test_units_that_are_none_are_refused_with_the_ones_there_are(text: str) -> None:
    with pytest.raises(ValueError, match=r"use (km/h, mph or m/s|m or ft)"):
        Units.parse(text)


@pytest.mark.parametrize("text", ["km/h", "mph", "mph,ft", "m/s"])
def test_units_are_read_as_they_are_written(text: str) -> None:
    assert str(Units.parse(text)) == text


def test_no_thousandths_where_the_sd_is_three_hundredths() -> None:
    assert clock(95.0581, 0.03) == "1:35.06"
    assert error_bar(0.03) == "0.03"


@pytest.mark.parametrize(
    ("time_s", "sd_s", "text"),
    [
        (59.9996, 0.002, "1:00.000"),
        (3599.96, 0.1, "59:59.96"),
        (-1.5, math.nan, "-1.500"),
        (-0.0001, 0.3, "0.0"),
        (math.nan, 0.1, "-"),
    ],
)
def test_clock(time_s: float, sd_s: float, text: str) -> None:
    assert clock(time_s, sd_s) == text


@given(st.floats(1e-6, 1e3))
def test_an_sd_keeps_one_or_two_digits(sd: float) -> None:
    shown = float(f"{sd:.{decimals_for(sd, most=9)}f}")
    # One digit, or two where the first is a 1: rounded by a third at the very most (1.5 to 2).
    assert shown > 0.0
    assert abs(shown - sd) <= 0.34 * sd


@given(st.floats(-1e4, 1e4), st.floats(1e-4, 10.0))
def test_signed_numbers_never_show_minus_zero(value: float, sd: float) -> None:
    text = signed(value, sd)
    assert float(text) != 0.0 or text[0] not in "+-"


@given(st.floats(0.0, 7200.0), st.integers(0, 3))
def test_a_clock_reads_back(time_s: float, most: int) -> None:
    total = 0.0
    for part in clock(time_s, most=most).split(":"):
        total = 60.0 * total + float(part)
    assert total == pytest.approx(time_s, abs=0.5 * 10.0**-most + 1e-9)


def test_below_two_sd_is_equal() -> None:
    assert is_equal(0.0199, 0.01)
    assert not is_equal(0.0201, 0.01)
    assert is_equal(-0.0199, 0.01)


def test_a_number_without_a_value_is_a_dash() -> None:
    assert number(math.inf) == "-"
    assert error_bar(math.nan) == "-"


def test_nothing_is_remembered_at_first(tmp_path: Path) -> None:
    assert remembered_units(tmp_path) is None


def test_a_choice_is_remembered(own_settings: Path, tmp_path: Path) -> None:
    assert remember_units(Units("mph", "ft")) == own_settings
    assert remembered_units(tmp_path) == Units("mph", "ft")


def test_settings_beside_the_logs_count_first(tmp_path: Path) -> None:
    remember_units(Units("mph"))
    (tmp_path / "lapwright.toml").write_text('[units]\nspeed = "m/s"\n')
    assert remembered_units(tmp_path) == Units("m/s")
    assert remembered_units(tmp_path / "elsewhere") == Units("mph")


def test_settings_that_are_there_are_not_overwritten(own_settings: Path) -> None:
    own_settings.parent.mkdir()
    own_settings.write_text("# mine\n")
    with pytest.raises(NotesError, match="not overwritten"):
        remember_units(Units("mph"))
    assert own_settings.read_text() == "# mine\n"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (b'[units]\nspeed = "knots"\n', "not a unit of speed"),
        (b"[units\n", "not valid TOML"),
        (b"units = 3\n", "not a table"),
        (b"\xff\xfe", "not UTF-8"),
    ],
)
def test_broken_settings_are_named(tmp_path: Path, text: bytes, message: str) -> None:
    (tmp_path / "lapwright.toml").write_bytes(text)
    with pytest.raises(NotesError, match=message):
        remembered_units(tmp_path)


def test_a_time_above_an_hour_has_its_hours() -> None:
    # 99 minutes, and a tick before the hour, with and without rounding up to it.
    assert clock(5940.0, most=0) == "1:39:00"
    assert clock(3599.94, most=1) == "59:59.9"
    assert clock(3599.96, most=1) == "1:00:00.0"
