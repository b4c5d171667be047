"""
Results kept from run to run, so that only what changed is done again.

The key of a result is everything it depends on: the bytes of the log, the program, the options, the
track files that were looked into.  Name and date of a log play no part: one that was copied or
touched is still the same log.
"""

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from lapwright.batch.worker import Job, Result, look_at
from lapwright.discovery.library.track_folders import library_files
from lapwright.errors import LogError
from lapwright.ingest.archive import content
from lapwright.ingest.map_beside import map_for
from lapwright.kept import Store, fingerprint, method_version

# Begins what stands for the digest of a file that cannot be read.
UNREADABLE = "unreadable: "


@dataclass(frozen=True, slots=True)
class KeptJob:
    """
    A job whose result is kept by the process that does it.

    Attributes
    ----------
    job : Job
    key : str
        See `key_of`.
    circuits : Path
        The folder of the circuits that runs of ours have found.
    """

    job: Job
    key: str
    circuits: Path


def look_at_and_keep(kept: KeptJob) -> Result:
    """
    Do a job and keep what came of it at once, whatever becomes of the process that waits for it.

    Parameters
    ----------
    kept : KeptJob

    Returns
    -------
    Result
    """
    result = look_at(kept.job)
    keep(kept.job.store, kept.key, result, kept.circuits)
    return result


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
        Hexadecimal digits.
    """
    file = map_for(job.path, job.columns)
    map_file = None if file is None else digest(file)
    tracks = [job.track] if job.track is not None else [*library_files(library), *beside]
    # A track without a name is called after its file.
    named = [(file.name, digest(file)) for file in tracks]
    return fingerprint(
        method_version(), "weekend", job.repeat_line, job.notes.first_lap, digest(job.path),
        map_file, job.track is None, named,
    )  # fmt: skip


def digest(file: Path) -> str:
    """Return the SHA-256 of a file's bytes, or what kept them from being read."""
    try:
        return digest_of(content(file))
    except OSError as error:
        return f"{UNREADABLE}{error.strerror}"
    except LogError as error:
        return f"{UNREADABLE}{error.what}"


def digest_of(data: bytes) -> str:
    """Return the SHA-256 of bytes, in hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def load(store: Store | None, key: str, circuits: Path) -> Result | None:
    """
    Return a result that was kept.

    Parameters
    ----------
    store : Store or None
    key : str
    circuits : Path
        The folder of the circuits that runs of ours have found.

    Returns
    -------
    Result or None
        None where there is none; nor does one count that rests on a circuit which was found, where
        the other logs of this run would not be looked up on the same one.
    """
    found = None if store is None else store.get_lasting(key)
    if not isinstance(found, Result):
        return None
    if found.circuit is not None:
        name, content = found.circuit
        if digest(circuits / name) != content:
            return None
    return found


def keep(store: Store | None, key: str, result: Result, circuits: Path) -> None:
    """
    Keep a result that is good.

    Parameters
    ----------
    store : Store or None
    key : str
    result : Result
    circuits : Path
        The folder of the circuits that runs of ours have found.
    """
    if store is None or result.status != "ok":
        return
    file = result.track_file
    if file is not None and file.parent == circuits:
        result = replace(result, circuit=(file.name, digest(file)))
    store.put_lasting(key, result)
