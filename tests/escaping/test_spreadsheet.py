"""Tables open in a spreadsheet without a formula in them, and read back the same."""

import csv
import io

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nasty import encodes, texts

from lapwright.escaping.spreadsheet import csv_text, guarded, storable
from lapwright.escaping.unseen import encodable, visible

# OWASP, "CSV Injection": cells that begin with one of these may be taken for a formula.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def unguarded(cell: str) -> str:
    """As the docs say: one apostrophe off the beginning."""
    return cell.removeprefix("'")


@given(st.lists(st.tuples(texts, texts), min_size=1, max_size=4))
def test_no_cell_begins_as_a_formula_and_all_read_back(rows: list[tuple[str, str]]) -> None:
    table = pd.DataFrame(rows, columns=["=driver", "notes"], dtype=object).assign(time_s=-1.5)
    text = csv_text(table)
    heads, *read = csv.reader(io.StringIO(text.encode().decode(), newline=""))
    assert heads == ["'=driver", "notes", "time_s"]
    for (one, two), row in zip(rows, read, strict=True):
        assert row[2] == "-1.5"
        for old, new in ((one, row[0]), (two, row[1])):
            # Only a number may begin with a sign.
            assert not new.startswith(FORMULA) or float(new) is not None
            assert unguarded(new) == visible(old)


@pytest.mark.parametrize("cell", ["-0.5", "+12", "-1e-3", ".5", "-.5", " -7"])
def test_a_number_keeps_its_sign(cell: str) -> None:
    assert guarded(cell) == cell


@pytest.mark.parametrize(
    "cell", ["-1-1", "=1", " =1", "+2 clicks", "@a", "-", "\uff1d1", "--5", "1'"]
)
def test_what_is_not_a_number_gets_an_apostrophe(cell: str) -> None:
    assert guarded(cell) == (cell if cell == "1'" else f"'{cell}")


def test_a_table_without_such_cells_is_written_as_pandas_does() -> None:
    table = pd.DataFrame({
        "lap": [1, 2], "driver": ["Runa", None], "time_s": [-0.1, np.nan],
        "best": pd.Series([1, None], dtype=object), "ok": [True, False],
        "at": pd.to_datetime(["2026-02-06T00:12:00.1", None], utc=True),
    })  # fmt: skip
    how = {"index": False, "lineterminator": "\n", "date_format": "%H:%M:%S.%f"}
    assert csv_text(table, "%H:%M:%S.%f") == table.to_csv(**how)


def test_pandas_reads_the_apostrophe_and_nothing_else() -> None:
    table = pd.DataFrame({"notes": ["=1+1", 'dry, "wet"\nlater', "'n"], "flags": ["", "+x", "a"]})
    read = pd.read_csv(io.StringIO(csv_text(table)), keep_default_na=False)
    assert [unguarded(cell) for cell in read["notes"]] == list(table["notes"])
    assert [unguarded(cell) for cell in read["flags"]] == list(table["flags"])


@given(st.lists(texts, min_size=1, max_size=3))
def test_parquet_takes_every_text(cells: list[str]) -> None:
    table = storable(pd.DataFrame({"notes": pd.Series(cells, dtype=object)}))
    back = pa.Table.from_pandas(table).to_pandas()
    assert list(back["notes"]) == [encodable(cell) for cell in cells]
    assert all(encodes(cell) for cell in back["notes"])


def test_the_table_itself_is_not_changed() -> None:
    table = pd.DataFrame({"notes": ["=1"]})
    csv_text(table)
    storable(table)
    assert list(table["notes"]) == ["=1"]
