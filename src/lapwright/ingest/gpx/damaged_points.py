"""
What is whole in a GPX document that is not: its points one by one, without the damaged ones.

An XML parser stops at the first character that is wrong, and one flipped bit would cost the rest of
a session.  So the document is cut into its points, each is looked at on its own, and a document is
put together from those that are well formed; a damaged one leaves its line feeds, so that the line
numbers stay.  Points are written alike: of each way of writing one only the first is parsed.
"""

import re
from xml.parsers import expat

_OPEN = re.compile(rb"<(?:\w+:)?trkpt[\s>]")
_CLOSE = re.compile(rb"</(?:\w+:)?trkpt\s*>")
_BETWEEN = re.compile(rb"\s*(?:</(?:\w+:)?trkseg\s*>\s*<(?:\w+:)?trkseg\s*>\s*)*")
_VALUES = re.compile(rb'"[^"<>&]*"|(?<=>)[^<>&]+(?=<)')
# XML 1.0, section 2.2: the characters a document may not hold.
_FORBIDDEN = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f]")


def whole_points(data: bytes) -> tuple[bytes, list[int]] | None:
    """
    Put a document together from the points that are well formed.

    Parameters
    ----------
    data : bytes
        A document that is not well formed.

    Returns
    -------
    data : bytes
        With the lines of the old one.
    damaged : list of int
        Lines of which something was left out, from 1.  None in place of both where there is no
        point, or what stands before the first is damaged itself.
    """
    starts = [match.start() for match in _OPEN.finditer(data)]
    if not starts:
        return None
    closing = _closing_tags(data[: starts[0]])
    if closing is None:
        return None
    pieces, line = [data[: starts[0]]], 1 + data.count(b"\n", 0, starts[0])
    damaged: list[int] = []
    known: dict[bytes, bool] = {}
    for start, stop in zip(starts, [*starts[1:], len(data)], strict=True):
        end = _CLOSE.search(data, start, stop)
        cut = stop if end is None else end.end()
        point, between = data[start:cut], data[cut:stop]
        for piece, good in (
            (point, end is not None and _is_whole(point, known)),
            # Behind the last point all is closed below, whatever stands there.
            (between, stop == len(data) or _BETWEEN.fullmatch(between) is not None),
        ):
            feeds = piece.count(b"\n")
            pieces.append(piece if good else b"\n" * feeds)
            if not good:
                lead = feeds - piece.lstrip().count(b"\n")
                damaged += range(line + lead, line + piece.rstrip().count(b"\n") + 1)
            line += feeds
    pieces[-1] = closing
    return b"".join(pieces), damaged


def _is_whole(point: bytes, known: dict[bytes, bool]) -> bool:
    """Tell a point that is well formed; `known` holds the verdict on each way of writing one."""
    if _FORBIDDEN.search(point):
        return False
    way = _VALUES.sub(b'""', point)
    verdict = known.get(way)
    if verdict is None:
        parser = expat.ParserCreate("utf-8")
        try:
            parser.Parse(point, True)
            verdict = True
        except expat.ExpatError:
            verdict = False
        known[way] = verdict
    return verdict


def _closing_tags(head: bytes) -> bytes | None:
    """End tags of what is open before the first point; None where that is damaged."""
    stack: list[str] = []
    parser = expat.ParserCreate("utf-8")
    parser.StartElementHandler = lambda name, _: stack.append(name)
    parser.EndElementHandler = lambda _: stack.pop()
    try:
        parser.Parse(head, False)
    except expat.ExpatError:
        return None
    return "".join(f"</{name}>" for name in reversed(stack)).encode() + b"\n"
