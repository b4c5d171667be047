"""
The colours of figures and pages, by what they say, on white and on dark ground.

They are those of Okabe and Ito [1]_, which people with any kind of colour vision tell apart, less
the ones that do not reach the contrast WCAG 2.2 asks of text (4.5 : 1) and lines (3 : 1).  Some of
them are alike in grey, so no colour is ever the only carrier: the best lap is a solid line, the
usual one dashed, lost time lies to the right of zero and gained time to the left.

References
----------
.. [1] M. Okabe and K. Ito, "Color Universal Design", 2008.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Palette:
    """
    Colours as ``#rrggbb`` by role.

    Attributes
    ----------
    page, panel : str
        Grounds: of the page, and of figures and tables on it.
    ink, quiet : str
        Text, and text that may be skipped.
    rule, axis : str
        Rules that only guide the eye; lines of axes.
    best, usual, other : str
        The best lap, the usual lap, any other lap.
    gained, lost : str
        Time gained and lost against the reference.
    mark : str
        The cursor and what the reader chose.
    """

    page: str
    panel: str
    ink: str
    quiet: str
    rule: str
    axis: str
    best: str
    usual: str
    other: str
    gained: str
    lost: str
    mark: str


LIGHT = Palette(
    page="#f4f2ec", panel="#ffffff", ink="#1a1a1a", quiet="#595959", rule="#dddddd",
    axis="#767676", best="#0072b2", usual="#d55e00", other="#8a8a8a", gained="#0072b2",
    lost="#d55e00", mark="#000000",
)  # fmt: skip
DARK = Palette(
    page="#14161a", panel="#1d2026", ink="#ececec", quiet="#b4b4b4", rule="#343840",
    axis="#9a9a9a", best="#56b4e9", usual="#e69f00", other="#8c8c8c", gained="#56b4e9",
    lost="#e69f00", mark="#ffffff",
)  # fmt: skip
