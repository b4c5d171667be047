"""Tables come back with their kinds of columns, index, names and attributes."""

from datetime import timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from lapwright.kept.arrays import CannotKeep
from lapwright.kept.codec import decode, encode

MOMENTS = pd.to_datetime(["2026-02-07T10:00:00.25", None], format="ISO8601")

COLUMNS: dict[str, Any] = {
    "float": [1.5, float("nan")],
    "int": np.array([1, 2], dtype=np.int32),
    "bool": [True, False],
    "text": ["a", "ü"],
    "text or none": ["a", None],
    "object": pd.Series([(1, 2), None], dtype=object),
    "moment": MOMENTS,
    "utc": MOMENTS.tz_localize("UTC"),
    "zone": MOMENTS.tz_localize(ZoneInfo("Europe/Berlin")),
    "offset": MOMENTS.tz_localize(timezone(timedelta(hours=5, minutes=30))),
    "milliseconds": MOMENTS.as_unit("ms").tz_localize("UTC"),
    "time": pd.to_timedelta([1.5, None], unit="s"),
    "Int64": pd.array([1, None], dtype="Int64"),
    "UInt8": pd.array([1, None], dtype="UInt8"),
    "Float32": pd.array([1.5, None], dtype="Float32"),
    "boolean": pd.array([True, None], dtype="boolean"),
    "string": pd.array(["a", None], dtype=pd.StringDtype("python", na_value=pd.NA)),
    "category": pd.Categorical(["b", None], categories=["b", "a"], ordered=True),
}
INDICES = {
    "range": pd.RangeIndex(3, 7, 2, name="lap"),
    "numbers": pd.Index([5, 3], name=("a", 1)),
    "texts": pd.Index(["x", "y"]),
    "objects": pd.Index(["x", 1], dtype=object),
    "moments": pd.date_range("2026-02-07", periods=2, freq="D", tz="UTC", name="day"),
    "times": pd.timedelta_range("1s", periods=2, freq="s"),
    "categories": pd.CategoricalIndex(["b", "a"], categories=["b", "a"]),
}


@pytest.mark.parametrize("name", COLUMNS)
def test_a_column_of_every_kind(name: str) -> None:
    series = pd.Series(COLUMNS[name], name=name)
    back = decode(encode(series))
    pd.testing.assert_series_equal(back, series, check_exact=True)
    assert back.dtype == series.dtype
    assert str(back.dtype) == str(series.dtype)
    assert encode(back) == encode(series)


@pytest.mark.parametrize("name", INDICES)
def test_an_index_of_every_kind(name: str) -> None:
    index = INDICES[name]
    back = decode(encode(index))
    pd.testing.assert_index_equal(back, index, exact=True)
    assert getattr(back, "freq", None) == getattr(index, "freq", None)
    table = pd.DataFrame({"a": [1.0, 2.0]}, index=index)
    pd.testing.assert_frame_equal(decode(encode(table)), table, check_exact=True, check_freq=True)


def test_a_table_of_everything() -> None:
    table = pd.DataFrame({name: pd.Series(values) for name, values in COLUMNS.items()})
    table.attrs = {"unit": "s", "of": (1, 2)}
    back = decode(encode(table))
    pd.testing.assert_frame_equal(back, table, check_exact=True)
    assert back.dtypes.to_dict() == table.dtypes.to_dict()
    assert back.attrs == table.attrs
    assert type(back.index) is type(table.index)
    assert encode(back) == encode(table)


@pytest.mark.parametrize(
    "table",
    [
        pd.DataFrame(),
        pd.DataFrame({"lap": np.zeros(0, dtype=np.int64), "name": pd.Series([], dtype="str")}),
        pd.DataFrame(index=pd.RangeIndex(3)),
        pd.DataFrame(np.ones((2, 2)), columns=["a", "a"]),
        pd.DataFrame(np.ones((2, 2)), columns=pd.Index([1, "b"], name="what")),
    ],
)
def test_odd_tables(table: pd.DataFrame) -> None:
    back = decode(encode(table))
    pd.testing.assert_frame_equal(back, table, check_exact=True, check_column_type=True)
    assert encode(back) == encode(table)


@pytest.mark.parametrize(
    "moment",
    [
        pd.Timestamp("2026-02-07T10:00:00.123456789"), pd.Timestamp("2026-02-07T10:00", tz="UTC"),
        pd.Timestamp("2026-10-25T01:30", tz="UTC").tz_convert("Europe/Berlin"),
        pd.Timestamp("2026-02-07T10:00", tz="UTC").as_unit("ms"),
        pd.Timedelta("1.5 s"), pd.Timedelta("1.5 s").as_unit("ms"), pd.NaT, pd.NA,
    ],
    ids=str,
)  # fmt: skip
def test_moments(moment: Any) -> None:
    back = decode(encode(moment))
    assert type(back) is type(moment)
    assert str(back) == str(moment)
    assert getattr(back, "unit", None) == getattr(moment, "unit", None)
    assert str(getattr(back, "tzinfo", None)) == str(getattr(moment, "tzinfo", None))


def test_what_changes_a_table_in_place_does_not_change_what_is_kept() -> None:
    table = pd.DataFrame({"a": [1.0, 2.0]})
    data = encode(table)
    table.loc[0, "a"] = 9.0
    assert decode(data)["a"].tolist() == [1.0, 2.0]
    back = decode(data)
    back.loc[0, "a"] = 9.0
    assert decode(data)["a"].tolist() == [1.0, 2.0]


@pytest.mark.parametrize(
    "value",
    [
        pd.DataFrame({"a": pd.period_range("2026", periods=2, freq="D")}),
        pd.DataFrame({"a": [1]}, index=pd.MultiIndex.from_tuples([(1, 2)])),
        pd.Series(pd.arrays.SparseArray([0.0, 1.0])),
        pd.DataFrame({"a": [len]}),
    ],
)
def test_other_kinds_are_not_kept(value: object) -> None:
    with pytest.raises(CannotKeep):
        encode(value)
