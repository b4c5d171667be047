"""
Readers that other people write, found by their entry points.

A package offers one in its `pyproject.toml`::

    [project.entry-points."lapwright.readers"]
    my_logger = "my_package:reader"

Entry points are looked up only when no reader of ours can use a file: the look-up
walks through all installed packages and takes its time.
"""

from collections.abc import Iterator
from importlib.metadata import entry_points
from pathlib import Path
from typing import Protocol

import numpy as np
import pandas as pd

from lapwright.errors import LogError
from lapwright.ingest.csv.header_words import SPEED_UNITS
from lapwright.ingest.recording import MEASURES, Recording

GROUP = "lapwright.readers"
_HEAD_BYTES = 4096
_TELL = "Update or uninstall that plug-in"


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
        If the plug-in says so, fails, or gives what is no recording.
    """
    found = _claimant(path)
    if found is None:
        return None
    name, reader = found
    try:
        recording = reader.read(path)
        wrong = list(_faults(recording))
    except LogError:
        raise
    except Exception as error:
        raise _failed(name, error, path) from error
    if wrong:
        what = f"the plug-in reader {name!r} did not return a Recording: {'; '.join(wrong[:3])}"
        raise LogError(what, path, hint=_TELL)
    return _plain(recording)


def _faults(recording: object) -> Iterator[str]:
    """Say what is wrong with what a plug-in gave, before anything is made of it."""
    if not isinstance(recording, Recording):
        yield f"it is a {type(recording).__name__} instead of a Recording"
        return
    columns: dict[str, tuple[object, str]] = {
        "line": (recording.line, "iu"),
        "time_ns": (recording.time_ns, "iu"),
        "lat_deg": (recording.lat_deg, "fiu"),
        "lon_deg": (recording.lon_deg, "fiu"),
        "no_fix": (recording.no_fix, "b"),
        "block": (recording.block, "iu"),
        "speed": (recording.speed, "fiu"),
        **{name: (value, "fiu") for name, value in recording.measures.items()},
        **{f"channel {name!r}": (one, "") for name, one in recording.channels.items()},
    }
    for name, (column, kinds) in columns.items():
        if column is None and name in ("no_fix", "block", "speed"):
            continue
        if not isinstance(column, np.ndarray | pd.Series) or column.ndim != 1:
            yield f"{name} is no array of one dimension"
        elif len(column) != len(recording.line):
            yield f"{name} has {len(column)} rows, line has {len(recording.line)}"
        elif kinds and column.dtype.kind not in kinds:
            yield f"{name} is of type {column.dtype}"
    if unknown := set(recording.measures) - set(MEASURES):
        yield f"there are no measures {', '.join(sorted(map(str, unknown)))}"
    if recording.speed_unit is not None and recording.speed_unit not in SPEED_UNITS:
        yield f"there is no unit of speed {recording.speed_unit!r}"
    if lost := set(recording.roles.values()) - set(recording.channels):
        yield f"there are no channels {', '.join(sorted(map(str, lost)))}, which roles lead to"


def _plain(recording: Recording) -> Recording:
    """Bring the columns of a plug-in to the types of our own."""
    recording.line = np.asarray(recording.line, np.int64)
    recording.time_ns = np.asarray(recording.time_ns, np.int64)
    recording.lat_deg = np.asarray(recording.lat_deg, np.float64)
    recording.lon_deg = np.asarray(recording.lon_deg, np.float64)
    if recording.speed is not None:
        recording.speed = np.asarray(recording.speed, np.float64)
    for name, value in recording.measures.items():
        recording.measures[name] = np.asarray(value, np.float64)
    for name, column in recording.channels.items():
        recording.channels[name] = pd.Series(column).reset_index(drop=True)
    units = recording.channel_units
    recording.channel_units = {name: units.get(name) for name in recording.channels}
    return recording


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
    return LogError(what, path, hint=_TELL)
