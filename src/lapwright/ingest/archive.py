"""
Logs in a ZIP archive, read where they are: a path goes on behind the archive, `card.zip/run1.csv`.

Nothing is ever unpacked to a disk, so no name in an archive can lead anywhere; names that try are
refused all the same.  What an archive says of its sizes is not believed: reading stops at a limit.
"""

import lzma
import zipfile
import zlib
from pathlib import Path, PurePosixPath
from typing import Protocol

from lapwright.errors import LogError

ENDING = ".zip"
# A day at 100 Hz and 100 bytes a line is 0.86 GB; more is no log of a car on a circuit.
MAX_UNPACKED_BYTES = 1_000_000_000
# A season on one card is some hundred files; what all of them unpack to is read one at a time.
MAX_MEMBERS, MAX_TOTAL_BYTES = 10_000, 20 * MAX_UNPACKED_BYTES
# Text of numbers packs to a third, points of GPX that stand still to a fiftieth; what packs to less
# than a two-hundredth is one thing over and over, and would take all memory when it is read.
MAX_TIMES, ALWAYS_BYTES = 200, 50_000_000
_CHUNK_BYTES = 1 << 20
_AGAIN = "Copy it again, or unpack it and give the folder"


class _Stream(Protocol):
    """A file that is read piece by piece."""

    def read(self, size: int, /) -> bytes:
        """Return at most so many bytes; none at the end."""


def archive_of(path: Path) -> tuple[Path, str] | None:
    """
    Return the archive that a path goes on behind, and the name in it; None for any other path.

    Examples
    --------
    >>> archive_of(Path("friday.csv")) is None
    True
    """
    for parent in path.parents:
        if parent.suffix.lower() == ENDING and is_file(parent):
            return parent, path.relative_to(parent).as_posix()
    return None


def folder_of(path: Path) -> Path:
    """Return the folder a log lies in; of one in an archive, the archive's."""
    found = archive_of(path)
    return path.parent if found is None else found[0].parent


def name_of(path: Path) -> str:
    """Return the name of a log in its folder, such as ``run1.csv`` or ``card.zip/run1.csv``."""
    return path.relative_to(folder_of(path)).as_posix()


def is_there(path: Path) -> bool:
    """Tell whether a log is a file, or in an archive."""
    if is_file(path):
        return True
    found = archive_of(path)
    try:
        return found is not None and path in members(found[0])
    except LogError:
        return False


def is_file(path: Path) -> bool:
    """Tell whether there is such a file; a name too long or too odd for the disk is none."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def members(archive: Path) -> list[Path]:
    """
    Return the files in an archive, by name, each as a path that goes on behind it.

    Parameters
    ----------
    archive : Path

    Returns
    -------
    list of Path
        Without hidden files, and without names that lead out of the archive.

    Raises
    ------
    LogError
        If it cannot be read, or holds more than any card does.
    """
    with _opened(archive) as opened:
        about = [one for one in opened.infolist() if not one.is_dir()]
        if len(about) > MAX_MEMBERS or sum(one.file_size for one in about) > MAX_TOTAL_BYTES:
            size_gb = sum(one.file_size for one in about) / 1e9
            what = (
                f"this archive holds {len(about)} files, {size_gb:.1f} GB unpacked; at most "
                f"{MAX_MEMBERS} and {MAX_TOTAL_BYTES / 1e9:.0f} GB are read"
            )
            raise LogError(what, archive, hint="Unpack it and give the folder")
        return sorted(archive / one.filename for one in about if _is_inside(one.filename))


def outside(archive: Path) -> list[str]:
    """Return the names in an archive that lead out of it; they are not read."""
    with _opened(archive) as opened:
        return sorted(name for name in opened.namelist() if _leads_out(name))


def size_of(path: Path) -> int:
    """Return the size of a log in bytes, as its folder or its archive says; 0 where it is gone."""
    found = archive_of(path)
    try:
        if found is None:
            return path.stat().st_size
        with _opened(found[0]) as opened:
            return opened.getinfo(found[1]).file_size
    except (OSError, KeyError, LogError):
        return 0


def content(path: Path) -> bytes:
    """
    Return the bytes of a log, wherever it lies.

    Raises
    ------
    OSError
        If it cannot be read.
    LogError
        If it is in an archive, and damaged, locked, or larger than any log.
    """
    found = archive_of(path)
    if found is None:
        return path.read_bytes()
    archive, name = found
    if not _is_inside(name):
        what = "this name leads out of its archive"
        raise LogError(what, path, hint="It is not read")
    try:
        with _opened(archive) as opened, opened.open(name) as stream:
            return at_most(stream, path, opened.getinfo(name).compress_size)
    except KeyError:
        raise FileNotFoundError(str(path)) from None
    except RuntimeError as error:
        # So `zipfile` says that a password is needed, and that it cannot unpack a method.
        what = f"it cannot be read in its archive ({error})"
        raise LogError(what, path, hint="Unpack it and give the folder") from error
    except (zipfile.BadZipFile, zlib.error, lzma.LZMAError, EOFError, ValueError) as error:
        what = f"it is damaged in its archive ({error})"
        raise LogError(what, path, hint=_AGAIN) from error


def at_most(stream: _Stream, path: Path, packed_bytes: int) -> bytes:
    """
    Read a stream that is unpacked on the way, whatever it claims to hold.

    Parameters
    ----------
    stream : file
    path : Path
        For the message.
    packed_bytes : int
        What it is unpacked from.

    Raises
    ------
    LogError
        If it goes on beyond `most_bytes`.
    """
    parts, size = [], 0
    while part := stream.read(_CHUNK_BYTES):
        size += len(part)
        if size > most_bytes(packed_bytes):
            raise too_large(path, packed_bytes)
        parts.append(part)
    return b"".join(parts)


def most_bytes(packed_bytes: int) -> int:
    """Return to how much so many bytes may unpack."""
    return min(MAX_UNPACKED_BYTES, max(ALWAYS_BYTES, MAX_TIMES * packed_bytes))


def too_large(path: Path, packed_bytes: int) -> LogError:
    """Return the error of a file that unpacks to more than any log holds."""
    said = f"{MAX_UNPACKED_BYTES / 1e9:g} GB"
    if most_bytes(packed_bytes) < MAX_UNPACKED_BYTES:
        said = f"{most_bytes(packed_bytes) // max(packed_bytes, 1)} times its size"
    what = f"it unpacks to more than {said}, too much for the log of a car"
    return LogError(what, path, hint="If it is one, unpack it and cut it into sessions")


def _opened(archive: Path) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(archive)
    except (zipfile.BadZipFile, ValueError, NotImplementedError) as error:
        what = f"this ZIP archive is damaged ({error})"
        raise LogError(what, archive, hint=_AGAIN) from error
    except OSError as error:
        what = f"this ZIP archive cannot be read ({error.strerror})"
        raise LogError(what, archive, hint="Check its permissions") from error


def _leads_out(name: str) -> bool:
    """Whether a name begins at a root or a drive, or goes up."""
    parts = PurePosixPath(name.replace("\\", "/")).parts
    return name.startswith(("/", "\\")) or ".." in parts or ":" in name


def _is_inside(name: str) -> bool:
    """Whether a name may be read: it stays inside and is not hidden."""
    if _leads_out(name):
        return False
    # Archives made on some computers hold a shadow of every file in a folder of this name.
    return not any(p.startswith(".") or p == "__MACOSX" for p in PurePosixPath(name).parts)
