"""Timestamps, Series, Index and DataFrame for `lapwright.kept.codec`, with all that makes them."""

from collections.abc import Callable
from datetime import timedelta, timezone, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from lapwright.kept.arrays import Arrays, CannotKeep, CannotRead

# Dtypes of pandas that hold numbers and a mask.
_MASKED = frozenset(
    ["boolean", *(f"{kind}{bits}" for kind in ("Int", "UInt") for bits in (8, 16, 32, 64)),
     "Float32", "Float64"]
)  # fmt: skip

ToTree = Callable[[Any], Any]
ToValue = Callable[[Any], Any]


def tree(value: Any, to_tree: ToTree, arrays: Arrays) -> Any:
    """Write a value of pandas; see `lapwright.kept.codec.encode`."""
    kind = type(value)
    if value is pd.NaT:
        return ["nat"]
    if value is pd.NA:
        return ["na"]
    if kind is pd.Timestamp:
        return ["timestamp", arrays.add(np.asarray(value.to_datetime64())), _zone(value.tzinfo)]
    if kind is pd.Timedelta:
        return ["timedelta", arrays.add(np.asarray(value.to_timedelta64()))]
    if kind is pd.DataFrame:
        columns = [_values(column, to_tree, arrays) for _, column in value.items()]
        heads = [_index(index, to_tree, arrays) for index in (value.index, value.columns)]
        return ["frame", *heads, columns, to_tree(value.attrs)]
    if kind is pd.Series:
        head = _index(value.index, to_tree, arrays)
        name, attrs = to_tree(value.name), to_tree(value.attrs)
        return ["series", head, _values(value, to_tree, arrays), name, attrs]
    if isinstance(value, pd.Index):
        return _index(value, to_tree, arrays)
    msg = f"{kind.__qualname__} is not kept"
    raise CannotKeep(msg)


def value(node: list[Any], to_value: ToValue, arrays: Arrays) -> Any:
    """Read a value of pandas back."""
    tag, *rest = node
    if tag == "nat":
        return pd.NaT
    if tag == "na":
        return pd.NA
    if tag == "timestamp":
        moment = pd.Timestamp(arrays.scalar(rest[0]))
        zone = _tzinfo(rest[1])
        return moment if zone is None else moment.tz_localize("UTC").tz_convert(zone)
    if tag == "timedelta":
        return pd.Timedelta(arrays.scalar(rest[0]))
    if tag == "frame":
        index, heads, columns, attrs = rest
        parts = {i: _array(one, to_value, arrays) for i, one in enumerate(columns)}
        frame = pd.DataFrame(parts, index=_read_index(index, to_value, arrays))
        frame.columns = _read_index(heads, to_value, arrays)
        frame.attrs = to_value(attrs)
        return frame
    if tag == "series":
        index, values, name, attrs = rest
        array = _array(values, to_value, arrays)
        head = _read_index(index, to_value, arrays)
        series = pd.Series(array, index=head, name=to_value(name), dtype=array.dtype)
        series.attrs = to_value(attrs)
        return series
    return _read_index(node, to_value, arrays)


def _index(index: pd.Index, to_tree: ToTree, arrays: Arrays) -> Any:
    if type(index) is pd.RangeIndex:
        return ["range", index.start, index.stop, index.step, to_tree(index.name)]
    if type(index) not in (pd.Index, pd.DatetimeIndex, pd.TimedeltaIndex, pd.CategoricalIndex):
        msg = f"{type(index).__qualname__} is not kept"
        raise CannotKeep(msg)
    step = getattr(index, "freqstr", None)
    return ["index", _values(index, to_tree, arrays), to_tree(index.name), step]


def _read_index(node: list[Any], to_value: ToValue, arrays: Arrays) -> pd.Index:
    tag, *rest = node
    if tag == "range":
        first, end, step, name = rest
        return pd.RangeIndex(first, end, step, name=to_value(name))
    if tag != "index":
        msg = f"{tag!r} is unknown"
        raise CannotRead(msg)
    values, name, step = rest
    array = _array(values, to_value, arrays)
    if step is None:
        plain: pd.Index = pd.Index(array, dtype=array.dtype, name=to_value(name))
        return plain
    kind = pd.TimedeltaIndex if array.dtype.kind == "m" else pd.DatetimeIndex
    return kind(array, freq=step, name=to_value(name))


def _values(column: Any, to_tree: ToTree, arrays: Arrays) -> Any:
    """Write the values of a Series or an Index, by their dtype."""
    dtype = column.dtype
    if isinstance(dtype, np.dtype):
        return to_tree(column.to_numpy())
    if isinstance(dtype, pd.StringDtype):
        texts = [None if pd.isna(text) else str(text) for text in column]
        return ["strings", dtype.storage, dtype.na_value is pd.NA, texts]
    if isinstance(dtype, pd.DatetimeTZDtype):
        moments = column.dt if isinstance(column, pd.Series) else column
        utc = moments.tz_convert("UTC")
        bare = (utc.dt if isinstance(utc, pd.Series) else utc).tz_localize(None)
        return ["zoned", arrays.add(bare.to_numpy()), _zone(dtype.tz)]
    if isinstance(dtype, pd.CategoricalDtype):
        codes = (column.cat if isinstance(column, pd.Series) else column).codes
        categories = _index(dtype.categories, to_tree, arrays)
        return ["categories", arrays.add(np.asarray(codes)), categories, bool(dtype.ordered)]
    kind = getattr(dtype, "numpy_dtype", None)
    if kind is None or str(dtype) not in _MASKED:
        msg = f"columns of {dtype} are not kept"
        raise CannotKeep(msg)
    missing = column.isna()
    filled = column.to_numpy(dtype=kind, na_value=kind.type(0))
    return ["masked", arrays.add(filled), arrays.add(np.asarray(missing, dtype=np.bool_))]


def _array(node: list[Any], to_value: ToValue, arrays: Arrays) -> Any:
    """Read the values of a Series or an Index."""
    tag, *rest = node
    if tag == "strings":
        storage, na, texts = rest
        dtype = pd.StringDtype(storage, na_value=pd.NA if na else np.nan)
        return pd.array(texts, dtype=dtype)
    if tag == "zoned":
        return pd.DatetimeIndex(arrays.get(rest[0])).tz_localize("UTC").tz_convert(
            _tzinfo(rest[1])
        ).array  # fmt: skip
    if tag == "categories":
        kinds = _read_index(rest[1], to_value, arrays)
        return pd.Categorical.from_codes(arrays.get(rest[0]), kinds, ordered=rest[2])
    if tag == "masked":
        filled, missing = (arrays.get(place) for place in rest)
        by_kind = {"b": pd.arrays.BooleanArray, "f": pd.arrays.FloatingArray}
        return by_kind.get(filled.dtype.kind, pd.arrays.IntegerArray)(filled, missing)
    return to_value(node)


def _zone(zone: tzinfo | None) -> Any:
    if zone is None:
        return None
    if isinstance(zone, ZoneInfo) and zone.key is not None:
        return ["key", zone.key]
    if type(zone) is timezone:
        return ["offset", zone.utcoffset(None) // timedelta(microseconds=1)]
    msg = f"the time zone {zone!r} is not kept"
    raise CannotKeep(msg)


def _tzinfo(node: Any) -> tzinfo | None:
    if node is None:
        return None
    kind, what = node
    return ZoneInfo(what) if kind == "key" else timezone(timedelta(microseconds=what))
