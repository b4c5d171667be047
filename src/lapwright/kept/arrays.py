"""The bytes of a kept result's arrays, one after the other, each where a processor likes it."""

from typing import Any

import numpy as np

Array = np.ndarray[Any, np.dtype[Any]]

# Arrays begin at a whole number of these: the size of a line of the processor's cache.
_ALIGN = 64


class CannotKeep(TypeError):
    """A value of a kind that is not kept."""


class CannotRead(ValueError):
    """Bytes that are no kept result, or one of another program."""


class Arrays:
    """
    Arrays on their way to bytes, or back.

    Attributes
    ----------
    parts : list of bytes
        What has been written.
    """

    def __init__(self) -> None:
        self.parts: list[bytes] = []
        self._size = 0
        self._data = b""
        self._start = 0

    @classmethod
    def of(cls, data: bytes, start: int) -> "Arrays":
        """Arrays to be read from some bytes, from a place on."""
        out = cls()
        out._data, out._start = data, start
        return out

    def add(self, array: Array) -> list[Any]:
        """Write an array; return where it is and what is needed to read it."""
        if array.dtype.hasobject or array.dtype.names is not None:
            msg = f"arrays of {array.dtype} are not kept"
            raise CannotKeep(msg)
        # A sum over columns may round otherwise than one over rows, so the order is kept too.
        flags = array.flags
        order = "F" if flags.f_contiguous and not flags.c_contiguous else "C"
        raw = array.tobytes(order="F" if order == "F" else "C")
        place = [array.dtype.str, list(array.shape), order, self._size]
        self.parts.append(raw.ljust(-(-len(raw) // _ALIGN) * _ALIGN, b"\0"))
        self._size += len(self.parts[-1])
        return place

    def scalar(self, place: list[Any]) -> Any:
        """Read the one value of an array without axes."""
        return self.get(place)[()]

    def get(self, place: list[Any]) -> Array:
        """Read an array; it is nobody else's, and may be written to."""
        kind, shape, order, offset = place
        dtype, count = np.dtype(kind), int(np.prod(shape, dtype=np.int64))
        if count == 0:
            return np.empty(shape, dtype, order=order)
        flat = np.frombuffer(self._data, dtype, count, self._start + offset)
        return flat.reshape(shape, order=order).copy(order=order)
