"""Files that are written whole or not at all."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """
    Give a file to write that takes its name only when it is complete.

    Parameters
    ----------
    path : Path
        Its name in the end; an older file stays as it is if anything fails.

    Yields
    ------
    Path
        A file beside it, to be written and closed.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-", suffix=path.suffix)
    os.close(handle)
    part = Path(name)
    try:
        yield part
        # A temporary file is its owner's alone; a report is meant to be passed on.
        mask = os.umask(0)
        os.umask(mask)
        part.chmod(0o666 & ~mask)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
