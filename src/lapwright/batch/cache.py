"""
Results kept from run to run, so that only what changed is done again.

The key of a result is everything it depends on: the bytes of the log, the version of this
package, the options, the track files that were looked into.  Names and dates of files play no
part: a log that was copied or touched is still the same log.
"""

import hashlib
import json
from pathlib import Path

from lapwright._version import __version__
from lapwright.batch.worker import Job, Result
from lapwright.discovery.library.track_folders import library_files
from lapwright.ingest.map_beside import map_for
from lapwright.outputs import whole_file

FOLDER = "kept"
# Begins what stands for the digest of a file that cannot be read.
UNREADABLE = "unreadable: "
# Counts the changes of what a result holds and of how its circuit is chosen.
_FORM = "5"


def key_of(job: Job, library: Path | None, beside: tuple[Path, ...] = ()) -> str:
    """
    Return the key of a job's result.

    Parameters
    ----------
    job : Job
    library : Path or None
        The track library; None for the user's own. The folder that runs of ours write
        circuits into plays no part.
    beside : tuple of Path
        Files beside the logs that may be track files.

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    parts = [__version__, _FORM, str(job.repeat_line), str(job.notes.first_lap), digest(job.path)]
    parts += [
        "-" if file is None else digest(file)
        for file in (job.track, map_for(job.path, job.columns))
    ]
    if job.track is None:
        parts += [digest(file) for file in (*library_files(library), *beside)]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def digest(file: Path) -> str:
    """Return the SHA-256 of a file's bytes, or what kept them from being read."""
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError as error:
        return f"{UNREADABLE}{error.strerror}"


def load(folder: Path, key: str) -> Result | None:
    """Return a result that was kept; None where there is none that can be read."""
    try:
        return Result(**json.loads((folder / f"{key}.json").read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        # Damaged or from another hand: doing the work again repairs it.
        return None


def keep(folder: Path, key: str, result: Result) -> None:
    """Keep a result."""
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / f"{key}.json", json.dumps(result.as_dict()).encode())


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all, and only if it says something new."""
    if path.exists() and path.read_bytes() == data:
        return
    with whole_file(path) as part:
        part.write_bytes(data)
