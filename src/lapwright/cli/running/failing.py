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
        why = error.strerror or text
        if isinstance(error.filename, str | bytes):
            text = f"{os.fsdecode(error.filename)}: cannot be used ({why})"
        else:
            # Files are written under other errors, so this is what goes to the terminal.
            text = f"what was found cannot be written out ({why}). Check where the output goes"
    return " ".join(text.split())
