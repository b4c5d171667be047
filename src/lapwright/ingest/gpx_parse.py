"""
GPX by a real XML parser: every point, its values as text, and what breaks the grammar.

The parser is expat with document types and entities refused, as they can blow up to any size.
Names are compared without their prefix, so extensions of any maker are read by their
local name.
"""

from dataclasses import dataclass, field
from xml.parsers import expat

from lapwright.ingest import gpx_grammar as grammar
from lapwright.ingest.gpx_grammar import Breaches

_POINTS = frozenset(("trkpt",))


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
    lat, lon : list of str or None
    values : dict
        From child's local name to (point numbers, texts).
    other_points : int
        Points of routes and waypoints.
    """

    line: list[int] = field(default_factory=list)
    segment: list[int] = field(default_factory=list)
    lat: list[str | None] = field(default_factory=list)
    lon: list[str | None] = field(default_factory=list)
    values: dict[str, tuple[list[int], list[str]]] = field(default_factory=dict)
    breaches: Breaches = field(default_factory=Breaches)
    other_points: int = 0
    segments: int = 0
    is_gpx: bool = False
    error: str = ""
    error_line: int = 0


class _Handler:
    """The state of a parse."""

    def __init__(self, parser: expat.XMLParserType, points: Points) -> None:
        self.parser, self.points = parser, points
        self.stack: list[str] = []
        self.rank: list[int] = []
        self.namespace = ""
        self.text: list[str] = []
        self.in_point = False
        self.depth_of_point = 0
        self.in_extensions = 0
        self.had_child = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Open an element."""
        space, _, local = name.rpartition(" ")
        if not space and ":" in local:
            local = local.rpartition(":")[2]
        if not self.stack:
            self._root(space, local, attributes)
        elif self.namespace == grammar.GPX_1_1:
            self._check_child(space, local)
        self.stack.append(local)
        self.rank.append(-1)
        self.text.clear()
        self.had_child = False
        if local == "extensions":
            self.in_extensions += 1
        elif local == "trkseg":
            self.points.segments += 1
        elif local == "trkpt":
            self._point(attributes)
        elif local in ("rtept", "wpt"):
            self.points.other_points += 1

    def _root(self, space: str, local: str, attributes: dict[str, str]) -> None:
        """Look at the root element."""
        line = self.parser.CurrentLineNumber
        self.namespace = space
        self.points.is_gpx = local == "gpx"
        note = self.points.breaches.add
        if space not in (grammar.GPX_1_0, grammar.GPX_1_1):
            note("the root element is in no GPX name space", line)
        if "creator" not in attributes:
            note("no creator is named", line)
        wanted = "1.0" if space == grammar.GPX_1_0 else "1.1"
        if attributes.get("version") != wanted:
            note(f"the version is {attributes.get('version', 'missing')}, not {wanted}", line)

    def _check_child(self, space: str, local: str) -> None:
        """Compare an element with the order its parent allows."""
        line = self.parser.CurrentLineNumber
        if self.in_extensions:
            if space in ("", self.namespace):
                what = f"<{local}> in <extensions> has no name space of its own"
                self.points.breaches.add(what, line)
            return
        parent = self.stack[-1]
        order = grammar.ORDER.get(parent)
        if order is None:
            return
        if space != self.namespace or local not in order:
            self.points.breaches.add(f"<{parent}> holds <{local}>", line)
            return
        place = order.index(local)
        if place < self.rank[-1]:
            what = f"<{local}> in <{parent}> stands behind <{order[self.rank[-1]]}>"
            self.points.breaches.add(what, line)
        self.rank[-1] = max(place, self.rank[-1])

    def _point(self, attributes: dict[str, str]) -> None:
        """Begin a track point."""
        points = self.points
        self.in_point, self.depth_of_point = True, len(self.stack)
        lat, lon = attributes.get("lat"), attributes.get("lon")
        points.line.append(self.parser.CurrentLineNumber)
        points.segment.append(points.segments)
        points.lat.append(lat)
        points.lon.append(lon)
        lon_check = (
            grammar.LONGITUDE_1_0 if self.namespace == grammar.GPX_1_0 else grammar.LONGITUDE
        )
        if lat is None or not grammar.LATITUDE(lat):
            points.breaches.add("a latitude is missing or wrong", points.line[-1])
        if lon is None or not lon_check(lon):
            points.breaches.add("a longitude is missing or wrong", points.line[-1])

    def end(self, name: str) -> None:
        """Close an element; keep the text of a leaf inside a point."""
        local = self.stack.pop()
        self.rank.pop()
        if local == "extensions":
            self.in_extensions -= 1
        if self.in_point:
            if len(self.stack) < self.depth_of_point:
                self.in_point = False
            elif not self.had_child:
                text = "".join(self.text).strip()
                self._leaf(local, text)
        self.had_child = True

    def _leaf(self, local: str, text: str) -> None:
        """Keep a value of the point at hand; the first of a name wins."""
        index = len(self.points.line) - 1
        where, texts = self.points.values.setdefault(local, ([], []))
        if where and where[-1] == index:
            return
        where.append(index)
        texts.append(text)
        if len(self.stack) == self.depth_of_point and self.namespace == grammar.GPX_1_1:
            check = grammar.VALUES.get(local)
            if check is not None and not check(text):
                what = f"a value of <{local}>"
                self.points.breaches.add(what, self.parser.CurrentLineNumber, text)

    def characters(self, text: str) -> None:
        """Collect text inside points."""
        if self.in_point:
            self.text.append(text)


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
    encoding = None
    try:
        data.decode("utf-8")
        encoding = "utf-8"
    except UnicodeDecodeError:
        if b"encoding" not in data[:200]:
            encoding = "iso-8859-1"
    points = Points()
    parser = expat.ParserCreate(encoding, separator)
    parser.buffer_text = True
    handler = _Handler(parser, points)
    parser.StartElementHandler = handler.start
    parser.EndElementHandler = handler.end
    parser.CharacterDataHandler = handler.characters
    parser.StartDoctypeDeclHandler = _refuse
    parser.EntityDeclHandler = _refuse
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        points.error = expat.ErrorString(error.code)
        points.error_line = error.lineno
        if separator is None and handler.namespace == "":
            points.is_gpx = points.is_gpx or b"<gpx" in data[:4000]
    return points


def _refuse(*_: object) -> None:
    """Refuse a document type."""
    raise UnsafeXmlError
