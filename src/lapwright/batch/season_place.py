"""
Where a season is kept: a folder, or an address (`s3://...`, `sftp://...`) that fsspec knows.

Parts are written whole or not at all in either: beside their place first, then moved there.
"""

import os
import uuid
from pathlib import Path, PurePosixPath
from typing import Any, Protocol

from lapwright.batch.tables.laps_and_sessions import write_whole
from lapwright.errors import OutputError


class Place(Protocol):
    """What a season needs of the place it is kept in; names are below it, with slashes."""

    def write(self, name: str, data: bytes) -> None:
        """Write a file whole or not at all, and only if it says something new."""

    def found(self, pattern: str) -> list[str]:
        """Return the names that fit a pattern."""

    def same(self, one: str, other: str) -> bool:
        """Whether two names are one file, as where large and small letters are the same."""

    def remove(self, name: str) -> None:
        """Remove a file; one that is gone is no error."""


def place_of(season: str | Path) -> Place:
    """
    Return the place of a season, made where missing.

    Parameters
    ----------
    season : path or str
        A folder, or an address with ``://``.

    Raises
    ------
    OutputError
        If it is a file, cannot be made, or fsspec or what it needs for the address is missing.
    """
    if "://" in str(season):
        return _Remote(str(season))
    folder = Path(season)
    if folder.exists() and not folder.is_dir():
        what = "is a file, and a season is a folder"
        raise OutputError(what, folder, hint="Give another name")
    return _Local(folder)


class _Local:
    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def write(self, name: str, data: bytes) -> None:
        target = self._folder / name
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            what = f"cannot be made ({error.strerror})"
            raise OutputError(what, target.parent, hint="Choose another place") from error
        write_whole(target, data)

    def found(self, pattern: str) -> list[str]:
        return [p.relative_to(self._folder).as_posix() for p in self._folder.glob(pattern)]

    def same(self, one: str, other: str) -> bool:
        a, b = self._folder / one, self._folder / other
        return one == other or (a.exists() and b.exists() and a.samefile(b))

    def remove(self, name: str) -> None:
        (self._folder / name).unlink(missing_ok=True)


class _Remote:
    def __init__(self, address: str) -> None:
        try:
            from fsspec.core import url_to_fs  # only the extra 'cluster' brings it
        except ImportError as error:
            what = f"{address} needs fsspec, which is not installed"
            raise OutputError(what, address, hint="pip install 'lapwright[cluster]'") from error
        self._address = address
        try:
            found = url_to_fs(address)
        except (ImportError, ValueError, OSError) as error:
            raise self._failed(error) from error
        self._files: Any = found[0]
        self._root = str(found[1]).rstrip("/")

    def write(self, name: str, data: bytes) -> None:
        target = f"{self._root}/{name}"
        inside = PurePosixPath(target)
        part = str(inside.with_name(f".{inside.name}-{os.getpid()}-{uuid.uuid4().hex[:8]}"))
        try:
            if self._files.exists(target) and self._files.cat_file(target) == data:
                return
            self._files.makedirs(str(inside.parent), exist_ok=True)
            try:
                self._files.pipe_file(part, data)
                self._files.mv(part, target)
            finally:
                if self._files.exists(part):
                    self._files.rm_file(part)
        except OSError as error:
            raise self._failed(error) from error

    def found(self, pattern: str) -> list[str]:
        try:
            names = self._files.glob(f"{self._root}/{pattern}")
        except OSError as error:
            raise self._failed(error) from error
        return [str(name)[len(self._root) + 1 :] for name in names]

    def same(self, one: str, other: str) -> bool:
        return one == other

    def remove(self, name: str) -> None:
        try:
            self._files.rm_file(f"{self._root}/{name}")
        except FileNotFoundError:
            return
        except OSError as error:
            raise self._failed(error) from error

    def _failed(self, error: Exception) -> OutputError:
        why = " ".join(str(error).split()) or type(error).__name__
        what = f"the season at {self._address} cannot be used ({why})"
        return OutputError(what, self._address, hint="Check the address, or give a folder")
