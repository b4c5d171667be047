"""Text in TOML."""

from lapwright.escaping.unseen import UNSEEN


def basic_string(text: str) -> str:
    r"""
    Return text as a TOML basic string, which reads back as the same text.

    Parameters
    ----------
    text : str
        Halves of pairs, which TOML cannot hold, are left to whoever encodes it.

    Returns
    -------
    str
        On one line; quotes, backslashes and all that cannot be seen escaped.

    References
    ----------
    TOML v1.0.0, "String".

    Examples
    --------
    >>> print(basic_string('a "b"\n\u202e'))
    "a \"b\"\u000a\u202e"
    """
    out = []
    for c in text:
        if c in '"\\':
            out.append("\\" + c)
        elif c in "\n\t" or (UNSEEN.match(c) and not "\ud800" <= c <= "\udfff"):
            out.append(f"\\u{ord(c):04x}" if ord(c) < 0x10000 else f"\\U{ord(c):08x}")
        else:
            out.append(c)
    return '"' + "".join(out) + '"'
