"""Files that are written whole or not at all, and never in place of what was read."""

import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from lapwright.errors import OutputError


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
        If one of the targets is one of the inputs, by whatever name, or its folder is missing.
    """
    kept = [path for path in inputs if path is not None and path.exists()]
    for target in targets:
        if target is None:
            continue
        _check_folder(target)
        if target.exists() and any(target.samefile(path) for path in kept):
            what = "was read as input and is not overwritten"
            raise OutputError(what, target, hint="Give the output another name")


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

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    _check_folder(path)
    part = None
    try:
        handle, name = tempfile.mkstemp(
            dir=path.parent, prefix=f".{path.name}-", suffix=path.suffix
        )
        os.close(handle)
        part = Path(name)
        yield part
        # A temporary file is its owner's alone; a result is meant to be passed on.
        mask = os.umask(0)
        os.umask(mask)
        part.chmod(0o666 & ~mask)
        part.replace(path)
    except OSError as error:
        what = f"cannot be written ({error.strerror or error})"
        raise OutputError(what, path) from error
    finally:
        if part is not None:
            part.unlink(missing_ok=True)


def _check_folder(path: Path) -> None:
    if not path.parent.is_dir():
        what = f"there is no folder {path.parent}"
        raise OutputError(what, path, hint="Make it first, or choose another place")
