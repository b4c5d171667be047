"""
What was received, byte for byte, in a file of its own, as it comes.

Every piece goes to the system at once, so that a program that is ended loses nothing; once a
second it goes to the disk, so that a pulled plug costs a second at most.  A disk that is full stops
neither the view nor, once there is room again, the recording.
"""

import os
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from lapwright.errors import OutputError

# To the disk this often. [s]
SYNC_S = 1.0
# What cannot be written is kept for so long, then the oldest of it is lost.
_MOST_WAITING = 8_000_000
_MANY_NAMES = 1000


class Recording:
    """
    A file that grows.

    Parameters
    ----------
    path : Path, optional
        A name with date and time in the current folder where not given.

    Attributes
    ----------
    path : Path
    written, lost : int
        Bytes in the file, and bytes that could not be kept.
    why : str
        Why nothing can be written now; empty while it can.

    Raises
    ------
    OutputError
        If the file is there already or cannot be made.
    """

    def __init__(self, path: Path | None = None) -> None:
        self.written = self.lost = 0
        self.why = ""
        self._waiting = bytearray()
        self._lock = threading.Lock()
        self._dirty = self._closed = False
        self.path, self._file = _new_named() if path is None else (path, _new(path))
        self._end = threading.Event()
        self._sync = threading.Thread(target=self._keep_synced, name="recording", daemon=True)
        self._sync.start()

    def write(self, data: bytes) -> None:
        """Add some bytes; never fails because the disk is full."""
        with self._lock:
            if self._closed:
                return
            self._waiting += data
            if len(self._waiting) > _MOST_WAITING:
                self.lost += len(self._waiting) - _MOST_WAITING
                del self._waiting[:-_MOST_WAITING]
            self._write_waiting()

    def close(self) -> None:
        """Write what is left, to the disk too."""
        self._end.set()
        self._sync.join(timeout=5.0)
        with self._lock:
            if self._closed:
                return
            self._closed = True
            self._write_waiting()
            self.lost += len(self._waiting)
            try:
                os.fsync(self._file)
            except OSError as error:
                self.why = str(error.strerror or error)
            finally:
                os.close(self._file)

    def _write_waiting(self) -> None:
        """Give to the system as much as it takes."""
        try:
            while self._waiting:
                count = os.write(self._file, self._waiting)
                del self._waiting[:count]
                self.written += count
                self._dirty = True
            self.why = ""
        except OSError as error:
            self.why = str(error.strerror or error)

    def _keep_synced(self) -> None:
        """Once a second to the disk; the lock is not held, or a slow disk would stop the fixes."""
        while not self._end.wait(SYNC_S):
            with self._lock:
                if self._waiting:
                    self._write_waiting()
                dirty, self._dirty = self._dirty, False
            if dirty:
                try:
                    os.fsync(self._file)
                except OSError as error:
                    self.why = str(error.strerror or error)


def _new(path: Path) -> int:
    """Make a file that is not there yet."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND | getattr(os, "O_BINARY", 0)
    try:
        return os.open(path, flags, 0o666)
    except FileExistsError as error:
        what = "is there already and is not overwritten"
        raise OutputError(what, path, hint="Give the recording another name") from error
    except OSError as error:
        what = f"cannot be written ({error.strerror or error})"
        raise OutputError(what, path, hint="Choose another place with --record") from error


def _new_named() -> tuple[Path, int]:
    """Make a file named by date and time; two begun in one second get two names."""
    stem = f"{datetime.now(UTC).astimezone():live_%Y-%m-%d_%H%M%S}"
    for number in range(1, _MANY_NAMES):
        path = Path(f"{stem}.nmea" if number == 1 else f"{stem}_{number}.nmea")
        if not path.exists():
            try:
                return path, _new(path)
            except OutputError:
                if not path.exists():
                    raise
    time.sleep(SYNC_S)
    return _new_named()
