"""
Which changes were on the car in each session, by the notes.

An entry of ``changes`` is on the car from that session on.  ``back: ENTRY`` takes it off again, and
``back`` alone all that was changed last.  The same entry again puts it back on, or says nothing new
where it is on the car still.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Flags = npt.NDArray[np.bool_]

_BACK = "back"


@dataclass(frozen=True, eq=False)
class CarStates:
    """
    The car from session to session.

    Attributes
    ----------
    entries : tuple of str
        Each change as first noted.
    on_car : ndarray of bool, shape (sessions, entries)
    unclear : tuple of (int, str)
        Session and entry that takes off what is not on the car.
    """

    entries: tuple[str, ...]
    on_car: Flags
    unclear: tuple[tuple[int, str], ...] = ()


def car_states(changes: Sequence[Sequence[str]]) -> CarStates:
    """
    Follow the changes.

    Parameters
    ----------
    changes : sequence of sequence of str
        The entries of each session, in the order the car was driven.

    Returns
    -------
    CarStates

    Examples
    --------
    >>> states = car_states([[], ["softer bar"], ["back"], ["Softer bar"]])
    >>> states.entries, states.on_car[:, 0].tolist()
    (('softer bar',), [False, True, False, True])
    """
    said: dict[str, str] = {}
    on: set[str] = set()
    last: set[str] = set()
    rows, unclear = [], []
    for session, entries in enumerate(changes):
        new: set[str] = set()
        for entry in entries:
            off, which = _taken_off(entry)
            if not off:
                if which and which not in on:
                    said.setdefault(which, entry)
                    new.add(which)
            elif gone := (last if not which else {which}) & on:
                on -= gone
            else:
                unclear.append((session, entry))
        on |= new
        last = new or last
        rows.append(set(on))
    keys = list(said)
    state = np.array([[key in row for key in keys] for row in rows], dtype=bool)
    return CarStates(tuple(said.values()), state.reshape(len(rows), len(keys)), tuple(unclear))


def _taken_off(entry: str) -> tuple[bool, str]:
    """Tell whether an entry takes a change off, and which; empty for the last one."""
    plain = " ".join(entry.casefold().split())
    if plain == _BACK:
        return True, ""
    if plain.startswith(f"{_BACK}:"):
        return True, plain.removeprefix(f"{_BACK}:").strip()
    return False, plain
