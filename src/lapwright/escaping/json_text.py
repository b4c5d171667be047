"""JSON that is safe on a terminal and in any file: what cannot be seen is written as an escape."""

import json
import re
from typing import Any

from lapwright.escaping.plain_letters import in_encoding
from lapwright.escaping.unseen import UNSEEN, visible

_BEYOND_ASCII = re.compile(r"[^\x00-\x7f]")


def json_text(value: Any, encoding: str = "utf-8", *, finite: bool = True) -> str:
    r"""
    Write a value as JSON on one line, which reads back as the same value.

    Parameters
    ----------
    value
        What JSON has.
    encoding : str
        Of where it goes; if it lacks a letter, all beyond ASCII are escaped.
    finite : bool
        Whether a number that is not finite is an error; else it is written as Python reads it.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        If it holds a number that is not finite, and may not.

    References
    ----------
    RFC 8259, "The JavaScript Object Notation (JSON) Data Interchange Format", 2017, section 7.

    Examples
    --------
    >>> print(json_text({"driver": "Zoë\x9b1m\u202e"}))
    {"driver": "Zoë\u009b1m\u202e"}
    """
    text = json.dumps(value, ensure_ascii=False, allow_nan=not finite)
    text = UNSEEN.sub(_escape, text)
    return text if in_encoding(text, encoding) == text else _BEYOND_ASCII.sub(_escape, text)


def _escape(found: re.Match[str]) -> str:
    """Write a character as JSON escapes it: two escapes beyond U+FFFF."""
    data = found[0].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{data[k : k + 2].hex()}" for k in range(0, len(data), 2))


def json_to_show(value: Any, *, sort_keys: bool = False) -> str:
    """
    Write a value as JSON whose texts a page shows: what cannot be seen is made visible.

    Parameters
    ----------
    value
        What JSON has.
    sort_keys : bool
        As for `json.dumps`; jinja2 asks for it.

    Returns
    -------
    str
        ASCII.
    """
    text = json.dumps(value, sort_keys=sort_keys)
    # Long lists of numbers are not walked for nothing.
    if "\\" in text or "\x7f" in text:
        return json.dumps(_shown(value), sort_keys=sort_keys)
    return text


def _shown(value: Any) -> Any:
    if isinstance(value, str):
        return visible(value)
    if isinstance(value, dict):
        return {visible(str(key)): _shown(item) for key, item in value.items()}
    if isinstance(value, list | tuple) and any(isinstance(v, str | dict | list) for v in value):
        return [_shown(item) for item in value]
    return value
