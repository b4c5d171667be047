"""What went wrong, on one line; and what cannot be written to, or cannot show a letter."""

import os
import sys

from lapwright.errors import LapwrightError


def shows_any_name() -> None:
    """
    Let whatever is written show a letter that its encoding lacks by its number, rather than fail.

    A file name may hold bytes that are no text in any encoding.
    """
    for stream in (sys.stdout, sys.stderr):
        # What a program put in their place need not be able to.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def one_line(error: LapwrightError | OSError | MemoryError) -> str:
    """
    Say what went wrong.

    Parameters
    ----------
    error : LapwrightError, OSError or MemoryError

    Returns
    -------
    str
        One line.
    """
    if isinstance(error, MemoryError):
        return "there is not enough memory for this. Close other programs, or give a shorter log"
    text = str(error)
    if isinstance(error, OSError):
        why = error.strerror or str(error)
        text = f"cannot go on ({why}). Check the disk and the folder, then run it again"
        if error.filename is not None:
            name = os.fsdecode(error.filename) if not isinstance(error.filename, int) else "a file"
            text = f"{name}: cannot be used ({why})"
        elif not _can_be_written():
            text = f"what was found cannot be written out ({why}). Nothing else was lost"
    return " ".join(text.split())


def _can_be_written() -> bool:
    """Whether stdout takes what was written to it; where not, nothing more is tried."""
    try:
        sys.stdout.flush()
    except (OSError, ValueError):
        # Or it would be tried again at the end, and that said in the words of the interpreter.
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115 - kept open
        return False
    return True
