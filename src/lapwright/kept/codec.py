"""
Plain values to bytes and back, exactly: what a kept result is written as.

Bytes begin with a mark and a digest of all that follows, so that a file that is cut, damaged or
another program's is noticed; then a tree in JSON, then the bytes of its arrays.  Not pickle: what
is read here can build values and our own frozen dataclasses, and run no code, not even ours.
"""

import json
import struct
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from enum import Enum
from hashlib import blake2b
from pathlib import Path, PurePath
from sys import modules
from typing import Any

import numpy as np

from lapwright.kept import pandas_codec
from lapwright.kept.arrays import Arrays, CannotKeep, CannotRead

# Where our own classes live; those of others are neither kept nor built.
_OURS = "lapwright."
_MARK = b"lapwright kept 1\n"
_DIGEST_BYTES = 32
_LENGTH = struct.Struct("<Q")
_HEAD_BYTES = len(_MARK) + _DIGEST_BYTES
_AS_THEY_ARE = (type(None), bool, int, str)


def encode(value: object) -> bytes:
    """
    Write a value as bytes.

    Parameters
    ----------
    value : object
        None, bool, int, float, str, bytes, paths, numpy scalars and arrays, timestamps and
        timedeltas of pandas, tuples, lists, dicts, sets, our own enums and frozen dataclasses,
        Series, Index and DataFrame; and whatever is made of these.

    Returns
    -------
    bytes

    Raises
    ------
    CannotKeep
        If something else is in it.

    Examples
    --------
    >>> decode(encode({"lap": 5, "time_s": (94.39, float("inf"))}))
    {'lap': 5, 'time_s': (94.39, inf)}
    """
    parts = _parts(value)
    return b"".join([_MARK, _digest(parts), *parts])


def fingerprint(*values: object) -> str:
    """
    Digest of what some values hold, 40 hexadecimal digits; the same for equal ones in any process.

    Raises
    ------
    CannotKeep
        As `encode`.

    Examples
    --------
    >>> fingerprint([1, 2.0]) == fingerprint([1, 2.0]) != fingerprint([1, 2])
    True
    """
    return _digest(_parts(values)).hex()[:40]


def content_of(file: Path) -> bytes | None:
    """What is in a file, for a `fingerprint`; None where it cannot be read."""
    try:
        return file.read_bytes()
    except OSError:
        return None


def digest_in(data: bytes) -> str:
    """Digest that stands in the bytes of a value: the same for equal values."""
    return data[len(_MARK) : _HEAD_BYTES].hex()


def decode(data: bytes) -> Any:
    """
    Read a value from its bytes.

    Raises
    ------
    CannotRead
        If they are damaged, cut, or not ours.
    """
    body = data[_HEAD_BYTES:]
    head = _MARK + _digest([body])
    if data[:_HEAD_BYTES] != head or len(body) < _LENGTH.size:
        msg = "these are not the bytes of a kept result"
        raise CannotRead(msg)
    (length,) = _LENGTH.unpack_from(body)
    start = _LENGTH.size + length
    try:
        tree = json.loads(body[_LENGTH.size : start])
        return _Reader(Arrays.of(body, start)).value(tree)
    except (ValueError, TypeError, LookupError, AttributeError) as error:
        # Whole, but of a program that has other classes.
        raise CannotRead(str(error)) from error


def _parts(value: object) -> list[bytes]:
    arrays = Arrays()
    tree = json.dumps(_Writer(arrays).tree(value), separators=(",", ":")).encode("ascii")
    # The arrays begin at a whole number of lines of the processor's cache.
    tree = tree.ljust(-(-len(tree) // 64) * 64)
    return [_LENGTH.pack(len(tree)), tree, *arrays.parts]


def _digest(parts: list[bytes]) -> bytes:
    digest = blake2b(digest_size=_DIGEST_BYTES)
    for part in parts:
        digest.update(part)
    return digest.digest()


class _Writer:
    """Values to a tree of JSON; what is no plain JSON value is a list that begins with a tag."""

    def __init__(self, arrays: Arrays) -> None:
        self._arrays = arrays
        self._by_type: dict[type, Callable[[Any], Any]] = {
            float: _float,
            bytes: lambda v: ["bytes", arrays.add(np.frombuffer(v, np.uint8))],
            tuple: lambda v: ["tuple", *map(self.tree, v)],
            list: lambda v: ["list", *map(self.tree, v)],
            dict: lambda v: ["dict", *([self.tree(k), self.tree(x)] for k, x in v.items())],
            set: lambda v: ["set", *self._sorted(v)],
            frozenset: lambda v: ["frozenset", *self._sorted(v)],
            np.ndarray: self._ndarray,
        }

    def tree(self, value: object) -> Any:
        """One value."""
        kind = type(value)
        if kind in _AS_THEY_ARE:
            return value
        write = self._by_type.get(kind)
        if write is not None:
            return write(value)
        if isinstance(value, np.generic):
            return ["scalar", self._arrays.add(np.asarray(value))]
        if isinstance(value, PurePath):
            return ["path", str(value)]
        if kind.__module__.startswith(_OURS):
            return self._ours(value)
        return pandas_codec.tree(value, self.tree, self._arrays)

    def _sorted(self, values: Any) -> list[Any]:
        """Sort by what is written: the order of a set is another one in each process."""
        return sorted(map(self.tree, values), key=json.dumps)

    def _ndarray(self, value: "np.ndarray[Any, Any]") -> Any:
        if value.dtype != object:
            return ["array", self._arrays.add(value)]
        return ["objects", list(value.shape), *map(self.tree, value.ravel().tolist())]

    def _ours(self, value: object) -> Any:
        kind = type(value)
        where = [kind.__module__, kind.__qualname__]
        if isinstance(value, Enum):
            return ["enum", *where, value.name]
        _check(kind)
        names = [one.name for one in fields(kind)]  # type: ignore[arg-type]
        return ["ours", *where, names, *(self.tree(getattr(value, name)) for name in names)]


class _Reader:
    """A tree of JSON back to values."""

    def __init__(self, arrays: Arrays) -> None:
        self._arrays = arrays
        self._by_tag: dict[str, Callable[..., Any]] = {
            "float": lambda text: struct.unpack("<d", bytes.fromhex(text))[0],
            "bytes": lambda place: arrays.get(place).tobytes(),
            "tuple": lambda *v: tuple(map(self.value, v)),
            "list": lambda *v: list(map(self.value, v)),
            "dict": lambda *pairs: {self.value(k): self.value(v) for k, v in pairs},
            "set": lambda *v: set(map(self.value, v)),
            "frozenset": lambda *v: frozenset(map(self.value, v)),
            "array": arrays.get,
            "objects": self._objects,
            "scalar": arrays.scalar,
            "path": Path,
            "enum": lambda module, name, member: _class(module, name)[member],
            "ours": self._ours,
        }

    def value(self, tree: Any) -> Any:
        """One value."""
        if not isinstance(tree, list):
            if type(tree) not in (*_AS_THEY_ARE, float):
                msg = f"{tree!r} is not written like this"
                raise CannotRead(msg)
            return tree
        read = self._by_tag.get(tree[0])
        if read is not None:
            return read(*tree[1:])
        return pandas_codec.value(tree, self.value, self._arrays)

    def _objects(self, shape: list[int], *values: Any) -> "np.ndarray[Any, Any]":
        out = np.empty(len(values), dtype=object)
        # One by one: numpy would take tuples of one length for rows.
        for i, value in enumerate(values):
            out[i] = self.value(value)
        return out.reshape(shape)

    def _ours(self, module: str, name: str, names: list[str], *values: Any) -> Any:
        kind = _class(module, name)
        _check(kind)
        if [one.name for one in fields(kind)] != names:
            msg = f"{name} has other fields now"
            raise CannotRead(msg)
        # Neither __init__ nor __post_init__: what was checked once is put back as it was.
        out = object.__new__(kind)
        for key, value in zip(names, values, strict=True):
            object.__setattr__(out, key, self.value(value))
        return out


def _float(value: float) -> Any:
    # JSON has neither infinity nor NaN; of all others Python writes the shortest exact text.
    return value if np.isfinite(value) else ["float", struct.pack("<d", value).hex()]


def _check(kind: type) -> None:
    if not (is_dataclass(kind) and kind.__dataclass_params__.frozen):  # type: ignore[attr-defined]
        msg = f"{kind.__qualname__} is not a frozen dataclass"
        raise CannotKeep(msg)


def _class(module: str, name: str) -> Any:
    """One of our classes, of a module that is loaded: nothing is imported for a kept result."""
    if not module.startswith(_OURS) or module not in modules:
        msg = f"{module} is not there"
        raise CannotRead(msg)
    found: Any = modules[module]
    for part in name.split("."):
        found = getattr(found, part)
    if not isinstance(found, type) or found.__module__ != module:
        msg = f"{name} is not a class of {module}"
        raise CannotRead(msg)
    return found
