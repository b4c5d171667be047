"""Comma or point: what most numbers of the first records have."""

import pytest

from lapwright.ingest.csv.decimal_mark import decimal_mark, is_number


@pytest.mark.parametrize(
    ("rows", "mark"),
    [
        ([["12,5", "48,1173"], ["13,0", "48,1174"]], ","),
        ([["12.5", "48.1173"], ["13.0", "48.1174"]], "."),
        # Whole numbers tell nothing; the point is what programs write.
        ([["12", "48"], ["13", "48"]], "."),
        # A clock and a date have other marks; a coordinate may carry its letter.
        ([["10:15:03", "15.06.2024", "48,1173 N"]], ","),
    ],
)
def test_the_mark_is_that_of_most_numbers(rows: list[list[str]], mark: str) -> None:
    assert decimal_mark(rows) == mark


def test_a_number_is_one_with_the_mark_of_the_file() -> None:
    assert is_number("12,5", ",")
    assert not is_number("12,5", ".")
    assert is_number("-1.5e3", ".")
    assert not is_number("fast", ".")
