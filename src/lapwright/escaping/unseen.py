"""
Characters that cannot be seen, made visible: ``[U+202E]``.

A control code can move a terminal's cursor, a mark of direction can turn a file name round, and two
names that differ by a blank of no width look the same.  None of them is needed to write a name, so
all that people read shows them.  The price: joined emoji and the joiners of a few scripts are shown
in pieces.

References
----------
The Unicode Standard 16.0, sections 23.1 (control codes), 23.2 (layout controls),
23.8 (specials);
Unicode Technical Report 36, "Unicode Security Considerations", section 2.5.
"""

import re

# Controls but line feed and tab (which lay text out), soft hyphen, letters without a shape, marks
# of direction and joining, separators of lines, surrogates, the non-characters and tags: general
# categories Cc, Cf, Zl, Zp, Cs, and what else is ignored when drawn.
_CLASS = (
    "\x00-\x08\x0b-\x1f\x7f-\x9f\u00ad\u034f\u0600-\u0605\u061c\u06dd\u070f\u0890\u0891\u08e2"
    "\u115f\u1160\u17b4\u17b5\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\u3164\ud800-\udfff"
    "\ufdd0-\ufdef\ufeff\uffa0\ufff0-\ufffb\ufffe\uffff\U000110bd\U000110cd\U00013430-\U0001343f"
    "\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e00ff\U000e01f0-\U000e0fff"
)
UNSEEN = re.compile(f"[{_CLASS}]")
# What no text file in UTF-8 can hold: half of a pair, as from a file name that is not UTF-8.
_HALF = re.compile("[\ud800-\udfff]")


def visible(text: str) -> str:
    r"""
    Write every character that cannot be seen as its number.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        Line feeds and tabs stay.

    Examples
    --------
    >>> visible("friday\x1b[2J\u202e.csv"), visible("Saint-Aldéric\n")
    ('friday[U+001B][2J[U+202E].csv', 'Saint-Aldéric\n')
    """
    if text.isascii() and text.isprintable():
        return text
    return UNSEEN.sub(_numbered, text)


def encodable(text: str) -> str:
    r"""
    Write only what UTF-8 cannot hold as its number.

    Examples
    --------
    >>> encodable("run\udcff\u200d")
    'run[U+DCFF]\u200d'
    """
    return text if text.isascii() else _HALF.sub(_numbered, text)


def _numbered(found: re.Match[str]) -> str:
    return f"[U+{ord(found[0]):04X}]"
