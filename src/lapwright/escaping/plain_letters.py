"""
Letters for where there are fewer of them: another encoding, a font that lacks some.

Every sign of our own has a stand-in that says the same; a letter loses its accent; what is left
becomes a question mark, so that a name keeps its length.
"""

import unicodedata
from collections.abc import Callable
from functools import cache

_STAND_INS = {
    "\N{PLUS-MINUS SIGN}": "+-", "\N{MINUS SIGN}": "-", "\N{EN DASH}": "-", "\N{EM DASH}": "-",
    "\N{HYPHEN}": "-", "\N{NON-BREAKING HYPHEN}": "-", "\N{MIDDLE DOT}": "*", "\N{BULLET}": "*",
    "\N{MULTIPLICATION SIGN}": "x", "\N{DIVISION SIGN}": "/", "\N{FRACTION SLASH}": "/",
    "\N{DEGREE SIGN}": "deg ",
    "\N{SUPERSCRIPT TWO}": "2", "\N{SUPERSCRIPT THREE}": "3", "\N{MICRO SIGN}": "u",
    "\N{GREEK SMALL LETTER MU}": "u", "\N{LEFT SINGLE QUOTATION MARK}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'", "\N{LEFT DOUBLE QUOTATION MARK}": '"',
    "\N{RIGHT DOUBLE QUOTATION MARK}": '"', "\N{HORIZONTAL ELLIPSIS}": "...",
    "\N{NO-BREAK SPACE}": " ", "\N{THIN SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " ",
    "\N{RIGHTWARDS ARROW}": "->", "\N{LEFTWARDS ARROW}": "<-", "\N{ALMOST EQUAL TO}": "~",
    "\N{LESS-THAN OR EQUAL TO}": "<=", "\N{GREATER-THAN OR EQUAL TO}": ">=",
    "\N{LATIN SMALL LETTER SHARP S}": "ss", "\N{LATIN SMALL LETTER O WITH STROKE}": "o",
    "\N{LATIN CAPITAL LETTER O WITH STROKE}": "O", "\N{LATIN SMALL LETTER AE}": "ae",
    "\N{LATIN CAPITAL LETTER AE}": "AE", "\N{LATIN SMALL LETTER L WITH STROKE}": "l",
    "\N{LATIN CAPITAL LETTER L WITH STROKE}": "L",
    "\N{SINGLE LEFT-POINTING ANGLE QUOTATION MARK}": "<",
    "\N{SINGLE RIGHT-POINTING ANGLE QUOTATION MARK}": ">",
}  # fmt: skip


def in_encoding(text: str, encoding: str) -> str:
    """
    Write a text with the characters of an encoding.

    Parameters
    ----------
    text : str
    encoding : str

    Returns
    -------
    str

    Examples
    --------
    >>> in_encoding("1:35.2 ± 0.01 at Zoë's", "ascii"), in_encoding("± Zoë", "cp1252")
    ("1:35.2 +- 0.01 at Zoe's", '± Zoë')
    """
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return with_letters(text, lambda letter: _encodes(letter, encoding))
    except LookupError:
        return in_encoding(text, "ascii")
    return text


def with_letters(text: str, has: Callable[[str], bool]) -> str:
    """
    Write a text with the letters there are.

    Parameters
    ----------
    text : str
    has : callable
        Whether a letter is one of them; ASCII must be.

    Returns
    -------
    str
    """
    return "".join(c if c.isascii() or has(c) else _instead(c, has) for c in text)


def _instead(letter: str, has: Callable[[str], bool]) -> str:
    if letter in _STAND_INS:
        return _STAND_INS[letter]
    parts = unicodedata.normalize("NFKD", letter)
    kept = "".join(c if c.isascii() or has(c) else _STAND_INS.get(c, "") for c in parts)
    if kept.strip():
        return kept
    # A mark that belongs to the letter before it has no place of its own.
    return "" if unicodedata.combining(letter) else "?"


@cache
def _encodes(letter: str, encoding: str) -> bool:
    try:
        letter.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True
