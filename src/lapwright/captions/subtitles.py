"""
Cues as text: WebVTT, and SubRip for players that do not know it.

WebVTT is a standard of the W3C [1]_.  SubRip has none: what is written here is the little that all
of its readers agree on (common practice, no source): number, times with a decimal comma, lines, an
empty line.

References
----------
.. [1] "WebVTT: The Web Video Text Tracks Format", W3C Candidate Recommendation, 4 April 2019,
   sections 4.1 to 4.2.2.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from lapwright.escaping.unseen import visible

# SubRip has no way to write these as themselves: some players take them for mark-up.
_PLAIN = str.maketrans({"<": "\u2039", ">": "\u203a", "{": "(", "}": ")"})

_ISOLATES = re.compile("([\u2068\u2069])")


@dataclass(frozen=True, slots=True)
class Cue:
    """A caption: when it appears and goes in the video, and its lines."""

    start_s: float
    end_s: float
    lines: tuple[str, ...]


def webvtt(cues: Sequence[Cue], note: str) -> str:
    """
    Write cues as WebVTT.

    Parameters
    ----------
    cues : sequence of Cue
    note : str
        A comment at the head of the file.

    Returns
    -------
    str

    Examples
    --------
    >>> print(webvtt([Cue(192.4, 192.9, ("Lap 1  0:00.0", "Tom & Jo"))], "From friday.csv"))
    WEBVTT
    <BLANKLINE>
    NOTE From friday.csv
    <BLANKLINE>
    00:03:12.400 --> 00:03:12.900
    Lap 1  0:00.0
    Tom &amp; Jo
    <BLANKLINE>
    """
    comment = " ".join(visible(note).split()).replace("-->", "->")
    blocks = ["WEBVTT", f"NOTE {comment}"]
    blocks += [
        f"{_clock(cue.start_s, '.')} --> {_clock(cue.end_s, '.')}\n"
        + "\n".join(_escaped(line) for line in _lines(cue))
        for cue in cues
    ]
    return "\n\n".join(blocks) + "\n"


def subrip(cues: Sequence[Cue]) -> str:
    """
    Write cues as SubRip.

    Examples
    --------
    >>> print(subrip([Cue(192.4, 192.9, ("Lap 1  0:00.0",))]))
    1
    00:03:12,400 --> 00:03:12,900
    Lap 1  0:00.0
    <BLANKLINE>
    """
    blocks = [
        f"{k}\n{_clock(cue.start_s, ',')} --> {_clock(cue.end_s, ',')}\n"
        + "\n".join(line.translate(_PLAIN) for line in _lines(cue))
        for k, cue in enumerate(cues, start=1)
    ]
    return "\n\n".join(blocks) + "\n"


def _lines(cue: Cue) -> list[str]:
    """Return the lines of a caption: none holds two, and none is empty, which would end it."""
    # Isolates keep a name of another direction apart; those in a name are visible long since.
    parts = (_ISOLATES.split(line) for line in cue.lines)
    shown = ("".join(p if _ISOLATES.fullmatch(p) else visible(p) for p in line) for line in parts)
    lines = (line.replace("\n", " ").replace("\t", " ") for line in shown)
    return [line for line in lines if line.strip()]


def _escaped(line: str) -> str:
    return line.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _clock(time_s: float, mark: str) -> str:
    """Hours, minutes, seconds and milliseconds; ends and beginnings round the same way."""
    seconds, milliseconds = divmod(round(1000.0 * max(time_s, 0.0)), 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}{mark}{milliseconds:03d}"
