"""The reader of GPX 1.0 and 1.1: from bytes to a `Recording`."""

from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.errors import LogError
from lapwright.ingest.csv.header_words import Header, read_header
from lapwright.ingest.csv.table import Column, Table, load_numbers, sample_columns
from lapwright.ingest.gpx.damaged_points import whole_points
from lapwright.ingest.gpx.parse import Points, UnsafeXmlError, as_utf_8, parse_points
from lapwright.ingest.gpx.uniform_points import Block, shortcut
from lapwright.ingest.log import ColumnReading, Finding
from lapwright.ingest.recording import Recording, finding
from lapwright.ingest.time.scales import NO_TIME, Bools, Floats, Ints
from lapwright.ingest.time.timestamps import Stamps, cells_from_texts, parse
from lapwright.ingest.units import in_a_turn

_MEASURES = {
    "ele": "height_m",
    "sat": "satellites",
    "hdop": "hdop",
    "course": "course_deg",
    "heading": "course_deg",
    "bearing": "course_deg",
    "cog": "course_deg",
}
_NUMBERS = frozenset((*_MEASURES, "lat", "lon", "speed", "vdop", "pdop", "magvar", "geoidheight"))
_NO_CHANNEL = frozenset(
    [
        "lat",
        "lon",
        "time",
        "fix",
        "name",
        "cmt",
        "desc",
        "src",
        "link",
        "sym",
        "type",
        "text",
        "href",
        "url",
        "urlname",
    ]
)
_DRIVER = ("throttle", "brake", "steering", "rpm", "gear")


def read_gpx(data: bytes, path: Path) -> Recording:
    """
    Read a GPX document; all its tracks and segments, one after the other.

    Raises
    ------
    LogError
        If it is no XML, unsafe, or has no track points.
    """
    try:
        quick, points = _parsed(data)
        whole, error_line = None, points.error_line
        if points.error and not _is_cut(points):
            whole = whole_points(as_utf_8(data))
        if whole is not None:
            quick, points = _parsed(whole[0])
    except UnsafeXmlError:
        what = "the file declares a document type or entities, which a GPX log never needs"
        raise LogError(what, path, hint="Export the log again") from None
    notes = points.breaches.findings()
    if whole is not None and points.line:
        text = "the XML is damaged in these lines; they were left out"
        # Where only what stands behind the last point is damaged, no point's lines are.
        lines = np.array(whole[1] or [error_line], np.int64)
        notes.append(finding("damaged_xml", text, lines))
    if points.error:
        _say_error(points, path, notes)
    if not points.line:
        raise _no_points(points, path)
    if quick:
        return _from_blocks(quick[0], notes, path)
    return _from_points(points, notes)


def _parsed(data: bytes) -> tuple[tuple[list[Block], bytes] | None, Points]:
    """Parse a document, by the shortcut where that is safe."""
    quick = shortcut(data)
    points = parse_points(quick[1] if quick else data)
    if quick and (points.error or len(points.line) != len(quick[0])):
        quick, points = None, parse_points(data)
    return quick, points


def _is_cut(points: Points) -> bool:
    """Tell a document that only lacks its end."""
    return points.error in ("no element found", "unclosed token", "unclosed CDATA section")


def _say_error(points: Points, path: Path, notes: list[Finding]) -> None:
    """Report XML that breaks off or is broken; raise where that leaves nothing."""
    if not points.line:
        what = f"the XML is damaged ({points.error})"
        raise LogError(what, path, points.error_line, "Copy it from the logger again")
    at = np.array([points.error_line])
    if _is_cut(points):
        text = "the file is cut off; read up to its end"
        notes.append(finding("truncated_end", text, at))
    else:
        text = f"the XML is damaged here ({points.error}); what follows was not read"
        notes.append(finding("damaged_xml", text, at))


def _no_points(points: Points, path: Path) -> LogError:
    """Say why there is nothing to read."""
    what = "there is no track in this GPX file"
    if not points.is_gpx:
        what = "this XML file is not GPX"
    elif points.other_points:
        count = points.other_points
        what = f"there are {count} waypoints or route points but no track in this GPX file"
    return LogError(what, path, hint="Export the recorded track, with its times")


def _from_blocks(blocks: list[Block], notes: list[Finding], path: Path) -> Recording:
    """Put the tables of the shortcut together."""
    names = blocks[0].names
    headers = tuple(Header(name, None, None, (name,)) for name in names)
    parts: list[dict[str, Floats]] = []
    stamps: list[Stamps | None] = []
    texts: list[dict[str, pd.Series]] = []
    for block in blocks:
        table = Table(block.structure, sample_columns(block.structure, headers, "."), ",", "utf-8")
        for column in table.columns:
            if column.header.name.lower() in _NUMBERS:
                column.kind = "number"
        numbers = [
            column
            for column in table.columns
            if column.header.name not in ("time", "fix") and column.kind != "text"
        ]
        load_numbers(table, numbers)
        parts.append({c.header.name: c.numbers for c in numbers if c.numbers is not None})
        stamps.append(
            parse(block.structure.cells(names.index("time"))) if "time" in names else None
        )
        texts.append({c.header.name: _words(table, c) for c in table.columns if c.numbers is None})
        _say_wrong(table, block, notes)
    count = [len(block.line) for block in blocks]
    line = np.concatenate([block.line for block in blocks])
    values = {
        name: np.concatenate(
            [part.get(name, np.full(size, np.nan)) for part, size in zip(parts, count, strict=True)]
        )
        for name in names
        if any(name in part for part in parts)
    }
    time_ns = np.concatenate(
        [
            stamp.value_ns if stamp is not None else np.full(size, NO_TIME)
            for stamp, size in zip(stamps, count, strict=True)
        ]
    )
    zoned = all(stamp is None or stamp.zone for stamp in stamps)
    words = {
        name: pd.concat([text[name] for text in texts], ignore_index=True)
        for name in names
        if name != "time" and all(name in text for text in texts)
    }
    segment = np.repeat(np.arange(len(blocks)), count)
    return _recording(line, segment, time_ns, zoned, values, words, notes)


def _words(table: Table, column: Column) -> "pd.Series":
    """A column of words, as text."""
    if column.header.name == "time":
        return pd.Series(dtype="str")
    cells = table.structure.cells(column.index)
    raw = np.ascontiguousarray(cells).view(f"S{cells.shape[1]}").ravel()
    return pd.Series(np.char.strip(np.char.decode(raw, "utf-8", "replace")), dtype="str")


def _say_wrong(table: Table, block: Block, notes: list[Finding]) -> None:
    """Check what the schema says about numbers, for all points at once."""
    for column in table.columns:
        name, value = column.header.name, column.numbers
        if value is None:
            continue
        if column.unreadable is not None and column.unreadable.any():
            text = f"not as GPX says: values of <{name}> that are not numbers; read as blank"
            notes.append(finding("gpx_grammar", text, block.line[column.unreadable]))
        limit = {"lat": (-90, 90), "lon": (-180, 180), "dgpsid": (0, 1023), "magvar": (0, 360)}
        low, high = limit.get(name, (0 if name == "sat" else -np.inf, np.inf))
        with np.errstate(invalid="ignore"):
            wrong = (value < low) | (value > high)
        if name in ("lon", "magvar"):
            wrong |= value == high
        if wrong.any():
            text = f"not as GPX says: values of <{name}> out of range"
            notes.append(finding("gpx_grammar", text, block.line[wrong]))


def _from_points(points: Points, notes: list[Finding]) -> Recording:
    """Turn the texts of the XML parser into columns."""
    count = len(points.line)
    values = {"lat": _numbers(points.lat), "lon": _numbers(points.lon)}
    words: dict[str, pd.Series] = {}
    time_ns, zoned = np.full(count, NO_TIME, np.int64), True
    ordered = sorted(points.leaves.items(), key=lambda item: item[0].startswith("extensions/"))
    for key, (where, texts) in ordered:
        name = key.removeprefix("extensions/")
        if name == "time":
            if key != name:
                continue
            stamps = parse(cells_from_texts(texts))
            if stamps is not None and stamps.has_date:
                time_ns[where] = stamps.value_ns
                zoned = bool(stamps.zone)
            continue
        numbers = _numbers(texts)
        if np.isfinite(numbers).sum() * 2 >= len(texts):
            full = np.full(count, np.nan)
            full[where] = numbers
            values.setdefault(name, full)
        else:
            series = pd.Series(pd.NA, index=range(count), dtype="str")
            series.iloc[where] = texts
            words[name] = series
    line, segment = np.array(points.line, np.int64), np.array(points.segment, np.int64)
    return _recording(line, segment, time_ns, zoned, values, words, notes)


def _numbers(texts: list[str]) -> Floats:
    """Turn texts into floats; NaN where one is none."""
    try:
        return np.array([text or "nan" for text in texts], np.float64)
    except ValueError:
        column = pd.Series(texts, dtype="object")
        return np.asarray(pd.to_numeric(column, errors="coerce").to_numpy(np.float64))


def _recording(
    line: Ints,
    segment: Ints,
    time_ns: Ints,
    zoned: bool,
    values: dict[str, Floats],
    words: dict[str, "pd.Series"],
    notes: list[Finding],
) -> Recording:
    """Give the columns of a GPX track their meaning."""
    recording = Recording(
        "gpx",
        line,
        time_ns,
        "utc",
        values.get("lat", np.full(len(line), np.nan)),
        values.get("lon", np.full(len(line), np.nan)),
        True,
        no_fix=_no_fix(words),
        block=segment if len(segment) and segment[-1] != segment[0] else None,
        findings=notes,
    )
    if not zoned:
        text = "the time stamps name no zone; read as if they were UTC, as GPX means them"
        notes.append(finding("time_zone_assumed", text))
    if recording.block is not None:
        text = f"the track is in {len(np.unique(segment))} segments; read one after the other"
        notes.append(finding("segments", text))
    timed = float((time_ns != NO_TIME).mean())
    recording.columns.append(ColumnReading("time", "time", None, timed))
    for name, value in values.items():
        _take(recording, name, value)
    for name, series in words.items():
        if name not in _NO_CHANNEL:
            recording.channels[name] = series
            recording.channel_units[name] = None
            filled = float(series.notna().mean())
            recording.columns.append(ColumnReading(name, "channel", None, filled))
    return recording


def _take(recording: Recording, name: str, value: Floats) -> None:
    """Put one column of numbers where it belongs."""
    filled = float(np.isfinite(value).mean())
    head = read_header(name)
    # Extensions write their names in any case.
    low = name.lower()
    read_as, unit = _MEASURES.get(low), None
    if name in ("lat", "lon"):
        read_as, unit = {"lat": "latitude", "lon": "longitude"}[name], "deg"
    elif low == "speed" and recording.speed is None:
        recording.speed, recording.speed_unit, read_as, unit = value, "m/s", "speed", "m/s"
    elif read_as is not None and read_as not in recording.measures:
        recording.measures[read_as] = in_a_turn(value) if read_as == "course_deg" else value
    elif head.role == "position_sd":
        # A horizontal accuracy is the root of both axes' squares: one axis is 1/sqrt 2.
        recording.measures["position_sd_m"] = value / np.sqrt(2)
        read_as = "position_sd"
    else:
        read_as = head.role if head.role in _DRIVER else "channel"
        recording.channels[name] = pd.Series(value)
        recording.channel_units[name] = None
        if head.role in _DRIVER:
            recording.roles[head.role or ""] = name
    recording.columns.append(ColumnReading(name, read_as, unit, filled))


def _no_fix(words: dict[str, "pd.Series"]) -> Bools | None:
    """Points that say they are no fix."""
    if "fix" not in words:
        return None
    return np.asarray(words["fix"].eq("none").fillna(False).to_numpy(), np.bool_)
