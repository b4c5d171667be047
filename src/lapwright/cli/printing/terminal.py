"""
The one way to the terminal: what cannot be seen is made visible, what it cannot write stood in for.

A terminal obeys control codes wherever they come from, a file's name or a cell of a log.  And not
every terminal has every letter: Windows writes files in its own code page, and a server may have
ASCII only.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO

import click

from lapwright.escaping.json_text import json_text
from lapwright.escaping.plain_letters import in_encoding
from lapwright.escaping.unseen import visible

# What a table may count on, however narrow the window.
COLUMNS = 80
# A file or another program takes lines of any length.
_NO_END = 1_000_000


def write_out(text: str) -> None:
    """Print the answer of a command on stdout."""
    click.echo(shown(text))


def write_err(text: str, before: str = "") -> None:
    """Say what is not the answer on stderr, on one line; what is before it is written as it is."""
    click.echo(before + shown(" ".join(text.split()), sys.stderr), err=True)


def write_out_json(value: Any) -> None:
    """Print a value as JSON on stdout, nothing of it changed."""
    text = json_text(value, "utf-8")
    # UTF-8 whatever the terminal's is (RFC 8259, 8.1); what takes text alone gets text.
    click.echo(text.encode() if hasattr(sys.stdout, "buffer") else text)


def shown(text: str, stream: TextIO | None = None) -> str:
    """
    Write a text as a terminal shows it.

    Parameters
    ----------
    text : str
    stream : TextIO, optional
        stdout where not given.

    Returns
    -------
    str
        Shown again it stays as it is.
    """
    return in_encoding(visible(text), _encoding(stream or sys.stdout))


def columns() -> int:
    """Count the columns of a terminal, 80 at least; where stdout goes elsewhere there is no end."""
    try:
        wide = os.get_terminal_size(sys.stdout.fileno()).columns if sys.stdout.isatty() else _NO_END
    except (OSError, ValueError):
        wide = _NO_END
    return max(wide, COLUMNS)


@contextmanager
def safe_errors() -> Iterator[None]:
    """Make what click says of a wrong argument, which quotes it, safe to show."""
    try:
        yield
    except click.ClickException as error:
        # Whatever kind of error it is, and however click will lay it out.
        vars(error)["message"] = shown(error.message, sys.stderr)
        raise


def _encoding(stream: TextIO) -> str:
    return getattr(stream, "encoding", None) or "utf-8"
