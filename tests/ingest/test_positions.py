"""Coordinates in every notation, against values worked by hand."""

import numpy as np
import pytest

from lapwright.ingest.positions import angles, southern, to_degrees
from lapwright.ingest.time.timestamps import cells_from_texts


def one(text: str, decimal: str = ".", o_is_east: bool = False) -> float:
    # The degree sign is two bytes in UTF-8, as in a file.
    raw = text.encode()
    cells = np.frombuffer(raw, np.uint8).reshape(1, len(raw))
    return float(angles(cells, decimal, o_is_east)[0])


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        # 48 deg 07.038 min = 48 + 7.038/60 = 48.1173.
        ("48°07.038'N", 48.1173),
        ("N 48 07.038", 48.1173),
        ("48 07.038 S", -48.1173),
        ("-48 07.038", -48.1173),
        # 52 deg 39 min 27.2531 s = 52 + 39/60 + 27.2531/3600.
        ("52°39'27.2531\"N", 52.657570306),
        ("1 43 4.5177 W", -1.717921583),
        ("37.7975866 S", -37.7975866),
        ("S37.7975866", -37.7975866),
        ("144.8972670 e", 144.8972670),
        ("-0.5", -0.5),
        ("0°30.0'W", -0.5),
    ],
)
def test_notations(text: str, degrees: float) -> None:
    assert one(text) == pytest.approx(degrees, abs=6e-10)


def test_decimal_comma_and_the_letter_o() -> None:
    assert one("7,5 O", ",", o_is_east=True) == 7.5
    assert one("7,5 O", ",", o_is_east=False) == -7.5


def test_no_number_is_none() -> None:
    assert np.isnan(one("north"))
    assert np.isnan(one("1 2 3 4"))


def test_a_hemisphere_column() -> None:
    assert southern(cells_from_texts(["N", "s", "E", "West", ""]), False).tolist() == [
        False, True, False, True, False,
    ]  # fmt: skip


def test_units_by_their_size() -> None:
    lat, lon = np.array([48.1173]), np.array([11.516667])
    for factor, code in ((1.0, None), (1e7, "position_unit_inferred")):
        got_lat, got_lon, note = to_degrees(lat * factor, lon * factor, None, None)
        assert got_lat[0] == pytest.approx(48.1173)
        assert got_lon[0] == pytest.approx(11.516667)
        assert (note.code if note else None) == code
    got_lat, got_lon, note = to_degrees(np.array([4807.038]), np.array([1131.0]), None, None)
    assert got_lat[0] == pytest.approx(48.1173)
    assert got_lon[0] == pytest.approx(11.516666667)
    assert note is not None
    got_lat, _, note = to_degrees(np.radians(lat), np.radians(lon), "rad", None)
    assert got_lat[0] == pytest.approx(48.1173)
    assert note is None
