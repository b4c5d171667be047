"""
GPX by a real XML parser: every point, its values as text, and what breaks the grammar.

The parser is expat with document types and entities refused, as they can blow up to any size.
Names are compared without their prefix, so extensions of any maker are read by their
local name.
"""

import re
from dataclasses import dataclass, field
from xml.parsers import expat

import numpy as np

from lapwright.ingest.gpx import grammar as grammar
from lapwright.ingest.gpx.grammar import Breaches

# What XML is written in: sets of letters by number, and the large ones of the Far East.
_ENCODING = re.compile(
    r"(?:iso-?8859|windows|cp|ibm|koi8|mac|shift|euc|gb|big|utf-8|us-ascii)[\w-]*"
)


class UnsafeXmlError(Exception):
    """The document declares a document type or entities."""


@dataclass(eq=False)
class Points:
    """
    The points of the tracks, as text.

    Attributes
    ----------
    line, segment : list of int
        Line of each point, number of its segment.
    lat, lon : list of str
    leaves : dict
        From a child's local name, with ``extensions/`` before it where it stands in one,
        to (point numbers, texts).
    other_points : int
        Points of routes and waypoints.
    """

    line: list[int] = field(default_factory=list)
    segment: list[int] = field(default_factory=list)
    lat: list[str] = field(default_factory=list)
    lon: list[str] = field(default_factory=list)
    leaves: dict[str, tuple[list[int], list[str]]] = field(default_factory=dict)
    breaches: Breaches = field(default_factory=Breaches)
    other_points: int = 0
    segments: int = 0
    namespace: str = ""
    is_gpx: bool = False
    error: str = ""
    error_line: int = 0


class _Handler:
    """The state of a parse; little work an element, as there are hundreds of thousands."""

    def __init__(self, parser: expat.XMLParserType, points: Points) -> None:
        self.parser, self.points = parser, points
        self.locals: dict[str, str] = {}
        self.verdicts: dict[tuple[str, int, str, bool], tuple[int, str]] = {}
        self.stack: list[str] = []
        self.rank: list[int] = []
        self.namespace = ""
        self.text: list[str] = []
        self.depth_of_point = 0
        self.in_extensions = 0
        self.had_child = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Open an element."""
        local = self.locals.get(name)
        if local is None:
            local = self.locals[name] = name.rpartition(" ")[2].rpartition(":")[2]
        if not self.stack:
            self._root(name.rpartition(" ")[0], local, attributes)
        elif self.namespace == grammar.GPX_1_1:
            key = (self.stack[-1], self.rank[-1], name, self.in_extensions > 0)
            verdict = self.verdicts.get(key)
            if verdict is None:
                verdict = self.verdicts[key] = self._judge(name.rpartition(" ")[0], local)
            self.rank[-1] = verdict[0]
            if verdict[1]:
                self.points.breaches.add(verdict[1], self.parser.CurrentLineNumber)
        self.stack.append(local)
        self.rank.append(-1)
        self.text.clear()
        self.had_child = False
        if local == "trkpt":
            points = self.points
            self.depth_of_point = len(self.stack)
            points.line.append(self.parser.CurrentLineNumber)
            points.segment.append(points.segments)
            points.lat.append(attributes.get("lat", ""))
            points.lon.append(attributes.get("lon", ""))
        elif local == "extensions":
            self.in_extensions += 1
        elif local == "trkseg":
            self.points.segments += 1
        elif local in ("rtept", "wpt"):
            self.points.other_points += 1

    def _root(self, space: str, local: str, attributes: dict[str, str]) -> None:
        """Look at the root element."""
        line = self.parser.CurrentLineNumber
        self.namespace = self.points.namespace = space
        self.points.is_gpx = local == "gpx"
        note = self.points.breaches.add
        if space not in (grammar.GPX_1_0, grammar.GPX_1_1):
            note("the root element is in no GPX name space", line)
        if "creator" not in attributes:
            note("no creator is named", line)
        wanted = "1.0" if space == grammar.GPX_1_0 else "1.1"
        if attributes.get("version") != wanted:
            note(f"the version is {attributes.get('version', 'missing')}, not {wanted}", line)

    def _judge(self, space: str, local: str) -> tuple[int, str]:
        """Compare an element with the order its parent allows: its place, and what is wrong."""
        rank, parent = self.rank[-1], self.stack[-1]
        if self.in_extensions:
            if space in ("", self.namespace):
                return rank, f"<{local}> in <extensions> has no name space of its own"
            return rank, ""
        order = grammar.ORDER.get(parent)
        if order is None:
            return rank, ""
        if space != self.namespace or local not in order:
            return rank, f"<{parent}> holds <{local}>"
        place = order.index(local)
        if place < rank:
            return rank, f"<{local}> in <{parent}> stands behind <{order[rank]}>"
        return place, ""

    def end(self, _: str) -> None:
        """Close an element; keep the text of a leaf inside a point."""
        local = self.stack.pop()
        self.rank.pop()
        if local == "extensions":
            self.in_extensions -= 1
        if self.depth_of_point:
            if local == "trkpt" and len(self.stack) < self.depth_of_point:
                self.depth_of_point = 0
            elif not self.had_child:
                # The first of a name wins, and the point's own before an extension's.
                where, texts = self.points.leaves.setdefault(
                    f"extensions/{local}" if self.in_extensions else local, ([], [])
                )
                index = len(self.points.line) - 1
                if not where or where[-1] != index:
                    where.append(index)
                    texts.append("".join(self.text))
        self.had_child = True


def parse_points(data: bytes) -> Points:
    """
    Parse a GPX document as far as it goes.

    Raises
    ------
    UnsafeXmlError
        If it declares a document type or an entity.
    """
    points = _parse(data, " ")
    if "unbound prefix" in points.error:
        line = points.error_line
        points = _parse(data, None)
        points.breaches.add("a prefix is not bound to a name space", line)
    return points


def _parse(data: bytes, separator: str | None) -> Points:
    """Run expat."""
    points = Points()
    parser = expat.ParserCreate("utf-8", separator)
    parser.buffer_text = True
    handler = _Handler(parser, points)
    parser.StartElementHandler = handler.start
    parser.EndElementHandler = handler.end
    parser.CharacterDataHandler = handler.text.append
    parser.StartDoctypeDeclHandler = _refuse
    parser.EntityDeclHandler = _refuse
    try:
        parser.Parse(as_utf_8(data), True)
    except expat.ExpatError as error:
        points.error = expat.ErrorString(error.code)
        points.error_line = error.lineno
    _check_values(points)
    return points


def as_utf_8(data: bytes) -> bytes:
    """Bring the document to UTF-8: it is, or says what it is, or is taken for latin-1."""
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        declared = re.search(rb"""<\?xml[^>]*encoding=["']([\w.-]+)["']""", data[:300])
        name = declared[1].decode("ascii").lower() if declared else "iso-8859-1"
        # Python knows more names: some are no encodings of letters, one takes n^2 steps.
        if _ENCODING.fullmatch(name):
            try:
                return data.decode(name).encode("utf-8")
            except (LookupError, UnicodeError):
                pass
        return data.decode("iso-8859-1").encode("utf-8")
    return data


def _check_values(points: Points) -> None:
    """Hold coordinates and values against the types of the schema, a column at a time."""
    if points.namespace not in (grammar.GPX_1_0, grammar.GPX_1_1):
        return
    is_1_0 = points.namespace == grammar.GPX_1_0
    line = np.array(points.line, np.int64)
    for texts, rule, name in (
        (points.lat, grammar.LATITUDE, "latitude"),
        (points.lon, grammar.LONGITUDE_1_0 if is_1_0 else grammar.LONGITUDE, "longitude"),
    ):
        for index in rule.broken(texts):
            points.breaches.add(f"a {name} is missing or wrong", points.line[index], texts[index])
    if is_1_0:
        return
    for name, rule in grammar.VALUES.items():
        where, texts = points.leaves.get(name, ([], []))
        for index in rule.broken(texts):
            at = int(line[where[index]])
            points.breaches.add(f"a value of <{name}>", at, texts[index])


def _refuse(*_: object) -> None:
    """Refuse a document type."""
    raise UnsafeXmlError
