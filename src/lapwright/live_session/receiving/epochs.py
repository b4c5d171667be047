"""
NMEA 0183 as it comes, byte by byte, into fixes.

Sentences are found, checked and put together by the reader of whole files
(`lapwright.ingest.nmea`), one epoch at a time; what is here is only to know when an epoch is whole.
Waiting for the next one's first sentence would make every fix late by one step, so the sentence
that ends an epoch is learned from those that went before.
"""

from pathlib import Path

import numpy as np

from lapwright.errors import LogError
from lapwright.ingest.csv.header_words import SPEED_UNITS
from lapwright.ingest.nmea.read import read_nmea
from lapwright.live_session.receiving.fixes import NAN, Fix

# Longer than any sentence: what has no line end by then is not one.
_LONGEST = 1024
# A buffer of sentences that no epoch comes of is let go of.
_MOST_LINES = 64
# The last type of so many epochs in a row ends the next one too.
_LEARNED = 3
_DAY_S = 86_400.0
_USED = frozenset({b"RMC", b"GGA", b"GNS", b"GST", b"VTG", b"ZDA"})
_PLACED = frozenset({b"RMC", b"GGA", b"GNS"})
_TIMED = frozenset({b"RMC", b"GGA", b"GNS", b"GST"})


class Epochs:
    """
    Bytes in, fixes out.

    Attributes
    ----------
    damaged : int
        Lines that were no whole sentence.
    without_position : int
        Epochs in which the receiver had no position.
    """

    def __init__(self) -> None:
        self.damaged = 0
        self.without_position = 0
        self._rest = b""
        self._too_long = False
        self._lines: list[bytes] = []
        self._kinds: list[bytes] = []
        self._time = b""
        self._ends_with = b""
        self._same = 0
        self._checked = False
        self._day_s: float | None = None
        self._last_s = NAN

    @property
    def waiting(self) -> bool:
        """Whether an epoch has begun that may not be whole."""
        return bool(self._lines)

    def feed(self, data: bytes) -> list[Fix]:
        """
        Take some bytes.

        Returns
        -------
        list of Fix
            Of the epochs that are whole now.
        """
        lines = (self._rest + data).replace(b"\r", b"\n").split(b"\n")
        self._rest = lines.pop()
        if self._too_long and lines:
            # The end of what was let go of.
            lines[0] = b""
            self._too_long = False
        if len(self._rest) > _LONGEST:
            self._rest, self._too_long = b"", True
            self.damaged += 1
        out = []
        for line in lines:
            out += self._line(line)
        return out

    def flush(self) -> list[Fix]:
        """Take what has come for a whole epoch: nothing more came for a while."""
        return self._close(learn=False) if self._lines else []

    def _line(self, line: bytes) -> list[Fix]:
        at = line.rfind(b"$")
        if at < 0:
            self.damaged += bool(line.strip())
            return []
        line = line[at:]
        kind, first = line[3:6], line[7:].split(b",", 1)[0]
        starred = b"*" in line
        self._checked |= starred
        # A cut sentence without its checksum looks like one that never has any.
        if self._checked and not starred:
            self.damaged += 1
            return []
        if kind not in _USED or line[6:7] != b",":
            return []
        out = []
        if self._lines and (
            (kind in _TIMED and self._time and first != self._time) or kind in self._kinds
        ):
            out += self._close(learn=True)
        self._lines.append(line)
        self._kinds.append(kind)
        if kind in _TIMED:
            self._time = self._time or first
        if len(self._lines) > _MOST_LINES or (self._same >= _LEARNED and kind == self._ends_with):
            out += self._close(learn=False)
        return out

    def _close(self, *, learn: bool) -> list[Fix]:
        """Read the epoch that has come."""
        if learn:
            same = self._kinds[-1] == self._ends_with
            self._same = self._same + 1 if same else 0
            self._ends_with = self._kinds[-1]
        data, placed = b"\n".join(self._lines) + b"\n", not _PLACED.isdisjoint(self._kinds)
        self._lines, self._kinds, self._time = [], [], b""
        try:
            read = read_nmea(data, Path())
        except LogError:
            # Time and quality alone are no damage; a place that is not to be read is.
            self.damaged += placed
            return []
        bad = ("corrupt_line", "ragged_line")
        self.damaged += sum(found.count for found in read.findings if found.code in bad)
        # One epoch is one row; more only where a time was damaged and yet fits its checksum.
        lat, lon = float(read.lat_deg[-1]), float(read.lon_deg[-1])
        no_fix = read.no_fix is not None and bool(read.no_fix[-1])
        time_s = self._moment(int(read.time_ns[-1]), dated=read.has_date)
        if no_fix or not np.isfinite([lat, lon, time_s]).all():
            self.without_position += 1
            return []
        measure = {name: float(values[-1]) for name, values in read.measures.items()}
        speed = NAN if read.speed is None else float(read.speed[-1]) * SPEED_UNITS["knots"]
        return [
            Fix(
                time_s, lat, lon, speed, measure.get("course_deg", NAN),
                measure.get("position_sd_m", NAN), self._day_s is not None,
                measure.get("hdop", NAN),
            )
        ]  # fmt: skip

    def _moment(self, time_ns: int, *, dated: bool) -> float:
        """Seconds since 1970 as soon as a date has come, else since the first midnight."""
        if time_ns < 0:
            return NAN
        of_day_s = (time_ns / 1e9) % _DAY_S
        if dated:
            self._day_s = time_ns / 1e9 - of_day_s
            self._last_s = time_ns / 1e9
            return self._last_s
        moment = (self._day_s or 0.0) + of_day_s
        # Without a date midnight is a fall by a day.
        if moment < self._last_s - 0.5 * _DAY_S:
            moment += _DAY_S * round((self._last_s - moment) / _DAY_S)
        self._last_s = moment
        return moment
