"""
Which files of a folder are logs: by their names, and text files by what is in them too.

Folders in the folder are looked through as well, and ZIP archives; what an earlier run wrote is
not.
"""

import gzip
import os
import re
import zlib
from collections import Counter
from collections.abc import Callable, Iterable
from io import BytesIO
from pathlib import Path

from lapwright.batch.kept_results import UNREADABLE, digest, digest_of
from lapwright.columns import names
from lapwright.columns.laps import LAPS
from lapwright.columns.weekend import WEEKEND_LAPS
from lapwright.errors import LogError
from lapwright.escaping.unseen import encodable
from lapwright.ingest.archive import ENDING, at_most, content, members, outside, size_of
from lapwright.ingest.detect import kind_of, load
from lapwright.ingest.registry import LOG_ENDINGS, may_be_log, named_like_log

# Notes and what other programs write about their work end like this too.
_ANY_TEXT = (".txt", ".log", ".txt.gz", ".log.gz")
_LOOKED_AT_BYTES = 200_000
# A fix has a time and two coordinates; a log, even a cut one, has some of them.
_MIN_NUMBERS, _MIN_LINES = 3, 3
_HEAD_CHARACTERS = 2000
_NUMBER = re.compile(r"[+-]?\d+([.,:]\d+)*([eE][+-]?\d+)?[A-Za-z\N{DEGREE SIGN}%/]{0,4}")


def logs_in(folder: str | Path) -> list[Path]:
    """
    Return the logs of a folder, of the folders in it and of ZIP archives, by name.

    Parameters
    ----------
    folder : path

    Returns
    -------
    list of Path
        Without the text files that are plainly no logs, see `left_out`.  A log in an archive is
        named behind it: ``card.zip/run1.csv``; an archive that cannot be looked into is named
        itself.

    Raises
    ------
    LogError
        If it is not a folder, or there is no log in it.
    """
    folder = Path(folder)
    found = [p for p in _candidates(folder) if not _is_other_text(p)]
    if not found:
        what = "there is no log in this folder"
        endings = ", ".join(LOG_ENDINGS)
        hint = f"Logs end with {endings} or these and .gz, or lie in a .zip"
        raise LogError(what, folder, hint=hint)
    return found


def left_out(folder: str | Path) -> list[Path]:
    """Return the text files of a folder in which no line is a line of numbers, by name."""
    return [p for p in _candidates(Path(folder)) if _is_other_text(p)]


def without_copies(
    paths: Iterable[Path], noted: Callable[[Path], bool] = lambda _: False
) -> tuple[list[Path], tuple[tuple[Path, Path], ...]]:
    """
    Keep one of each group of logs that are the same to the byte, packed by gzip or not.

    Parameters
    ----------
    paths : iterable of Path
    noted : callable
        Whether there are notes of a log, so that it is kept rather than its copies.

    Returns
    -------
    kept : list of Path
        In the order given.
    copies : tuple of (Path, Path)
        What is left out, and the log that it is a copy of.
    """
    paths = list(paths)
    unpacked = {path: found for path in paths if (found := _unpacked(path)) is not None}
    sizes = {path: unpacked[path][0] if path in unpacked else size_of(path) for path in paths}
    alike = Counter(sizes.values())
    same: dict[str, list[Path]] = {}
    for path, size in sizes.items():
        # Only files of one size can be the same, and nothing is a copy of nothing.
        key = str(path)
        if size and alike[size] > 1:
            key = unpacked[path][1] if path in unpacked else digest(path)
        # What cannot be read is looked at by itself, and the reason is given.
        key = str(path) if key.startswith(UNREADABLE) else key
        same.setdefault(key, []).append(path)
    copies: dict[Path, Path] = {}
    for group in same.values():
        kept = next(filter(noted, group), group[0])
        copies |= {path: kept for path in group if path is not kept}
    return [path for path in paths if path not in copies], tuple(copies.items())


def _unpacked(path: Path) -> tuple[int, str] | None:
    """Return size and digest of what is packed by gzip; None where nothing is, or it is damaged."""
    if path.suffix.lower() != ".gz":
        return None
    try:
        packed = content(path)
        with gzip.GzipFile(fileobj=BytesIO(packed)) as stream:
            data = at_most(stream, path, len(packed))
    except (OSError, EOFError, zlib.error, LogError):
        return None
    return len(data), digest_of(data)


def names_in(paths: Iterable[Path], folder: Path) -> dict[Path, tuple[str, str]]:
    """
    Name the logs of a folder as its tables do.

    Parameters
    ----------
    paths : iterable of Path
    folder : Path

    Returns
    -------
    dict of (str, str)
        The session and the log: ``("friday", "friday.csv")``, in a folder of it
        ``("day 2/run 1", "day 2/run 1.csv")``.  Where two logs differ by their endings alone, these
        are the sessions' names too.
    """
    logs = {path: below(path, folder) for path in paths}
    stems = {path: str(Path(log).with_name(Path(log).name.split(".")[0]).as_posix())
             for path, log in logs.items()}  # fmt: skip
    count = Counter(stems.values())
    return {path: (stems[path] if count[stems[path]] == 1 else log, log)
            for path, log in logs.items()}  # fmt: skip


def led_out(folder: str | Path) -> list[str]:
    """
    Say what in a folder is not read for the sake of its name.

    That is what leads out of an archive, and a name with bytes that are no text in any encoding,
    which no table can hold.
    """
    said = [
        f"{below(path, Path(folder))}: its name is not text, so it is not read; rename it"
        for path in _all_files(Path(folder))
        if not _is_text(path) and may_be_log(path)
    ]
    for path in _files(Path(folder)):
        try:
            names_out = outside(path) if path.suffix.lower() == ENDING else []
        except LogError:
            continue
        if names_out:
            said.append(
                f"{below(path, Path(folder))}: files whose names lead out of the archive are not "
                f"read, such as {names_out[0]!r}"
            )
    return said


def below(path: Path, folder: Path | None) -> str:
    """Return a path as seen from a folder; the name alone of one that lies elsewhere."""
    inside = folder is not None and path.is_relative_to(folder)
    name = path.relative_to(folder or path).as_posix() if inside else path.name
    # Of bytes that are no text in any encoding, their numbers are shown.
    return encodable(name)


def _candidates(folder: Path) -> list[Path]:
    if not folder.is_dir():
        what = "is not a folder" if folder.exists() else "there is no such folder"
        raise LogError(what, folder, hint="Give the folder that holds the logs")
    if not _is_text(folder):
        what = "the folder's name is not text"
        raise LogError(what, folder, hint="Rename it, and run this again")
    found: list[Path] = []
    for path in _files(folder):
        if path.suffix.lower() == ENDING:
            found += _in_archive(path)
        elif may_be_log(path):
            found.append(path)
    return sorted(found)


def _files(folder: Path) -> list[Path]:
    """Files at any depth whose names are text."""
    return [path for path in _all_files(folder) if _is_text(path)]


def _is_text(path: Path) -> bool:
    # Python keeps bytes that are no text as these, one each.
    return not any("\ud800" <= letter <= "\udfff" for letter in str(path))


def _all_files(folder: Path) -> list[Path]:
    """Files at any depth; no hidden ones, and none of the results of ours."""
    found = []
    for place, inner, files in os.walk(folder):
        here = Path(place)
        if here != folder and _is_ours(here):
            inner.clear()
            continue
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        found += [here / name for name in files if not name.startswith(".")]
    return sorted(path for path in found if path.is_file())


def _is_ours(folder: Path) -> bool:
    """Whether a folder holds results: tables of laps would be taken for damaged logs."""
    heads = (names(WEEKEND_LAPS, "weekend")[:3], names(LAPS, "files")[:3])
    try:
        with (folder / "laps.csv").open(encoding="utf-8") as file:
            head = file.readline(_HEAD_CHARACTERS).split(",")[:3]
    except (OSError, UnicodeDecodeError):
        return False
    return head in heads


def _in_archive(archive: Path) -> list[Path]:
    try:
        return [path for path in members(archive) if named_like_log(path.name)]
    except LogError:
        # Looked at like a log, which says what is wrong with it.
        return [archive]


def _is_other_text(path: Path) -> bool:
    """Whether a file that may be any text is plainly no log."""
    if not path.name.lower().endswith(_ANY_TEXT):
        return False
    try:
        data = load(path)
    except LogError:
        # Empty or damaged: it may have been a log, so it is looked at and the reason is given.
        return False
    if kind_of(data) in ("gpx", "nmea"):
        return False
    lines = data[:_LOOKED_AT_BYTES].decode("utf-8", "replace").splitlines()
    return sum(map(_is_numbers, lines)) < _MIN_LINES


def _is_numbers(line: str) -> bool:
    """Whether at least half of a line's fields, and three of them, are numbers."""
    fields = [f.strip(" \"'") for f in re.split(r"[;\t]|,\s*|\s+", line.strip()) if f.strip()]
    numbers = sum(_NUMBER.fullmatch(f) is not None for f in fields)
    return numbers >= _MIN_NUMBERS and 2 * numbers >= len(fields)
