"""
The grammar of GPX 1.1 as far as it concerns a log: order of elements, ranges, values.

Facts of the schema at http://www.topografix.com/GPX/1/1/gpx.xsd, read into tables.  A file that
breaks them is still read where its meaning is plain; what it breaks is reported.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding

GPX_1_1 = "http://www.topografix.com/GPX/1/1"
GPX_1_0 = "http://www.topografix.com/GPX/1/0"

_POINT = (
    "ele time magvar geoidheight name cmt desc src link sym type fix sat hdop vdop pdop "
    "ageofdgpsdata dgpsid extensions"
).split()
ORDER = {
    "gpx": "metadata wpt rte trk extensions".split(),
    "metadata": "name desc author copyright link time keywords bounds extensions".split(),
    "trk": "name cmt desc src link number type extensions trkseg".split(),
    "rte": "name cmt desc src link number type extensions rtept".split(),
    "trkseg": ["trkpt", "extensions"],
    "trkpt": _POINT,
    "rtept": _POINT,
    "wpt": _POINT,
}
"""Children of each element in their order (`gpx.xsd`, complex types)."""

_DECIMAL = re.compile(r"\s*[-+]?(\d+(\.\d*)?|\.\d+)\s*")
_STAMP = re.compile(
    r"\s*\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])T"
    r"(([01]\d|2[0-3]):[0-5]\d:[0-5]\d(\.\d+)?|24:00:00(\.0+)?)(Z|[+-]\d\d:\d\d)?\s*"
)
_FIXES = frozenset(("none", "2d", "3d", "dgps", "pps"))


def _number(low: float, high: float, high_allowed: bool) -> Callable[[str], bool]:
    """Make a check for a decimal in a range."""

    def check(text: str) -> bool:
        if _DECIMAL.fullmatch(text) is None:
            return False
        value = float(text)
        return low <= value < high or (high_allowed and value == high)

    return check


def _is_stamp(text: str) -> bool:
    """Tell an xsd:dateTime: hour 24 and no zone are allowed, second 60 is not."""
    return _STAMP.fullmatch(text) is not None


_INF = float("inf")
VALUES: dict[str, Callable[[str], bool]] = {
    "ele": _number(-_INF, _INF, True),
    "time": _is_stamp,
    "magvar": _number(0, 360, False),
    "geoidheight": _number(-_INF, _INF, True),
    "fix": lambda text: text in _FIXES,
    "sat": lambda text: re.fullmatch(r"\s*\+?\d+\s*|\s*-0+\s*", text) is not None,
    "hdop": _number(-_INF, _INF, True),
    "vdop": _number(-_INF, _INF, True),
    "pdop": _number(-_INF, _INF, True),
    "ageofdgpsdata": _number(-_INF, _INF, True),
    "dgpsid": lambda text: (
        re.fullmatch(r"\s*\+?\d{1,9}\s*", text) is not None and 0 <= int(text) <= 1023
    ),
}
"""Checks of the values of a point's children, GPX 1.1."""

LATITUDE = _number(-90, 90, True)
LONGITUDE = _number(-180, 180, False)
LONGITUDE_1_0 = _number(-180, 180, True)


@dataclass(eq=False)
class Breaches:
    """What breaks the grammar: for each kind of breach the lines."""

    lines: dict[str, list[int]] = field(default_factory=dict)
    example: dict[str, str] = field(default_factory=dict)

    def add(self, what: str, line: int, example: str = "") -> None:
        """Note a breach."""
        self.lines.setdefault(what, []).append(line)
        if example:
            self.example.setdefault(what, f" such as {example[:40]!r}")

    def findings(self) -> list[Finding]:
        """Turn the breaches into findings."""
        return [
            finding(
                "gpx_grammar",
                f"not as GPX says: {what}{self.example.get(what, '')}; read all the same",
                np.array(lines),
            )
            for what, lines in self.lines.items()
        ]
