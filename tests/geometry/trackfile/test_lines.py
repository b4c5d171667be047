"""Lines cut at the antimeridian as in RFC 7946, and joined again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapwright.geometry.trackfile.lines import (
    FeatureError,
    cut_at_antimeridian,
    line_positions,
    point_position,
)

# RFC 7946, section 3.1.9: the line from 170 E to 170 W across 45 N.
WHOLE = [[170.0, 45.0], [-170.0, 45.0]]
CUT = [[[170.0, 45.0], [180.0, 45.0]], [[-180.0, 45.0], [-170.0, 45.0]]]


def test_the_example_of_the_rfc() -> None:
    assert cut_at_antimeridian(WHOLE) == CUT
    geometry = {"type": "MultiLineString", "coordinates": CUT}
    assert line_positions(geometry, "x") == WHOLE
    assert cut_at_antimeridian(WHOLE[::-1]) == [part[::-1] for part in CUT[::-1]]


def test_a_vertex_on_the_meridian_is_the_cut_itself() -> None:
    line = [[179.9, 10.0], [-180.0, 10.1], [-179.9, 10.2]]
    parts = cut_at_antimeridian(line)
    assert parts == [[[179.9, 10.0], [180.0, 10.1]], [[-180.0, 10.1], [-179.9, 10.2]]]


def test_elsewhere_nothing_is_cut() -> None:
    line = [[-0.1, 0.0], [0.1, 0.1], [0.2, 0.3]]
    assert cut_at_antimeridian(line) == [line]


@given(
    st.lists(
        st.tuples(st.floats(-0.2, 0.2).filter(lambda x: abs(x) > 1e-6), st.floats(-60, 60)),
        min_size=2,
        max_size=20,
    )
)
def test_cut_and_joined_is_the_same_line(points) -> None:
    # Some tenths of a degree on either side of the meridian.
    line = [[180.0 + x if x < 0 else -180.0 + x, y] for x, y in points]
    parts = cut_at_antimeridian(line)
    for part in parts:
        assert max(p[0] for p in part) - min(p[0] for p in part) < 1.0
    assert line_positions({"type": "MultiLineString", "coordinates": parts}, "x") == line


def test_heights_are_kept_and_further_numbers_dropped() -> None:
    geometry = {"type": "LineString", "coordinates": [[8, 50, 100.5, 7], [8.1, 50]]}
    assert line_positions(geometry, "x") == [[8.0, 50.0, 100.5], [8.1, 50.0]]


def test_an_editor_may_close_a_line_as_a_polygon() -> None:
    ring = [[0, 0], [1, 0], [1, 1], [0, 0]]
    assert len(line_positions({"type": "Polygon", "coordinates": [ring]}, "x")) == 4


@pytest.mark.parametrize(
    ("geometry", "message"),
    [
        (None, "f: member 'geometry' is missing"),
        ({"type": "Point", "coordinates": [1, 2]}, "f: member 'geometry' is a Point, not a"),
        ({"type": "LineString"}, "f: member 'coordinates' is missing or empty"),
        ({"type": "LineString", "coordinates": []}, "'coordinates' is missing or empty"),
        ({"type": "LineString", "coordinates": [[1, 2]]}, "has 1 positions"),
        ({"type": "LineString", "coordinates": [[1, 2], [3]]}, r"coordinates\[1\] is \[3\]"),
        ({"type": "LineString", "coordinates": [[1, 2], ["3", 4]]}, r"coordinates\[1\] is"),
        ({"type": "LineString", "coordinates": [[1, True], [3, 4]]}, r"coordinates\[0\] is"),
        ({"type": "LineString", "coordinates": [1, 2]}, r"coordinates\[0\] is 1, not"),
        ({"type": "LineString", "coordinates": [[1, 2], [3, 91]]}, "longitude 3.0 and latitude 91"),
        ({"type": "MultiLineString", "coordinates": [1]}, "holds 1, not a list"),
    ],
)
def test_what_is_no_line_is_refused(geometry, message: str) -> None:
    with pytest.raises(FeatureError, match=message):
        line_positions(geometry, "f")


def test_a_point_is_a_point() -> None:
    assert point_position({"type": "Point", "coordinates": [8, 50]}, "f") == [8.0, 50.0]
    with pytest.raises(FeatureError, match="is a LineString, not a Point"):
        point_position({"type": "LineString", "coordinates": [[8, 50]]}, "f")
