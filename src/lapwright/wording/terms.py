"""Names and explanations that stand on several pages and screens."""

FROM_LINE_TITLE = "start to corner 1"
UNNAMED = "Unnamed circuit"
PLUS_MINUS = (
    "\N{PLUS-MINUS SIGN}: the receiver's error; "
    "two times in three the truth lies within it (one sd)."
)


def corner_title(number: int, name: str) -> str:
    """
    Head of what is about one corner, as on a numbered map.

    Examples
    --------
    >>> corner_title(4, "Long Barrow"), corner_title(4, "4"), corner_title(4, "")
    ('4 Long Barrow', 'corner 4', 'corner 4')
    """
    return f"corner {number}" if name in ("", str(number)) else f"{number} {name}"


def corner_in_text(number: int, name: str) -> str:
    """
    Name a corner within a sentence.

    Examples
    --------
    >>> corner_in_text(4, "Long Barrow"), corner_in_text(4, "4")
    ('Long Barrow (4)', 'corner 4')
    """
    return f"corner {number}" if name in ("", str(number)) else f"{name} ({number})"


def ledger_title(number: int, name: str) -> str:
    """
    Head of a row of the ledger: a corner, or what lies between the start line and the first.

    Examples
    --------
    >>> ledger_title(4, "Long Barrow"), ledger_title(0, "")
    ('4 Long Barrow', 'start to corner 1')
    """
    return corner_title(number, name) if number else FROM_LINE_TITLE


def at_corner(number: int, name: str) -> str:
    """
    Say where, within a sentence.

    Examples
    --------
    >>> at_corner(4, "Long Barrow"), at_corner(0, "")
    ('at Long Barrow (4)', 'between the start line and corner 1')
    """
    if not number:
        return "between the start line and corner 1"
    return f"at {corner_in_text(number, name)}"


def corner_with_name(number: int, name: str) -> str:
    """
    Name a corner at the head of a sentence: by number and, if it has one, name.

    Examples
    --------
    >>> corner_with_name(4, "Long Barrow"), corner_with_name(4, "4")
    ('Corner 4 (Long Barrow)', 'Corner 4')
    """
    return f"Corner {number}" if name in ("", str(number)) else f"Corner {number} ({name})"


def sentence(text: str) -> str:
    """
    Begin with a capital, and leave the rest as it is.

    Examples
    --------
    >>> sentence("one gap of 3.8 s")
    'One gap of 3.8 s'
    """
    return text[:1].upper() + text[1:]
