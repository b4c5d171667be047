"""
Where the lines and fields of a delimited text lie, found by numpy in one look at its bytes.

`pandas.read_csv` is as fast as a reader can be, but it is silent: a short line becomes
blanks, a cut number half a number, an unclosed quote swallows what follows.  So the
structure is counted first, and pandas only gets lines known to be whole.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lapwright.ingest.csv.quotes import NEWLINE, QUOTE, RETURN, Bytes, bytes_of, outside_quotes
from lapwright.ingest.time.scales import Bools, Ints
from lapwright.ingest.time.timestamps import Cells

# No log is larger than `lapwright.ingest.archive.MAX_UNPACKED_BYTES`, so four bytes are enough;
# eight would make the offsets of a file of short lines a multiple of all else.
Offsets = npt.NDArray[np.int32]
_SEPARATOR = 31
_LONGEST_CELL = 80
_CHUNK = 1 << 18


_BLANKS, _QUOTES = bytes_of(32, 9), bytes_of(QUOTE)
_TAILS = bytes_of(32, 9, RETURN, QUOTE)


@dataclass(eq=False)
class Structure:
    """
    The records of a delimited text.

    Attributes
    ----------
    buffer : ndarray of uint8
        The text, ending in a line feed and some padding behind `size`.
    size : int
        Its length without the padding.
    starts : ndarray, shape (n,)
        Offset of the first byte of each record that is whole.
    ends : ndarray, shape (n, fields)
        Offset of the byte that ends each field (delimiter or line feed).
    line : ndarray, shape (n,)
        Line number of each record, from 1.
    whole, quoted : bool
        True where every line of the text is a whole record; where there are quotes.
    ragged_line, ragged_fields, ragged_end : ndarray, shape (k,)
        Lines with another number of fields, left out; that number; offset of the line feed.
    """

    buffer: Bytes
    size: int
    starts: Offsets
    ends: Offsets
    line: Ints
    whole: bool
    quoted: bool
    ragged_line: Ints
    ragged_fields: Offsets
    ragged_end: Offsets

    def __len__(self) -> int:
        return len(self.starts)

    @property
    def fields(self) -> int:
        """Number of fields of a record."""
        return int(self.ends.shape[1])

    def text(self, row: int, column: int) -> str:
        """One field as it stands."""
        start = self.starts[row] if column == 0 else self.ends[row, column - 1] + 1
        raw = self.buffer[start : self.ends[row, column]].tobytes()
        return raw.decode("utf-8", "replace").strip().strip('"').strip()

    def is_blank(self, column: int) -> bool:
        """Whether no field of a column holds anything."""
        start = self.starts if column == 0 else self.ends[:, column - 1] + 1
        end = self.ends[:, column]
        filled = end > start
        if column == self.fields - 1:
            filled[filled] = (end[filled] - start[filled] > 1) | (
                self.buffer[start[filled]] != RETURN
            )
        return not filled.any()

    def cells(self, column: int) -> Cells:
        """
        One column as a matrix of bytes, one field a row, without quotes and outer blanks.

        Returns
        -------
        cells : ndarray of uint8, shape (n, width)
            Padded with spaces; fields above 80 bytes are cut there.
        """
        start = self.starts if column == 0 else self.ends[:, column - 1] + 1
        end = self.ends[:, column]
        start, end = start.copy(), end.copy()
        for blank in (_BLANKS, _QUOTES, _BLANKS):
            while True:
                lead = blank[self.buffer[start]] & (end > start)
                if not lead.any():
                    break
                start += lead
        while True:
            tail = _TAILS[self.buffer[end - 1]] & (end > start)
            if not tail.any():
                break
            end -= tail
        length = end - start
        width = int(min(max(length.max(initial=1), 1), _LONGEST_CELL))
        rows = np.lib.stride_tricks.sliding_window_view(self.buffer, width)[start]
        if (length != width).any():
            rows[np.arange(width) >= length[:, None]] = 32
        return rows

    def records(self, delimiter: str) -> tuple[memoryview, str]:
        """
        Give the whole records, one after the other, without what was left out.

        Returns
        -------
        data : memoryview
        delimiter : str
            As given, or a control character where quotes were there: they are turned into
            blanks, so that no other reader can see other fields than this one.
        """
        last = self.ends[:, -1] + 1
        buffer = self.buffer
        if self.quoted:
            buffer = buffer.copy()
            buffer[(buffer == QUOTE) | (buffer == _SEPARATOR)] = 32
            buffer[self.ends[:, :-1]] = _SEPARATOR
            delimiter = chr(_SEPARATOR)
        if self.whole:
            return buffer[self.starts[0] : last[-1]].data, delimiter
        keep = np.zeros(self.size + 1, np.int8)
        keep[self.starts] += 1
        keep[last] -= 1
        inside = np.add.accumulate(keep[:-1], dtype=np.int8).astype(np.bool_)
        return buffer[: self.size][inside].data, delimiter


def scan(data: bytes, start: int, delimiter: str, first_line: int, fields: int = 0) -> Structure:
    """
    Find records and fields.

    Parameters
    ----------
    data : bytes
        The file.
    start : int
        Offset of the first line that may be a record.
    delimiter : str
        One character.
    first_line : int
        Number of that line.
    fields : int
        Fields of a whole record; 0 takes the commonest number.

    Returns
    -------
    Structure
    """
    buffer, size = _padded(data, start)
    delim = ord(delimiter)
    newline = buffer[:size] == NEWLINE
    marks = newline | (buffer[:size] == delim)
    every_end = None
    if data.find(b'"', start) >= 0:
        every_end = np.flatnonzero(newline)
        marks, newline = outside_quotes(buffer, size, delim, marks, newline)
    where = _offsets(marks)
    line_end = _offsets(newline[where])
    del marks, newline
    count = np.diff(line_end, prepend=np.int32(-1))
    ends = where[line_end]
    starts = np.zeros_like(ends)
    np.add(ends[:-1], 1, out=starts[1:])
    length = ends - starts
    present = length > 0
    # A lone carriage return is a blank line too.
    single = length == 1
    present[single] = buffer[starts[single]] != RETURN
    if fields == 0:
        fields = _usual(count[present])
    good = present & (count == fields)
    ragged = present & ~good
    if good.all():
        cut = where.reshape(-1, fields)
    else:
        cut = where[line_end[good][:, None] + np.arange(1 - fields, 1, dtype=np.int32)]

    def number(lines: Bools) -> Ints:
        """Number the lines of the file, which those with a line end in quotes are not."""
        if every_end is None:
            return first_line + np.flatnonzero(lines)
        return first_line + np.searchsorted(every_end, starts[lines]).astype(np.int64)

    return Structure(
        buffer,
        size,
        starts[good],
        cut,
        number(good),
        bool(good.all()),
        every_end is not None,
        number(ragged),
        count[ragged],
        ends[ragged],
    )


def _offsets(mask: Bools) -> Offsets:
    """Where a mask is true: `numpy.flatnonzero` in half the memory."""
    parts = [
        np.flatnonzero(mask[start : start + _CHUNK]).astype(np.int32) + np.int32(start)
        for start in range(0, len(mask), _CHUNK)
    ]
    return np.concatenate(parts) if parts else np.zeros(0, np.int32)


def _usual(count: Offsets) -> int:
    """Take the commonest number of fields."""
    return int(np.argmax(np.bincount(count))) if len(count) else 1


def _padded(data: bytes, start: int) -> tuple[Bytes, int]:
    """Copy the text from `start` on, with a line feed at its end and padding behind it."""
    body = memoryview(data)[start:]
    missing = 0 if data.endswith(b"\n") else 1
    size = len(body) + missing
    buffer = np.full(size + _LONGEST_CELL, 32, np.uint8)
    buffer[: len(body)] = np.frombuffer(body, np.uint8)
    if missing:
        buffer[size - 1] = NEWLINE
    if b"\r" in data and data.count(b"\r") != data.count(b"\r\n"):
        returns = np.flatnonzero(buffer[:size] == RETURN)
        buffer[returns[buffer[returns + 1] != NEWLINE]] = 32
    return buffer, size


def pad_short(structure: Structure, delimiter: str) -> bytes | None:
    """
    Add the delimiters that lines leave out at their end, where that is the logger's habit.

    Parameters
    ----------
    structure : Structure
    delimiter : str

    Returns
    -------
    data : bytes or None
        The scanned text with all its lines; None where short lines are so few that
        they are rather cut than short by habit.
    """
    missing = structure.fields - structure.ragged_fields
    short = (missing > 0) & (structure.ragged_fields > 1)
    if short.sum() < max(10, 0.02 * (len(structure) + len(missing))):
        return None
    ends = structure.ragged_end[short]
    ends = ends - (structure.buffer[ends - 1] == RETURN)
    body = structure.buffer[: structure.size]
    return np.insert(body, np.repeat(ends, missing[short]), ord(delimiter)).tobytes()
