"""Lines and fields found in bytes, against the csv module of Python on clean text."""

import csv
import io

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lapwright.ingest.csv.structure import pad_short, scan

FIELD = st.text(alphabet="0123456789.-abc ", max_size=6)


@given(
    st.integers(2, 5).flatmap(
        lambda n: st.lists(st.lists(FIELD, min_size=n, max_size=n), min_size=1, max_size=20)
    ),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["\n", "\r\n"]),
    st.booleans(),
    st.booleans(),
)
def test_fields_are_those_of_the_csv_module(rows, delimiter, end, quote, last_end) -> None:
    out = io.StringIO()
    style = csv.QUOTE_ALL if quote else csv.QUOTE_MINIMAL
    csv.writer(out, delimiter=delimiter, lineterminator=end, quoting=style).writerows(rows)
    text = out.getvalue() if last_end else out.getvalue().removesuffix(end)
    found = scan(text.encode(), 0, delimiter, 1, len(rows[0]))
    assert len(found) == len(rows)
    got = [[found.text(i, j) for j in range(found.fields)] for i in range(len(found))]
    assert got == [[cell.strip() for cell in row] for row in rows]
    assert found.line.tolist() == list(range(1, len(rows) + 1))
    cells = found.cells(1)
    assert [bytes(row).decode().strip() for row in cells] == [row[1].strip() for row in rows]


def test_line_numbers_count_blank_and_ragged_lines() -> None:
    found = scan(b"1,2,3\n\n4,5\n6,7,8\n9,9,9,9\n1,1,1\n", 0, ",", 10)
    assert found.line.tolist() == [10, 13, 15]
    assert found.ragged_line.tolist() == [12, 14]
    assert found.ragged_fields.tolist() == [2, 4]
    data, delimiter = found.records(",")
    assert bytes(data) == b"1,2,3\n6,7,8\n1,1,1\n"
    assert delimiter == ","


def test_quotes_cannot_be_seen_otherwise_by_the_next_reader() -> None:
    found = scan(b'"a;b";"2"\n3;"4"\n', 0, ";", 1)
    data, delimiter = found.records(";")
    assert bytes(data).decode().split(delimiter)[0].strip() == "a;b"
    assert b'"' not in bytes(data)


def test_short_lines_are_filled_up_only_where_they_are_the_habit() -> None:
    often = b"1,2,3\n4,5\n" * 50
    padded = pad_short(scan(often, 0, ",", 1, 3), ",")
    assert padded == b"1,2,3\n4,5,\n" * 50
    rare = b"1,2,3\n" * 500 + b"4,5\n"
    assert pad_short(scan(rare, 0, ",", 1, 3), ",") is None


def test_a_lost_quote_costs_its_own_line_at_most() -> None:
    lines = [f'"{k}","x","y"' for k in range(100)]
    lines[40] = lines[40].replace('"', "", 1)
    found = scan("\n".join(lines).encode(), 0, ",", 1, 3)
    assert np.isin(np.delete(np.arange(1, 101), 40), found.line).all()
