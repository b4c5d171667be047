"""
The folder in which results are kept: one file each, named by what it is the answer to.

It may be deleted at any time, be it in the middle of a run; a file that is damaged is as good as
none; several processes may use it at once; and where it cannot be written, everything is worked out
again.  So no error ever comes from here.
"""

import contextlib
import os
import tempfile
import time
from enum import Enum
from pathlib import Path
from typing import Any

from lapwright.kept.arrays import CannotKeep, CannotRead
from lapwright.kept.codec import decode, digest_in, encode

# The folder; or `off`, to do without.
FOLDER_VARIABLE = "LAPWRIGHT_CACHE"
LIMIT_VARIABLE = "LAPWRIGHT_CACHE_MB"
OFF = "off"
# A session of an hour takes 5 to 10 MB, so this holds a season, and no disk of today is filled by
# it.
LIMIT_MB = 512.0
# Down to this share of it, and looked at again whenever a tenth of it was written.
_TIDY_TO = 0.9
_ENDING = ".kept"
# Ends what is small and took long, such as all that a table wants to know of a log: it goes last.
_LASTING = ".lasting.kept"
_PART = ".part-"
# Whoever wrote a part has finished, or has died.
_PART_IS_OLD_S = 3600.0
# Dates tell which results were used last, and need be no truer than this.
_DATE_IS_OLD_S = 600.0


class _Missing(Enum):
    MISSING = "missing"


class Usual(Enum):
    """Where results are kept when nobody says: in the user's cache folder."""

    USUAL = "the usual folder"


MISSING = _Missing.MISSING
USUAL = Usual.USUAL


class Store:
    """
    A folder of kept results.

    Parameters
    ----------
    folder : path
        It is made when first written to.
    limit_mb : float, optional
        How large all results may be together; those that were not used for longest go first, and
        `put_lasting` goes after all others. [MB]

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     store = Store(folder)
    ...     store.put("0123", (94.39, 0.01))
    ...     store.get("0123"), store.get("4567") is MISSING
    ((94.39, 0.01), True)
    """

    def __init__(self, folder: str | Path, limit_mb: float | None = None) -> None:
        self.folder = Path(folder)
        self.limit_mb = _limit_mb() if limit_mb is None else limit_mb
        self._until_tidied_bytes = 0.0

    def get(self, key: str) -> Any:
        """Return what was kept under a key; `MISSING` where there is nothing that can be read."""
        found = self.load(key)
        return MISSING if found is None else found[0]

    def load(self, key: str) -> tuple[Any, str] | None:
        """Return what was kept under a key, and its digest; None where there is nothing."""
        return self._load(self.folder / f"{key}{_ENDING}")

    def get_lasting(self, key: str) -> Any:
        """Return what `put_lasting` kept; `MISSING` where there is nothing that can be read."""
        found = self._load(self.folder / f"{key}{_LASTING}")
        return MISSING if found is None else found[0]

    def _load(self, file: Path) -> tuple[Any, str] | None:
        try:
            data = file.read_bytes()
        except OSError:
            return None
        try:
            value = decode(data)
        except CannotRead:
            with contextlib.suppress(OSError):
                file.unlink()
            return None
        with contextlib.suppress(OSError):
            if time.time() - file.stat().st_mtime > _DATE_IS_OLD_S:
                os.utime(file)
        return value, digest_in(data)

    def put(self, key: str, value: object) -> None:
        """Keep a value under a key; where that cannot be done, it is not."""
        try:
            data = encode(value)
        except CannotKeep:
            return
        self.put_bytes(key, data)

    def put_lasting(self, key: str, value: object) -> None:
        """Keep a small value that took long, for as long as the store has room for any."""
        try:
            data = encode(value)
        except CannotKeep:
            return
        self._put(f"{key}{_LASTING}", data)

    def put_bytes(self, key: str, data: bytes) -> None:
        """Keep a value that is encoded already."""
        self._put(f"{key}{_ENDING}", data)

    def _put(self, name: str, data: bytes) -> None:
        part = None
        try:
            # For the user's eyes only, as caches are.
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            handle, part = tempfile.mkstemp(prefix=_PART, dir=self.folder)
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            # Whole or not at all, whoever else is writing the same.
            Path(part).replace(self.folder / name)
        except OSError:
            if part is not None:
                with contextlib.suppress(OSError):
                    Path(part).unlink()
            return
        if self._until_tidied_bytes <= 0.0:
            self._until_tidied_bytes = (1.0 - _TIDY_TO) * self.limit_mb * 1e6
            self.tidy()
        self._until_tidied_bytes -= len(data)

    def tidy(self) -> None:
        """Delete what was not used for longest until the rest is within the limit."""
        found, now = [], time.time()
        try:
            with os.scandir(self.folder) as entries:
                for entry in entries:
                    with contextlib.suppress(OSError):
                        about = entry.stat(follow_symlinks=False)
                        if entry.name.endswith(_ENDING):
                            lasting = entry.name.endswith(_LASTING)
                            found.append((lasting, about.st_mtime, about.st_size, entry.path))
                        elif entry.name.startswith(_PART) and now - about.st_mtime > _PART_IS_OLD_S:
                            Path(entry.path).unlink()
        except OSError:
            return
        limit, size = self.limit_mb * 1e6, sum(one[2] for one in found)
        if size <= limit:
            return
        for _, _, bytes_, path in sorted(found):
            if size <= _TIDY_TO * limit:
                return
            with contextlib.suppress(OSError):
                Path(path).unlink()
                size -= bytes_


# What a session may be told of where its results are kept.
CacheChoice = Store | str | Path | Usual | None


def store_of(choice: CacheChoice) -> Store | None:
    """
    Return the store that was chosen: a folder, the usual one, or none at all.

    Parameters
    ----------
    choice : Store, path, `USUAL` or None
        By `USUAL` the folder that the environment variable ``LAPWRIGHT_CACHE`` names (``off``:
        none), else the platform's for caches.

    Returns
    -------
    Store or None
    """
    if choice is None or isinstance(choice, Store):
        return choice
    if not isinstance(choice, Usual):
        return Store(choice)
    named = os.environ.get(FOLDER_VARIABLE, "")
    if named.casefold() == OFF:
        return None
    if named:
        return Store(named)
    from platformdirs import user_cache_path  # only this needs it, and not every run

    return Store(user_cache_path("lapwright", appauthor=False))


def _limit_mb() -> float:
    try:
        # What is no number is no limit that anyone meant.
        return max(float(os.environ.get(LIMIT_VARIABLE, "")), 0.0)
    except ValueError:
        return LIMIT_MB
