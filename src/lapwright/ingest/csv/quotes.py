"""
Quotes in a delimited text: which line ends and delimiters stand within them, and which are lost.

A lost quote would turn all that follows inside out, and half of the file into one field.
"""

from itertools import accumulate
from operator import xor

import numpy as np
import numpy.typing as npt

from lapwright.ingest.time.scales import Bools, Ints

Bytes = npt.NDArray[np.uint8]
NEWLINE, QUOTE, RETURN = 10, 34, 13
# A field of several lines ends within five, and the lines behind it tell it from a lost quote.
_MOST_JOINED, _LOOK_AHEAD = 6, 12


def bytes_of(*codes: int) -> Bools:
    """Make a table of which bytes are meant (`numpy.isin` takes long for thousands of columns)."""
    table = np.zeros(256, np.bool_)
    table[list(codes)] = True
    return table


def outside_quotes(
    buffer: Bytes, size: int, delimiter: int, marks: Bools, newline: Bools
) -> tuple[Bools, Bools]:
    """
    Take delimiters and line ends inside quotes for text.

    A quote that never closes would turn everything behind it inside out, so a line end
    inside quotes only counts as text if the quote closes within a few lines;
    otherwise the quotes of that line are blotted out.

    Parameters
    ----------
    buffer : ndarray of uint8
        The text and some padding; lost quotes and the line ends of fields become blanks in it.
    size : int
        Length of the text.
    delimiter : int
    marks, newline : ndarray of bool, shape (size,)
        Delimiters and line ends; line ends alone.

    Returns
    -------
    marks, newline : ndarray of bool, shape (size,)
        Those that are no text.
    """
    quote = buffer[:size] == QUOTE
    ends = np.flatnonzero(newline)
    at = np.flatnonzero(quote)
    line_of = np.searchsorted(ends, at)
    count = np.bincount(line_of, minlength=len(ends))
    odd, has_quote = (count % 2 == 1).tolist(), (count > 0).tolist()
    opens, closes = _at_the_edge(buffer, at, count, delimiter)
    joined, stray = _open_lines(odd, has_quote, opens, closes)
    if stray:
        blotted = at[np.isin(line_of, stray)]
        quote[blotted] = False
        buffer[blotted] = 32
    if joined:
        within = ends[joined]
        newline = newline.copy()
        newline[within] = False
        buffer[within] = 32
        buffer[(within - 1)[buffer[within - 1] == RETURN]] = 32
    inside = np.logical_xor.accumulate(quote)
    return marks & ~inside | newline & ~inside, newline & ~inside


def _at_the_edge(
    buffer: Bytes, at: Ints, count: Ints, delimiter: int
) -> tuple[list[bool], list[bool]]:
    """Tell lines whose last quote may open a field, and those whose first may close one."""
    if len(at) == 0:
        return [False] * len(count), [False] * len(count)
    behind = np.cumsum(count)
    last, first = at[np.maximum(behind - 1, 0)], at[np.minimum(behind - count, len(at) - 1)]
    edge = bytes_of(delimiter, NEWLINE, RETURN, 32, 9)
    opens = (last == 0) | edge[buffer[last - 1]]
    return opens.tolist(), (edge[buffer[first + 1]] | (buffer[first + 1] == QUOTE)).tolist()


def _open_lines(
    odd: list[bool], has_quote: list[bool], opens: list[bool], closes: list[bool]
) -> tuple[list[int], list[int]]:
    """
    Find the lines whose quotes do not close on them.

    Each is looked at once, with the few lines behind it: a file of lost quotes must not take long.

    Parameters
    ----------
    odd, has_quote, opens, closes : list of bool
        Whether a line has an odd number of quotes, and any; whether its last may open a field,
        and its first close one.

    Returns
    -------
    joined, stray : list of int
        Lines whose end is text within a field; lines with a lost quote.
    """
    joined: list[int] = []
    stray: list[int] = []
    line, count = 0, len(odd)
    while line < count:
        if not odd[line]:
            line += 1
            continue
        inside = list(accumulate(odd[line : line + _LOOK_AHEAD], xor))
        closing = next((k for k, still in enumerate(inside[:_MOST_JOINED]) if not still), 0)
        lone = line + 1 >= count or not has_quote[line + 1]
        at_edges = opens[line] and closes[line + closing]
        # A field of several lines, not a lost quote: after it, the next lines are balanced.
        if closing and at_edges and not lone and 2 * sum(inside) <= len(inside):
            joined += range(line, line + closing)
            line += closing + 1
        else:
            stray.append(line)
            line += 1
    return joined, stray
