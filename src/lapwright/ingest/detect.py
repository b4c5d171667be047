"""
What kind of file is it?  Bytes in, kind out; every dead end is an error that says what to do.

The content decides, never the file's name: loggers call their files anything.
"""

import gzip
import io
import re
import zlib
from pathlib import Path

from lapwright.errors import LogError
from lapwright.ingest.archive import (
    ENDING,
    at_most,
    content,
    members,
    most_bytes,
    too_large,
)
from lapwright.ingest.log import Finding
from lapwright.ingest.recording import finding

_FOREIGN = (
    (b"\x89PNG", "a picture (PNG)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"GIF8", "a picture (GIF)"),
    (b"II*\x00", "a picture (TIFF)"),
    (b"MM\x00*", "a picture (TIFF)"),
    (b"BM", "a picture (BMP)"),
    (b"%PDF", "a PDF document"),
    (b"SQLite format 3", "a database"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"Rar!", "a RAR archive"),
    (b"BZh", "a bzip2 archive"),
    (b"\xfd7zXZ", "an xz archive"),
    (b"PK\x03\x04", "a ZIP archive or an office document"),
    (b"\xd0\xcf\x11\xe0", "an office document"),
    (b"\x00\x00\x00\x18ftyp", "a film"),
    (b"\x00\x00\x00\x20ftyp", "a film"),
    (b"RIFF", "a film, a sound or a picture (RIFF)"),
    (b"\x7fELF", "a program"),
    (b"MZ", "a program"),
)
WANTED = "Give a CSV, GPX or NMEA 0183 text file, plain or gzip-compressed"


def load(path: Path, notes: list[Finding] | None = None) -> bytes:
    """
    Read a file whole, unpacked, as bytes of UTF-8 or another 8-bit text.

    Parameters
    ----------
    path : Path
    notes : list of Finding, optional
        What is odd is added to it.

    Raises
    ------
    LogError
        If it is missing, a folder, empty, or no text.
    """
    if path.is_dir():
        what = "this is a folder"
        raise LogError(what, path, hint="Give one log file; `weekend` takes a folder")
    if path.suffix.lower() == ENDING and path.is_file():
        inside = members(path)
        what = "this is a ZIP archive"
        hint = f"Name the log in it: {inside[0]}" if inside else "There is no file in it"
        raise LogError(what, path, hint=hint)
    try:
        data = content(path)
    except FileNotFoundError:
        what = "there is no such file"
        raise LogError(what, path, hint="Check the name and the folder") from None
    except OSError as error:
        what = f"the file cannot be read ({error.strerror})"
        raise LogError(what, path, hint="Check its permissions and the card or disk") from None
    if data[:2] == b"\x1f\x8b":
        data = _unpack(data, path, notes if notes is not None else [])
    blank = b" \t\r\n\0"
    if not data[:4096].strip(blank) and not data.strip(blank):
        what = "the file is empty" if not data else "the file contains nothing but blanks"
        raise LogError(what, path, hint="Copy it from the logger again; the card may be full")
    return _as_8_bit(data, path)


def _unpack(data: bytes, path: Path, notes: list[Finding]) -> bytes:
    """Unpack gzip; of a cut archive keep what can be had."""
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(data)) as stream:
            return at_most(stream, path, len(data))
    except EOFError:
        return _unpacked_part(data, path, notes)
    except (OSError, zlib.error) as error:
        raise _damaged_gzip(path, error) from None


def _unpacked_part(data: bytes, path: Path, notes: list[Finding]) -> bytes:
    """Return what can be had of a gzip file that breaks off."""
    try:
        part = zlib.decompressobj(wbits=31).decompress(data, most_bytes(len(data)) + 1)
    except zlib.error as error:
        # It breaks off within its check sum, and that is wrong as far as it goes.
        raise _damaged_gzip(path, error) from None
    if len(part) > most_bytes(len(data)):
        raise too_large(path, len(data))
    if part:
        text = "the gzip file is cut off; what could be unpacked was read"
        notes.append(finding("truncated_end", text))
        return part
    what = "the gzip file is cut short and nothing in it can be read"
    raise LogError(what, path, hint="Copy it from the logger again")


def _damaged_gzip(path: Path, error: Exception) -> LogError:
    return LogError(
        f"the gzip file is damaged ({error})", path, hint="Copy it from the logger again"
    )


def _as_8_bit(data: bytes, path: Path) -> bytes:
    """Strip byte-order marks, turn UTF-16 into UTF-8, and refuse what is no text."""
    if data[:3] == b"\xef\xbb\xbf":
        data = data[3:]
    wide = _wide_encoding(data)
    if wide:
        text = data.decode(wide, "replace").lstrip("\ufeff")
        return text.encode("utf-8")
    for magic, name in _FOREIGN:
        if data.startswith(magic) and not (len(magic) == 2 and _looks_like_text(data[:4096])):
            what = f"this is {name}, not a log"
            raise LogError(what, path, hint=WANTED)
    if not _looks_like_text(data[:65536]):
        what = "this is a binary file, not a log in text form"
        raise LogError(what, path, hint=f"Export it as text first. {WANTED}")
    return data


def _wide_encoding(data: bytes) -> str:
    """Recognise UTF-16, with its mark or by the zero bytes between the letters."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "utf-16"
    head = data[:2000]
    if len(head) >= 16 and len(head) % 2 == 0:
        if head[1::2].count(0) > 0.45 * len(head) and head[::2].count(0) == 0:
            return "utf-16-le"
        if head[::2].count(0) > 0.45 * len(head) and head[1::2].count(0) == 0:
            return "utf-16-be"
    return ""


def _looks_like_text(head: bytes) -> bool:
    """Tell text, with a few damaged bytes, from binary."""
    head = head.rstrip(b"\0")
    if not head:
        return False
    odd = sum(head.count(bytes([code])) for code in (*range(9), *range(14, 32), 127))
    return odd <= 0.05 * len(head)


def kind_of(data: bytes) -> str:
    """
    Name the format: ``"gpx"``, ``"nmea"``, ``"csv"``, or what else it seems to be.

    >>> kind_of(b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47")
    'nmea'
    """
    head = data[:20000].lstrip()
    low = head[:4000].lower()
    if low.startswith((b"<?xml", b"<gpx")) or re.search(rb"<(\w+:)?gpx[\s>]", low):
        if re.search(rb"<(\w+:)?gpx[\s/>]", data[:200000], re.IGNORECASE):
            return "gpx"
        return "html" if b"<html" in low else "xml"
    if low.startswith((b"<!doctype html", b"<html")):
        return "html"
    sentences = re.findall(rb"(?m)^[^$!\r\n]{0,60}[$!][A-Z]{2,3}[A-Z0-9]{2,3},", head)
    lines = head.count(b"\n") + head.count(b"\r") + 1
    if len(sentences) >= 1 and (len(sentences) >= 0.2 * lines or len(sentences) >= 20):
        return "nmea"
    if low.startswith((b"{", b"[{")):
        return "json"
    return "csv"
