"""
Readers that other people write, found by their entry points.

A package offers one in its `pyproject.toml`::

    [project.entry-points."lapwright.readers"]
    my_logger = "my_package:reader"

Entry points are looked up only when no reader of ours can use a file: the look-up
walks through all installed packages and takes its time.
"""

from importlib.metadata import entry_points
from pathlib import Path
from typing import Protocol

from lapwright.errors import LogError
from lapwright.ingest.recording import Recording

GROUP = "lapwright.readers"
_HEAD_BYTES = 4096


class Reader(Protocol):
    """What an entry point has to give: an object (a module will do) with two functions."""

    def claims(self, path: Path, head: bytes) -> bool:
        """Tell from the path and the first 4096 bytes whether this is a file of its kind."""

    def read(self, path: Path) -> Recording:
        """Read the file; raise `LogError` where it cannot be used."""


def claimed(path: Path) -> bool:
    """Tell whether a plug-in claims a file; one that fails claims nothing."""
    try:
        return _claimant(path) is not None
    except LogError:
        return False


def read_by_plug_in(path: Path) -> Recording | None:
    """
    Let the first plug-in that claims the file read it.

    Returns
    -------
    Recording or None
        None where no plug-in claims it.

    Raises
    ------
    LogError
        If the plug-in says so, or fails.
    """
    found = _claimant(path)
    if found is None:
        return None
    name, reader = found
    try:
        return reader.read(path)
    except LogError:
        raise
    except Exception as error:
        raise _failed(name, error, path) from error


def _claimant(path: Path) -> tuple[str, Reader] | None:
    """Return name and reader of the first plug-in, by name, that claims a file."""
    found = entry_points(group=GROUP)
    if not found:
        return None
    with path.open("rb") as file:
        head = file.read(_HEAD_BYTES)
    for point in sorted(found, key=lambda point: point.name):
        try:
            reader: Reader = point.load()
            if reader.claims(path, head):
                return point.name, reader
        except LogError:
            raise
        except Exception as error:
            raise _failed(point.name, error, path) from error
    return None


def _failed(name: str, error: Exception, path: Path) -> LogError:
    """Foreign code may fail in any way; the racer is to read which plug-in it was."""
    what = f"the plug-in reader {name!r} failed ({type(error).__name__}: {error})"
    return LogError(what, path, hint="Update or uninstall that plug-in")
