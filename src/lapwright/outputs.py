"""
Files that are written whole or not at all, and never in place of what was read.

A file is written under a name that begins with `PART`, a hidden one on most systems, and takes its
own name when it is complete and on the disk.  Whoever writes one holds a lock on it, which the
system takes away from a process that dies, however it dies: what is not locked was left behind, and
the next file that is written to the folder clears it away.
"""

import contextlib
import errno
import os
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from lapwright.errors import OutputError

# `msvcrt` has no lock that a file keeps while it is renamed.
if sys.platform != "win32":
    import fcntl

PART = ".lapwright-"
# Where there are no locks, whoever wrote a part has finished by then, or has died.
_PART_IS_OLD_S = 3600.0
# Others hold the lock of a folder for some milliseconds; a process that was halted holds it on.
_LOCK_WAIT_S = 2.0
_LOCK_STEP_S = 0.01


def check_ending(target: Path | None, endings: tuple[str, ...]) -> None:
    """
    Refuse an output whose name says that it is something else: one slip would cost another log.

    Parameters
    ----------
    target : Path or None
        None is passed over.
    endings : tuple of str
        What its name may end with.

    Raises
    ------
    OutputError
        If it ends with none of them.
    """
    if target is not None and not target.name.lower().endswith(endings):
        what = "is no name for this kind of file"
        hint = f"Let its name end with {' or '.join(endings)}"
        raise OutputError(what, target, hint=hint)


def check_targets(targets: Iterable[Path | None], inputs: Iterable[Path | None]) -> None:
    """
    Refuse outputs that would take the place of an input, or have no folder to lie in.

    Called before the work, so that nobody waits for a result that cannot be kept.

    Parameters
    ----------
    targets, inputs : iterable of Path or None
        Files; None is passed over.

    Raises
    ------
    OutputError
        If one of the targets is one of the inputs, by whatever name, is a folder or protected
        from being written, or if its folder is missing or cannot be written to.
    """
    kept = [path for path in inputs if path is not None and _is_there(path)]
    for target in targets:
        if target is None:
            continue
        _check_folder(target)
        if _is_there(target) and any(target.samefile(path) for path in kept):
            what = "was read as input and is not overwritten"
            raise OutputError(what, target, hint="Give the output another name")
        _check_free(target)


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """
    Give a file to write that takes its name only when it is complete.

    Parameters
    ----------
    path : Path
        Its name in the end; an older file stays as it is if anything fails.  A link in its place
        is replaced, and what it leads to stays as it is.

    Yields
    ------
    Path
        A file beside it, to be written and closed.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    _check_folder(path)
    _check_free(path)
    clear_parts(path.parent)
    part, lock = None, None
    try:
        part, lock = _new_part(path)
        yield part
        with part.open("rb+") as written:
            # Or the name would be on the disk before what it names, and lead to nothing.
            os.fsync(written.fileno())
        part.chmod(_mode_of(path))
        part.replace(path)
    except OSError as error:
        what = f"cannot be written ({error.strerror or error})"
        raise OutputError(what, path) from error
    except UnicodeEncodeError as error:
        # What Python makes of bytes in a file name that are no text.
        what = f"cannot hold {error.object[error.start : error.end]!a}, which is not a letter"
        raise OutputError(what, path, hint="Give the log a name in plain letters") from error
    finally:
        if part is not None:
            with contextlib.suppress(OSError):
                part.unlink()
        if lock is not None:
            os.close(lock)


def clear_parts(folder: Path) -> None:
    """
    Remove what processes left in a folder that died while they wrote a file there.

    Parameters
    ----------
    folder : Path
        Parts that are being written now stay.
    """
    try:
        with os.scandir(folder) as entries:
            parts = [
                Path(entry.path)
                for entry in entries
                if entry.name.startswith(PART) and entry.is_file(follow_symlinks=False)
            ]
    except OSError:
        return
    for part in parts:
        with contextlib.suppress(OSError):
            if _is_left(part):
                part.unlink()


@contextmanager
def folder_lock(folder: Path) -> Iterator[None]:
    """
    Let no other run change what lies in a folder meanwhile, where the system knows such locks.

    Parameters
    ----------
    folder : Path
        It is locked itself, so no file is left behind; whoever does not ask is not kept out.
    """
    handle = None
    if sys.platform != "win32":
        with contextlib.suppress(OSError):
            handle = os.open(folder, os.O_RDONLY)
        until_s = time.monotonic() + _LOCK_WAIT_S
        while handle is not None and not _locked(handle) and time.monotonic() < until_s:
            time.sleep(_LOCK_STEP_S)
    try:
        yield
    finally:
        if handle is not None:
            os.close(handle)


def _new_part(path: Path) -> tuple[Path, int | None]:
    """Make the file that is to become another one, and lock it."""
    while True:
        # Not with the name it is to have: one that is as long as may be has no room for more.
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=PART, suffix=path.suffix[:16])
        if sys.platform == "win32":
            os.close(handle)
            return Path(name), None
        _locked(handle)
        # Another run may have found it before it was locked, and cleared it away.
        if os.fstat(handle).st_nlink:
            return Path(name), handle
        os.close(handle)


def _locked(handle: int) -> bool:
    """Lock an open file; False where another process has, True where there are no locks."""
    if sys.platform != "win32":
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            return error.errno not in (errno.EWOULDBLOCK, errno.EACCES)
    return True


def _is_left(part: Path) -> bool:
    """Whether nobody writes a part any more."""
    if sys.platform == "win32":
        return time.time() - part.stat().st_mtime > _PART_IS_OLD_S
    handle = os.open(part, os.O_RDWR)
    try:
        return _locked(handle)
    finally:
        os.close(handle)


def _mode_of(path: Path) -> int:
    """Return who may read and write a file: as before; a new one is meant to be passed on."""
    with contextlib.suppress(OSError):
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError as error:
        what = f"cannot be looked at ({error.strerror or error})"
        raise OutputError(what, path, hint="Choose another name or place") from error


def _check_folder(path: Path) -> None:
    try:
        there = path.parent.is_dir()
    except OSError as error:
        what = f"its folder cannot be looked at ({error.strerror or error})"
        raise OutputError(what, path, hint="Choose another place") from error
    if not there:
        what = f"there is no folder {path.parent}"
        raise OutputError(what, path, hint="Make it first, or choose another place")
    if not os.access(path.parent, os.W_OK | os.X_OK):
        what = f"nothing can be written to the folder {path.parent}"
        raise OutputError(what, path, hint="Choose another place")


def _check_free(path: Path) -> None:
    """Refuse a name that something has which is not to be replaced."""
    if not _is_there(path):
        return
    if path.is_dir():
        what = "is a folder, and a file is to be written"
        raise OutputError(what, path, hint="Give the output another name")
    if not path.is_file():
        what = "is not an ordinary file and is not replaced"
        raise OutputError(what, path, hint="Give the output another name")
    if not path.stat().st_mode & 0o222:
        what = "is protected from being written"
        raise OutputError(what, path, hint="Allow it, or give the output another name")
