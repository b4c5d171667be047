"""What is kept comes back as it was, to the last bit, and damage is noticed wherever it is."""

import json
import struct
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lapwright.geometry import Gate
from lapwright.ingest import Finding
from lapwright.kept import codec
from lapwright.kept.arrays import CannotKeep, CannotRead
from lapwright.kept.codec import decode, digest_in, encode, fingerprint
from lapwright.kept.store import Usual

FLAT = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(), st.binary(max_size=20),
    st.builds(Path, st.just("a/b.csv")), st.just(Usual.USUAL),
    st.builds(np.float64, st.floats()), st.builds(np.int32, st.integers(-9, 9)),
    st.builds(np.bool_, st.booleans()),
)  # fmt: skip
KEYS = st.one_of(st.text(), st.integers(), st.booleans(), st.none(), st.tuples(st.integers()))
VALUES = st.recursive(
    FLAT,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.tuples(inner, inner), st.dictionaries(KEYS, inner),
        st.frozensets(KEYS, max_size=4), st.sets(KEYS, max_size=4),
    ),
    max_leaves=12,
)  # fmt: skip


def alike(one: object, other: object) -> bool:
    """Whether two plain values are the same in kind, in order and to the bit."""
    if type(one) is not type(other):
        return False
    if isinstance(one, float):
        return struct.pack("<d", one) == struct.pack("<d", other)
    if isinstance(one, dict):
        assert isinstance(other, dict)
        return alike([*one.items()], [*other.items()])
    if isinstance(one, list | tuple):
        assert isinstance(other, list | tuple)
        return len(one) == len(other) and all(map(alike, one, other))
    return one == other


@given(VALUES)
@settings(max_examples=60, deadline=None)
def test_plain_values_come_back_as_they_were(value: object) -> None:
    data = encode(value)
    back = decode(data)
    assert alike(back, value)
    # What was read is written the same: so it can be seen whether it was changed meanwhile.
    assert encode(back) == data


@pytest.mark.parametrize("value", [0.1, -0.0, 5e-324, float("inf"), float("-inf"), float("nan")])
def test_every_bit_of_a_number(value: float) -> None:
    assert struct.pack("<d", decode(encode(value))) == struct.pack("<d", value)
    # Another NaN is another one.
    odd = struct.unpack("<d", bytes.fromhex("010000000000f8ff"))[0]
    assert struct.pack("<d", decode(encode(odd))).hex() == "010000000000f8ff"


@pytest.mark.parametrize(
    "array",
    [
        np.arange(6.0), np.arange(6, dtype=np.int16), np.zeros((0, 2)), np.array(3.5),
        np.array([True, False]), np.array(["a", "longer"]), np.arange(6.0).reshape(2, 3),
        np.asfortranarray(np.arange(6.0).reshape(2, 3)), np.arange(24.0).reshape(2, 3, 4),
        np.arange(10.0)[::2], np.arange(6, dtype=">f8"), np.array([1 + 2j]),
        np.array(["2026-02-07T10:00:00"], dtype="M8[ms]"), np.array([5, "NaT"], dtype="m8[us]"),
    ],
    ids=str,
)  # fmt: skip
def test_arrays(array: np.ndarray[Any, Any]) -> None:
    back = decode(encode(array))
    assert back.dtype == array.dtype
    assert back.shape == array.shape
    assert back.tobytes() == array.tobytes()
    assert back.flags.writeable
    # The order decides how a sum over an axis rounds.
    if array.flags.f_contiguous or array.flags.c_contiguous:
        assert back.flags.f_contiguous == array.flags.f_contiguous
        assert back.flags.c_contiguous == array.flags.c_contiguous


def test_arrays_of_objects() -> None:
    array = np.empty(2, dtype=object)
    array[:] = [(1.0, "a"), None]
    back = decode(encode(array.reshape(2, 1)))
    assert back.dtype == object
    assert back.tolist() == [[(1.0, "a")], [None]]


def test_our_own_classes_come_back_without_being_made() -> None:
    gate = Gate((0.0, 1.0), (2.0, 3.0))
    assert decode(encode(gate)) == gate
    finding = Finding("gap", "one gap", ((3, 4),), 2)
    assert decode(encode([finding, finding])) == [finding, finding]


class _Ours(Enum):
    ONE = 1


@dataclass
class _Soft:
    number: int


@dataclass(frozen=True)
class _Theirs:
    number: int


@pytest.mark.parametrize(
    "value",
    [object(), len, _Ours.ONE, _Soft(1), _Theirs(1), [lambda: None], {1: {2: open}},
     np.zeros(1, dtype=[("a", "f8")]), pd.Period("2026"), pd.interval_range(0, 2)],
    ids=["object", "function", "enum", "open class", "other's class", "lambda", "nested",
         "record", "period", "intervals"],
)  # fmt: skip
def test_what_is_not_ours_is_not_kept(value: object) -> None:
    with pytest.raises(CannotKeep):
        encode(value)


def forged(tree: object) -> bytes:
    """Bytes with the right mark and digest that hold whatever somebody likes."""
    text = json.dumps(tree).encode()
    body = codec._LENGTH.pack(len(text)) + text
    return codec._MARK + codec._digest([body]) + body


def test_no_class_of_others_is_built_and_none_is_imported() -> None:
    gate = ["ours", "lapwright.geometry.gate", "Gate", ["left_m", "right_m"], 1, 2]
    assert decode(forged(gate)).left_m == 1
    for tree in (
        ["ours", __name__, "_Theirs", ["number"], 1],
        ["ours", "lapwright.nothing", "Gate", ["left_m", "right_m"], 1, 2],
        ["ours", "lapwright.geometry.gate", "Gate.__init__", ["left_m", "right_m"], 1, 2],
        ["ours", "lapwright.geometry.gate", "dataclass", ["left_m", "right_m"], 1, 2],
        ["ours", "lapwright.geometry.gate", "Gate", ["left_m"], 1],
        ["ours", "lapwright.kept.store", "Store", [], 1],
        ["enum", "os", "environ", "HOME"],
        ["eval", "1 + 1"],
        {},
        ["tuple", ["frame"]],
    ):
        with pytest.raises(CannotRead):
            decode(forged(tree))


def test_damage_anywhere_is_noticed() -> None:
    data = encode({"time_s": np.arange(40.0), "lap": (1, 2.5, "x")})
    for place in range(len(data)):
        broken = bytearray(data)
        broken[place] ^= 1
        with pytest.raises(CannotRead):
            decode(bytes(broken))
    for cut in (0, 1, 20, 60, len(data) // 2, len(data) - 1):
        with pytest.raises(CannotRead):
            decode(data[:cut])
    for foreign in (data + b"\0", b"{}", b"\x89PNG" + data):
        with pytest.raises(CannotRead):
            decode(foreign)


def test_a_fingerprint_tells_values_apart() -> None:
    values = [
        (), (1,), (1.0,), (True,), ("1",), (None,), (b"1",), (1, 2), ((1, 2),), ([1, 2],),
        ({1, 2},), ({1: 2},), (np.arange(2.0),), (np.arange(2),), (np.arange(2.0)[:, None],),
        (pd.Series(np.arange(2.0)),), (pd.DataFrame({"a": np.arange(2.0)}),),
    ]  # fmt: skip
    found = [fingerprint(*value) for value in values]
    assert len({*found}) == len(found)
    assert found == [fingerprint(*value) for value in values]
    # Sets have no order, dicts have one.
    assert fingerprint({"a", "b", "c"}) == fingerprint({"c", "b", "a"})
    assert fingerprint({1: 0, 2: 0}) != fingerprint({2: 0, 1: 0})


def test_the_digest_in_the_bytes_is_that_of_the_value() -> None:
    assert digest_in(encode([1, 2])) == digest_in(encode([1, 2])) != digest_in(encode([1, 3]))
