"""Which files of a folder are logs: by their names, and text files by what is in them too."""

import re
from collections import Counter
from collections.abc import Container, Iterable
from pathlib import Path

from lapwright.batch.kept_results import UNREADABLE, digest
from lapwright.errors import LogError
from lapwright.ingest.detect import kind_of, load
from lapwright.ingest.registry import LOG_ENDINGS, may_be_log

# Notes and what other programs write about their work end like this too.
_ANY_TEXT = (".txt", ".log", ".txt.gz", ".log.gz")
_LOOKED_AT_BYTES = 200_000
# A fix has a time and two coordinates; a log, even a cut one, has some of them.
_MIN_NUMBERS, _MIN_LINES = 3, 3
_NUMBER = re.compile(r"[+-]?\d+([.,:]\d+)*([eE][+-]?\d+)?[A-Za-z\N{DEGREE SIGN}%/]{0,4}")


def logs_in(folder: str | Path) -> list[Path]:
    """
    Return the logs of a folder, by name.

    Parameters
    ----------
    folder : path

    Returns
    -------
    list of Path
        Without the text files that are plainly no logs, see `left_out`.

    Raises
    ------
    LogError
        If it is not a folder, or there is no log in it.
    """
    folder = Path(folder)
    found = [p for p in _candidates(folder) if not _is_other_text(p)]
    if not found:
        what = "there is no log in this folder"
        raise LogError(
            what, folder, hint=f"Logs end with {', '.join(LOG_ENDINGS)} or these and .gz"
        )
    return found


def left_out(folder: str | Path) -> list[Path]:
    """Return the text files of a folder in which no line is a line of numbers, by name."""
    return [p for p in _candidates(Path(folder)) if _is_other_text(p)]


def without_copies(
    paths: Iterable[Path], first: Container[str] = ()
) -> tuple[list[Path], tuple[tuple[Path, Path], ...]]:
    """
    Keep one of each group of logs that are the same to the byte.

    Parameters
    ----------
    paths : iterable of Path
    first : container of str
        File names that are kept rather than others, such as those that have notes.

    Returns
    -------
    kept : list of Path
        In the order given.
    copies : tuple of (Path, Path)
        What is left out, and the log that it is a copy of.
    """
    paths = list(paths)
    sizes = Counter(path.stat().st_size for path in paths)
    same: dict[str, list[Path]] = {}
    for path in paths:
        # Only files of one size can be the same, and nothing is a copy of nothing.
        size = path.stat().st_size
        key = digest(path) if size and sizes[size] > 1 else str(path)
        # What cannot be read is looked at by itself, and the reason is given.
        key = str(path) if key.startswith(UNREADABLE) else key
        same.setdefault(key, []).append(path)
    copies: dict[Path, Path] = {}
    for group in same.values():
        kept = next((path for path in group if path.name in first), group[0])
        copies |= {path: kept for path in group if path is not kept}
    return [path for path in paths if path not in copies], tuple(copies.items())


def _candidates(folder: Path) -> list[Path]:
    if not folder.is_dir():
        what = "is not a folder" if folder.exists() else "there is no such folder"
        raise LogError(what, folder, hint="Give the folder that holds the logs")
    files = (p for p in folder.iterdir() if p.is_file() and not p.name.startswith("."))
    return sorted(p for p in files if may_be_log(p))


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
