"""
A proven shortcut for GPX: loggers write every point alike.

The literal text between the values of the first point is taken out of the whole block of
points, which leaves a table for the readers of delimited text.  What is left is the
proof: if each piece of markup occurs once a point, and no markup remains, then
every point has the same elements in the same order.  Else the XML parser does the work.
"""

import re
from dataclasses import dataclass

import numpy as np

from lapwright.ingest.csv.structure import Structure, scan
from lapwright.ingest.time.scales import Ints

_SEGMENT = re.compile(rb"<(?:\w+:)?trkseg(?:\s[^>]*)?>$")
_OPEN = re.compile(rb"<(?:\w+:)?trkpt[\s>]")
_PIECE = re.compile(rb'"([^"<>]*)"|>([^<>]+)<')
_MAX_SEGMENTS = 300
# A tag longer than this is left to the parser. [bytes]
_LONGEST_TAG = 1000


@dataclass(eq=False)
class Block:
    """A block of points as a table."""

    names: list[str]
    structure: Structure
    line: Ints
    skeleton: tuple[int, int]


def shortcut(data: bytes) -> tuple[list[Block], bytes] | None:
    """
    Turn all points into tables, if every one is written like the first of its segment.

    Returns
    -------
    blocks : list of Block
        One a segment that has points.
    skeleton : bytes
        The document with one point a segment, for the XML parser to look at.
        None in place of both where the shortcut is not safe.
    """
    if b"&" in data or b"<!" in data:
        return None
    starts = _segments(data)
    if not starts:
        return None
    blocks, pieces, at = [], [], 0
    line, counted = 1, 0
    for index, start in enumerate(starts):
        stop = starts[index + 1] if index + 1 < len(starts) else len(data)
        first = _OPEN.search(data, start, stop)
        if first is None:
            continue
        end_tag = _close_tag(data, first)
        last = data.rfind(end_tag, start, stop)
        if last < 0:
            return None
        last += len(end_tag)
        line += data.count(b"\n", counted, first.start())
        counted = first.start()
        block = _block(data, first.start(), last, end_tag, line)
        if block is None:
            return None
        blocks.append(block)
        pieces.append(data[at : block.skeleton[0]])
        at = block.skeleton[1]
    pieces.append(data[at:])
    if not blocks or any(block.names != blocks[0].names for block in blocks):
        return None
    return blocks, b"".join(pieces)


def _segments(data: bytes) -> list[int]:
    """Ends of the start tags of all segments; none if there are too many of them."""
    out: list[int] = []
    at, tried = data.find(b"trkseg"), 0
    # Each segment is named twice, in its start and its end tag.
    while at >= 0 and tried <= 2 * _MAX_SEGMENTS:
        tried += 1
        end = data.find(b">", at, at + _LONGEST_TAG) + 1
        begin = data.rfind(b"<", max(at - _LONGEST_TAG, 0), at)
        if begin >= 0 and _SEGMENT.search(data[begin:end]):
            out.append(end)
        at = data.find(b"trkseg", at + 6)
    return out if at < 0 else []


def _close_tag(data: bytes, first: re.Match[bytes]) -> bytes:
    """The end tag of a point, with its prefix."""
    name = data[first.start() + 1 : first.end() - 1]
    return b"</" + name + b">"


def _block(data: bytes, start: int, stop: int, end_tag: bytes, line: int) -> Block | None:
    """Turn one block of points into a table, or give up."""
    first_end = data.find(end_tag, start, stop) + len(end_tag)
    point = data[start:first_end]
    second = data.find(b"<", first_end, stop)
    between = data[first_end:second] if second >= 0 else b""
    literals, names = _template(point)
    if literals is None or not names or len(set(names)) != len(names):
        return None
    body = data[start:stop]
    if body.find(b",") >= 0:
        return None
    seam = literals[-1] + between + literals[0]
    count = body.count(literals[0])
    body = body[len(literals[0]) : len(body) - len(literals[-1])]
    body = body.replace(seam, b"\n")
    for literal in literals[1:-1]:
        body = body.replace(literal, b",")
    if b"<" in body or b">" in body or b'"' in body or b"\r" in body:
        return None
    structure = scan(body, 0, ",", 1, len(names))
    if len(structure) != count or not structure.whole:
        return None
    lines_a_point = point.count(b"\n") + between.count(b"\n")
    return Block(
        names,
        structure,
        line + lines_a_point * np.arange(count, dtype=np.int64),
        (first_end, stop),
    )


def _template(point: bytes) -> tuple[list[bytes] | None, list[str]]:
    """Split a point into the literals around its values, and name the values."""
    literals: list[bytes] = []
    names: list[str] = []
    at = done = 0
    while (match := _PIECE.search(point, at)) is not None:
        group = 1 if match[1] is not None else 2
        if group == 2 and not match[2].strip():
            at = match.end() - 1
            continue
        before = point[: match.start(group)]
        if group == 2:
            name = re.search(rb"<([\w.:-]+)[^<>]*>$", before)
        elif before.rfind(b"<") == 0:
            name = re.search(rb"([\w.:-]+)\s*=\s*\"$", before)
        else:
            # Attributes of children are rare; the XML parser knows what to do.
            name = None
        if name is None:
            return None, []
        literals.append(point[done : match.start(group)])
        names.append(name[1].decode("utf-8", "replace").rpartition(":")[2])
        done = match.end(group)
        at = match.end() if group == 1 else done
    if names[:2] not in (["lat", "lon"], ["lon", "lat"]):
        return None, []
    literals.append(point[done:])
    return literals, names
