"""
The grammar of GPX 1.1 as far as it concerns a log: order of elements, ranges, values.

Facts of the schema at http://www.topografix.com/GPX/1/1/gpx.xsd, read into tables.  A file that
breaks them is still read where its meaning is plain; what it breaks is reported.
"""

import re
from dataclasses import dataclass, field

import numpy as np

from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding

GPX_1_1 = "http://www.topografix.com/GPX/1/1"
GPX_1_0 = "http://www.topografix.com/GPX/1/0"

_POINT = [
    "ele",
    "time",
    "magvar",
    "geoidheight",
    "name",
    "cmt",
    "desc",
    "src",
    "link",
    "sym",
    "type",
    "fix",
    "sat",
    "hdop",
    "vdop",
    "pdop",
    "ageofdgpsdata",
    "dgpsid",
    "extensions",
]
ORDER = {
    "gpx": ["metadata", "wpt", "rte", "trk", "extensions"],
    "metadata": [
        "name",
        "desc",
        "author",
        "copyright",
        "link",
        "time",
        "keywords",
        "bounds",
        "extensions",
    ],
    "trk": ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "trkseg"],
    "rte": ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "rtept"],
    "trkseg": ["trkpt", "extensions"],
    "trkpt": _POINT,
    "rtept": _POINT,
    "wpt": _POINT,
}
"""Children of each element in their order (`gpx.xsd`, complex types)."""

# Possessive, so that a long text which does not fit is given up at once.
_DECIMAL = r"[ \t]*+[-+]?(?:\d++(?:\.\d*+)?|\.\d++)[ \t]*+"
_STAMP = (
    r"\s*+\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])T"
    r"(?:(?:[01]\d|2[0-3]):[0-5]\d:[0-5]\d(?:\.\d+)?|24:00:00(?:\.0+)?)"
    r"(?:Z|[+-]\d\d:\d\d)?\s*+"
)


@dataclass(frozen=True, slots=True)
class Rule:
    """
    What a text must be: a pattern, and for numbers a range.

    Attributes
    ----------
    pattern : str
    low, high : float
        Both ends allowed, unless `half_open`.
    half_open : bool
        The upper end is not allowed.
    """

    pattern: str
    low: float = -np.inf
    high: float = np.inf
    half_open: bool = False

    def broken(self, texts: list[str]) -> list[int]:
        """Numbers of the texts that break the rule."""
        ranged = np.isfinite(self.low) or np.isfinite(self.high)
        # Parted by what no XML can hold and no pattern takes: else there were 2^n ways to try.
        if re.fullmatch(rf"(?:{self.pattern}\0)*+", "\0".join(texts) + "\0" if texts else ""):
            if not ranged:
                return []
            value = np.array(texts, np.float64) if texts else np.zeros(0)
            outside = (value < self.low) | (value > self.high)
            if self.half_open:
                outside |= value == self.high
            return [int(index) for index in np.flatnonzero(outside)]
        good = [re.fullmatch(self.pattern, text) is not None for text in texts]
        out = [index for index, fits in enumerate(good) if not fits]
        rest = [index for index, fits in enumerate(good) if fits]
        if ranged and rest:
            out += [rest[index] for index in self.broken([texts[index] for index in rest])]
        return sorted(out)


VALUES = {
    "ele": Rule(_DECIMAL),
    "time": Rule(_STAMP),
    "magvar": Rule(_DECIMAL, 0, 360, half_open=True),
    "geoidheight": Rule(_DECIMAL),
    "fix": Rule("(?:none|2d|3d|dgps|pps)"),
    "sat": Rule(r"\s*+(?:\+?\d++|-0++)\s*+"),
    "hdop": Rule(_DECIMAL),
    "vdop": Rule(_DECIMAL),
    "pdop": Rule(_DECIMAL),
    "ageofdgpsdata": Rule(_DECIMAL),
    "dgpsid": Rule(r"\s*+\+?\d{1,9}+\s*+", 0, 1023),
}
"""Types of a point's children, GPX 1.1."""

LATITUDE = Rule(_DECIMAL, -90, 90)
LONGITUDE = Rule(_DECIMAL, -180, 180, half_open=True)
LONGITUDE_1_0 = Rule(_DECIMAL, -180, 180)


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
