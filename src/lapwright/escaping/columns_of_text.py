"""
How many columns of a terminal a text takes, and how to break it.

References
----------
Unicode Standard Annex 11, "East Asian Width": wide and full-width characters take two columns.
"""

import unicodedata


def columns_of(text: str) -> int:
    r"""
    Count the columns of a terminal.

    Examples
    --------
    >>> columns_of("Hatch"), columns_of("鈴"), columns_of("e\N{COMBINING ACUTE ACCENT}")
    (5, 2, 1)
    """
    return len(text) if text.isascii() else sum(map(_columns, text))


def _columns(letter: str) -> int:
    if unicodedata.combining(letter) or unicodedata.category(letter) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(letter) in "WF" else 1


def left_aligned(text: str, columns: int) -> str:
    """Fill up with blanks at the end."""
    return text + " " * (columns - columns_of(text))


def right_aligned(text: str, columns: int) -> str:
    """Fill up with blanks at the beginning."""
    return " " * (columns - columns_of(text)) + text


def folded(text: str, columns: int) -> list[str]:
    """
    Break a text at blanks, and within a word only where it is longer than a line.

    Parameters
    ----------
    text : str
    columns : int
        Of a line, two at least.

    Returns
    -------
    list of str
        At least one; a text that fits is one line as it is, with all its blanks.

    Examples
    --------
    >>> folded("friday_practice_in_the_rain.csv of Runa", 16)
    ['friday_practice_', 'in_the_rain.csv', 'of Runa']
    """
    if columns_of(text) <= columns:
        return [text]
    lines, line = [], ""
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if columns_of(longer) <= columns:
            line = longer
            continue
        if line:
            lines.append(line)
        *whole, line = _pieces(word, columns)
        lines += whole
    return [*lines, line]


def _pieces(word: str, columns: int) -> list[str]:
    pieces, used = [""], 0
    for letter in word:
        more = _columns(letter)
        if used + more > columns:
            pieces.append("")
            used = 0
        pieces[-1] += letter
        used += more
    return pieces
