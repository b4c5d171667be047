"""
What was odd in a log, with the lines of the file it is about.

The sentence itself is made where the thing is found, such as `lapwright.ingest.oddities`.
"""

from lapwright.ingest import Finding


def lines_text(lines: tuple[tuple[int, int], ...], most: int = 6) -> str:
    """
    Write line numbers of a file.

    Parameters
    ----------
    lines : tuple of (int, int)
        First and last of each stretch, counted from 1 as in an editor.
    most : int
        Stretches to name; the rest are counted.

    Returns
    -------
    str

    Examples
    --------
    >>> lines_text(((4, 4),)), lines_text(((4, 4), (10, 12)))
    ('file line 4', 'file lines 4, 10 to 12')
    >>> lines_text(((1, 1), (3, 3), (5, 5)), most=2)
    'file lines 1, 3 and 1 more'
    """
    said = [f"{a}" if a == b else f"{a} to {b}" for a, b in lines[:most]]
    single = len(lines) == 1 and lines[0][0] == lines[0][1]
    text = f"file line{'' if single else 's'} {', '.join(said)}"
    more = len(lines) - most
    return text if more <= 0 else f"{text} and {more} more"


def finding_text(one: Finding, most: int = 6) -> str:
    """
    Say a finding and where in the file it is.

    Examples
    --------
    >>> finding_text(Finding("gap", "one gap of 3.8 s", ((36, 36),)))
    'one gap of 3.8 s, before file line 36'
    >>> finding_text(Finding("duplicate", "duplicate fixes; left out", ((36, 36), (40, 40))))
    'duplicate fixes; left out (file lines 36, 40)'
    """
    if not one.lines:
        return one.message
    where = lines_text(one.lines, most)
    # The line of a gap is the first one after it.
    return f"{one.message}, before {where}" if one.code == "gap" else f"{one.message} ({where})"
