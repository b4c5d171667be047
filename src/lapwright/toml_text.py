"""
TOML as people write it by hand: read, or refused in one way.

`tomllib` lets other errors through than its own where a text is nested deeper than Python goes or
holds a number of thousands of digits, and takes minutes for keys of thousands of parts.
"""

import re
import tomllib
from typing import Any

# Notes of a weekend are some kilobytes. [letters]
MAX_LETTERS = 1_000_000
# Keys of ours have four parts at most. [dots]
_MAX_DOTS = 50
_MOST = 2**63 - 1
_MANY_DOTS = re.compile(
    rf"(?m)^[ \t]*+\[{{0,2}}+(?:[^\s.=\[\]#]++[ \t]*+\.[ \t]*+){{{_MAX_DOTS},}}+"
)


class TomlError(ValueError):
    """A text that is no TOML, or none that a person wrote."""


def toml_of(text: str) -> dict[str, Any]:
    """
    Read TOML.

    Parameters
    ----------
    text : str

    Returns
    -------
    dict

    Raises
    ------
    TomlError
        If it is none; its text says what is wrong, and the line where it is known.

    Examples
    --------
    >>> toml_of("laps = 3")
    {'laps': 3}
    >>> toml_of("laps = ")
    Traceback (most recent call last):
        ...
    lapwright.toml_text.TomlError: Invalid value (at end of document)
    """
    if len(text) > MAX_LETTERS:
        msg = f"more than {MAX_LETTERS} letters"
        raise TomlError(msg)
    many = _MANY_DOTS.search(text)
    if many:
        line = text.count("\n", 0, many.start()) + 1
        msg = f"a key of more than {_MAX_DOTS} parts (at line {line})"
        raise TomlError(msg)
    try:
        return _checked(tomllib.loads(text))
    except TomlError:
        raise
    except tomllib.TOMLDecodeError as error:
        raise TomlError(str(error)) from None
    except ValueError as error:
        msg = "a number of thousands of digits"
        raise TomlError(msg) from error
    except RecursionError as error:
        msg = "brackets within brackets, hundreds of times"
        raise TomlError(msg) from error


def _checked(document: dict[str, Any]) -> dict[str, Any]:
    """Refuse whole numbers that TOML does not have: "Integer" in TOML v1.0.0 asks for 64 bits."""
    todo: list[Any] = [document]
    while todo:
        one = todo.pop()
        if isinstance(one, dict):
            todo += one.values()
        elif isinstance(one, list):
            todo += one
        elif isinstance(one, int) and not -_MOST - 1 <= one <= _MOST:
            msg = "a whole number of more than 64 bits"
            raise TomlError(msg)
    return document
