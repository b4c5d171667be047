"""Numbers in large digits made of plain characters, to be read at two metres."""

# Three by five, four where a sign or a point is narrower; drawn for this, one character a pixel.
_SHAPES = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "+": ("   ", " # ", "###", " # ", "   "),
    "-": ("   ", "   ", "###", "   ", "   "),
    ".": (" ", " ", " ", " ", "#"),
    ":": (" ", "#", " ", "#", " "),
    " ": (" ", " ", " ", " ", " "),
}
HEIGHT = 5
# Signs that stand for one of these.
_SAME = {"\N{MINUS SIGN}": "-"}


def big(text: str, ink: str = "#", across: int = 2) -> list[str]:
    r"""
    Write a number large.

    Parameters
    ----------
    text : str
        Digits, sign, point, colon; anything else is left out.
    ink : str
        One character.
    across : int
        How many of them make a pixel's width: a character is about twice as high as wide.

    Returns
    -------
    list of str
        Five lines of one length.

    Examples
    --------
    >>> print("\n".join(line.rstrip() for line in big("-1", across=1)))
         #
        ##
    ###  #
         #
        ###
    """
    shapes = [_SHAPES[c] for c in (_SAME.get(c, c) for c in text) if c in _SHAPES]
    lines = []
    for row in range(HEIGHT):
        cells = ("".join(pixel * across for pixel in shape[row]) for shape in shapes)
        lines.append((" " * across).join(cells).replace("#", ink))
    return lines
