"""Which quotes are lost, by hand."""

import numpy as np

from lapwright.ingest.csv.structure import scan


def fields(text: str) -> list[list[str]]:
    found = scan(text.encode(), 0, ",", 1, 3)
    return [[found.text(row, column) for column in range(3)] for row in range(len(found))]


def test_a_field_of_two_lines_is_one_field() -> None:
    text = '1,2,3\n4,"5\n6",7\n8,9,0\n'
    assert fields(text) == [["1", "2", "3"], ["4", "5 6", "7"], ["8", "9", "0"]]
    assert scan(text.encode(), 0, ",", 1, 3).line.tolist() == [1, 2, 4]


def test_a_quote_at_the_end_of_each_line_is_lost() -> None:
    # None stands where a field begins, so none opens one.
    assert fields('1,2,3"\n' * 4) == [["1", "2", "3"]] * 4


def test_a_quote_at_the_start_of_each_line_is_lost() -> None:
    # Each would close the one before, but a digit stands behind it.
    assert fields('"1,2,3\n' * 4) == [["1", "2", "3"]] * 4


def test_thousands_of_lost_quotes_are_all_found() -> None:
    lines = ["1,2,3"] * 9000
    lines[::3] = ['1,"2,3'] * 3000
    found = scan("\n".join([*lines, ""]).encode(), 0, ",", 1, 3)
    assert found.line.tolist() == list(range(1, 9001))
    assert np.ptp(np.diff(found.starts)) <= 1


def test_a_control_character_beside_quotes_is_no_delimiter() -> None:
    found = scan(b'1,"2",a\x1fb\n3,"4",c\n', 0, ",", 1, 3)
    data, delimiter = found.records(",")
    assert [line.count(delimiter) for line in bytes(data).decode().splitlines()] == [2, 2]
