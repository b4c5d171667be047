"""
How a result comes to be shown in a notebook.

A `Session` comes before the report that draws it (data flow one way through the rooms), so it
cannot call it.  It only says here that it wants to be shown; `lapwright/__init__.py`, which knows
every room and imports none before its time, says by whom.
"""

from collections.abc import Callable

Show = Callable[[object], str]

_shows: list[Show] = []


def shown_by(show: Show) -> None:
    """
    Say what writes results as HTML.

    Parameters
    ----------
    show : callable
        From a result to the HTML of a notebook's cell.  The last one named counts.
    """
    _shows[:] = [show]


class ShowsItself:
    """A result that a notebook shows as tables and pictures where it stands last in a cell."""

    def _repr_html_(self) -> str:
        return _shows[0](self)
