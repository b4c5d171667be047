"""
NMEA 0183 sentences in a text: found, checked, sorted by type.

A sentence runs from ``$`` to ``*`` and two hexadecimal digits, the exclusive-or of the
characters between.  Damaged ones are left out and reported with their line; since two commas
more or less do not change that sum, the number of fields is checked as well.
"""

import io
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.ingest.csv.quotes import Bytes
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding
from lapwright.ingest.time.scales import Bools, Floats, Ints
from lapwright.ingest.time.timestamps import Cells

_LONGEST = 512

FIELDS = {
    "RMC": {"time": 1, "status": 2, "lat": 3, "ns": 4, "lon": 5, "ew": 6, "speed": 7,
            "course": 8, "date": 9},
    "GGA": {"time": 1, "lat": 2, "ns": 3, "lon": 4, "ew": 5, "quality": 6, "satellites": 7,
            "hdop": 8, "height": 9},
    "GNS": {"time": 1, "lat": 2, "ns": 3, "lon": 4, "ew": 5, "status": 6, "satellites": 7,
            "hdop": 8, "height": 9},
    "VTG": {"course": 1, "speed": 5, "speed_kmh": 7},
    "GST": {"time": 1, "sd_lat": 6, "sd_lon": 7},
    "ZDA": {"time": 1, "day": 2, "month": 3, "year": 4},
}  # fmt: skip
"""Number of each field; 0 is the sentence's name."""

_ALLOWED = {
    "RMC": (11, 14),
    "GGA": (13, 16),
    "GNS": (12, 15),
    "VTG": (5, 10),
    "GST": (8, 10),
    "ZDA": (4, 8),
}
"""Fewest and most fields with the name, by the editions of the standard."""


# A whole sentence has 82 characters (NMEA 0183, sec. 5.3, from memory): a longer field is none.
_LONGEST_FIELD = 80


@dataclass(eq=False)
class Sentences:
    """
    All good sentences of one type.

    Attributes
    ----------
    kind : str
    buffer : ndarray of uint8
        The file, and blanks behind it.
    start, end : ndarray, shape (n,)
        From behind ``$`` to the ``*`` or the end.
    comma : ndarray, shape (n, fields)
        Offset of the end of each field; beyond the last one it is `end`.
    line, order : ndarray, shape (n,)
        Line number, and place among all sentences.
    """

    kind: str
    buffer: Bytes
    start: Ints
    end: Ints
    comma: Ints
    line: Ints
    order: Ints
    _cache: dict[str, Floats] = field(default_factory=dict)
    _cells: dict[str, Cells] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.start)

    def letters(self, name: str) -> Cells:
        """One field as bytes, padded with spaces, of shape (n, width)."""
        if name not in self._cells:
            self._cells[name] = self._cut(name)
        return self._cells[name]

    def _cut(self, name: str) -> Cells:
        """Cut one field out of the buffer."""
        column = FIELDS[self.kind][name]
        start = self.comma[:, column - 1] + 1
        end = self.comma[:, column]
        length = np.maximum(end - start, 0)
        # Else one that never ends would make a matrix as wide as the file.
        length[length > _LONGEST_FIELD] = 0
        width = max(int(length.max(initial=1)), 1)
        cells = np.lib.stride_tricks.sliding_window_view(self.buffer, width)[start]
        if (length != width).any():
            cells[np.arange(width) >= length[:, None]] = 32
        return cells

    def number(self, name: str) -> Floats:
        """One field as numbers, NaN where it is empty or no number."""
        if name not in self._cache:
            self._cache[name] = to_numbers(self.letters(name))
        return self._cache[name]

    def digits(self, name: str) -> int:
        """Digits behind the decimal point of a field, at most."""
        cells = self.letters(name)
        point = cells == ord(".")
        if not point.any():
            return 0
        after = np.cumsum(point, axis=1) > 0
        return int((after & (cells >= 48) & (cells <= 57)).sum(axis=1).max())

    def position(self) -> tuple[Floats, Floats]:
        """Latitude and longitude; NaN where there is none. [degrees]."""
        out = []
        for name, letter, minus in (("lat", "ns", b"S"), ("lon", "ew", b"W")):
            packed = self.number(name)
            whole = np.trunc(packed / 100)
            angle = whole + (packed - whole * 100) / 60
            side = self.letters(letter)[:, 0]
            angle = np.where(side == 32, np.nan, np.where(side == minus[0], -angle, angle))
            out.append(angle)
        return out[0], out[1]


def to_numbers(cells: Cells) -> Floats:
    """Read a matrix of bytes as numbers, one a row."""
    if len(cells) == 0:
        return np.zeros(0)
    if (cells == cells[0]).all():
        try:
            return np.full(len(cells), float(cells[0].tobytes()))
        except ValueError:
            return np.full(len(cells), np.nan)
    lines = np.full((len(cells), cells.shape[1] + 1), 10, np.uint8)
    lines[:, :-1] = cells
    column = pd.read_csv(
        io.BytesIO(lines.tobytes()),
        header=None,
        names=[0],
        sep=",",
        skip_blank_lines=False,
        skipinitialspace=True,
        encoding="latin-1",
        quoting=3,
    )[0]
    if len(column) != len(cells):
        texts = np.ascontiguousarray(cells).view(f"S{cells.shape[1]}").ravel()
        column = pd.Series(np.char.strip(np.char.decode(texts, "latin-1")))
    if column.dtype.kind not in "fi":
        column = pd.to_numeric(column, errors="coerce")
    return np.asarray(column.to_numpy(np.float64))


def find_sentences(
    data: bytes, kinds: tuple[str, ...], notes: list[Finding]
) -> dict[str, Sentences]:
    """
    Find and check all sentences.

    Parameters
    ----------
    data : bytes
        The file.
    kinds : tuple of str
        Types wanted.
    notes : list of Finding
        Damaged lines are added to it.

    Returns
    -------
    dict
        From type to its good sentences; types without any are left out.
    """
    data = _with_line_feeds(data)
    # The widest field may be looked for at the very end.
    padded = np.frombuffer(data + b" " * _LONGEST_FIELD, np.uint8)
    buffer = padded[: len(data)]
    # Offsets of all that structures a line; a sentence is `$`, commas, `*`, line feed.
    wanted = np.zeros(256, np.bool_)
    wanted[[10, 36, 42, 44]] = True
    marks = np.flatnonzero(wanted[buffer])
    code = buffer[marks]
    feeds, dollars = np.flatnonzero(code == 10), np.flatnonzero(code == 36)
    line = np.arange(1, len(feeds) + 1, dtype=np.int64)
    # A line may hold text before its sentence, or the rest of a lost one: the last `$` counts.
    last = np.searchsorted(dollars, feeds) - 1
    begin = np.append(-1, feeds[:-1])
    has = last >= 0
    has[has] = dollars[last[has]] > begin[has]
    first, feed, line_of = dollars[last[has]], feeds[has], line[has]
    start, stop = marks[first] + 1, marks[feed]
    starred = (code[feed - 1] == 42) & (feed - 1 > first)
    star = np.where(starred, marks[feed - 1], -1)
    blank = _is_blank(buffer, marks, feeds)
    good, unchecked = _checksums(buffer, start, star)
    _say_damage(line_of, len(line), good, unchecked, line[~has & ~blank], notes)
    end = np.where(starred, star, stop)
    count = feed - starred - first
    kind_of = _kinds(buffer, start, end)
    out: dict[str, Sentences] = {}
    wrong: list[Ints] = []
    for kind in kinds:
        mine = np.flatnonzero((kind_of == kind.encode()) & good)
        low, high = _ALLOWED[kind]
        fits = (count[mine] >= low) & (count[mine] <= high)
        wrong.append(line_of[mine[~fits]])
        mine = mine[fits]
        if len(mine):
            fields = max(FIELDS[kind].values()) + 1
            comma = marks[np.minimum(first[mine, None] + 1 + np.arange(fields), len(marks) - 1)]
            comma = np.minimum(comma, end[mine, None])
            out[kind] = Sentences(kind, padded, start[mine], end[mine], comma, line_of[mine], mine)
    bad = np.sort(np.concatenate(wrong))
    if len(bad):
        text = "sentences with too few or too many fields were left out"
        notes.append(finding("ragged_line", text, bad))
    return out


def _with_line_feeds(data: bytes) -> bytes:
    """Make every line end in a line feed."""
    if b"\n" not in data:
        data = data.replace(b"\r", b"\n")
    return data if data.endswith(b"\n") else data + b"\n"


def _is_blank(buffer: Bytes, marks: Ints, feeds: Ints) -> Bools:
    """Tell the lines that hold nothing but a carriage return."""
    ends = marks[feeds]
    length = np.diff(ends, prepend=-1) - 1
    return np.asarray((length == 0) | ((length == 1) & (buffer[ends - 1] == 13)), np.bool_)


def _checksums(buffer: Bytes, start: Ints, star: Ints) -> tuple[Bools, Bools]:
    """Tell the sentences whose checksum fits, and those that have none."""
    running = np.bitwise_xor.accumulate(buffer)
    has = (star >= 0) & (star + 2 < len(buffer))
    end = np.where(has, star, start)
    value = running[np.maximum(end - 1, 0)] ^ running[np.maximum(start - 1, 0)]
    high = _hex(buffer[np.minimum(end + 1, len(buffer) - 1)])
    low = _hex(buffer[np.minimum(end + 2, len(buffer) - 1)])
    fits = has & (high >= 0) & (low >= 0) & (value == ((high << 4) | low))
    # Without a star there is no checksum, and the sentence may be cut.
    unchecked = ~has
    return np.asarray(fits, np.bool_), np.asarray(unchecked, np.bool_)


def _hex(code: Bytes) -> npt.NDArray[np.int16]:
    """Value of a hexadecimal digit; -1 where it is none."""
    wide = code.astype(np.int16)
    digit = np.where((wide >= 48) & (wide <= 57), wide - 48, -1)
    lower = wide | 32
    return np.where((lower >= 97) & (lower <= 102), lower - 87, digit).astype(np.int16)


def _say_damage(
    line: Ints, lines: int, good: Bools, unchecked: Bools, foreign: Ints, notes: list[Finding]
) -> None:
    """Decide on sentences without a checksum (changes `good`); report what is left out."""
    if unchecked.sum() > 0.5 * len(unchecked):
        good |= unchecked
        text = "the sentences carry no checksum; damage in them cannot be seen"
        notes.append(finding("no_checksum", text))
    bad = ~good
    if len(bad) and bad[-1] and unchecked[-1] and line[-1] == lines:
        text = "the last line is cut off and was left out"
        notes.append(finding("truncated_end", text, line[-1:]))
        bad[-1] = False
    if bad.any():
        text = "damaged sentences (checksum missing or wrong) were left out"
        notes.append(finding("corrupt_line", text, line[bad]))
    if len(foreign):
        text = "lines that are not NMEA sentences were skipped"
        notes.append(finding("foreign_line", text, foreign))


def _kinds(buffer: Bytes, start: Ints, end: Ints) -> npt.NDArray[np.bytes_]:
    """The three letters of the type, behind the two of the talker; blank for makers' own."""
    wide = np.minimum(start[:, None] + np.arange(6), len(buffer) - 1)
    head = buffer[wide]
    kind = np.ascontiguousarray(head[:, 2:5]).view("S3").ravel().copy()
    other = (head[:, 5] != ord(",")) | (head[:, 0] == ord("P")) | (end - start < 6)
    kind[other] = b""
    return kind
