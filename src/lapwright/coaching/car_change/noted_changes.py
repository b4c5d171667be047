"""
What came of each change that the notes of a weekend name.

A car's changes are followed over all its sessions, whoever drove; what one did is asked for each
driver apart, on one circuit and one surface: wet and dry are never put together, nor is a session
used in which the surface changed.  Sessions more than three days apart are two weekends.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.coaching.car_change.car_states import car_states
from lapwright.coaching.car_change.effect import BeforeAfter
from lapwright.coaching.car_change.lap_model import SETTLE_S, changes_of
from lapwright.coaching.car_change.session_laps import SessionLaps
from lapwright.coaching.conditions import surface
from lapwright.notes.weekend_notes import LogNotes

Flags = npt.NDArray[np.bool_]

_WEEKEND = pd.Timedelta(days=3)


@dataclass(frozen=True, eq=False)
class Driven:
    """
    A session with what the notes say of it.

    Attributes
    ----------
    laps : SessionLaps
    notes : LogNotes
    track : str
        Name of the circuit.
    """

    laps: SessionLaps
    notes: LogNotes
    track: str = ""

    @property
    def driver(self) -> str:
        """The driver, however written."""
        return " ".join(self.notes.driver.casefold().split())

    @property
    def car(self) -> str:
        """The car, however written; the driver's where none is noted."""
        return " ".join(self.notes.car.casefold().split()) or f"driver {self.driver}"


@dataclass(frozen=True, slots=True)
class NotedChange:
    """
    One change, or several made together, and one driver.

    Attributes
    ----------
    entries : tuple of str
        As noted.
    driver : str
        As noted; may be empty.
    session : str
        The first session with it.
    before, after : tuple of str
        Sessions without and with it that were compared.
    result : BeforeAfter or None
    why_not : {"", "no_other_side", "other_surface", "changing", "not_apart"}
        Why there is no result: no session without it, none on the same surface, the surface
        changed during the session, or it came and went with other changes.
    tyres : tuple of (str, str)
        Tyres before and after, where they are noted and differ; else empty.
    """

    entries: tuple[str, ...]
    driver: str
    session: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    result: BeforeAfter | None
    why_not: str = ""
    tyres: tuple[str, ...] = ()


def noted_changes(
    driven: Sequence[Driven], settle_s: float = SETTLE_S
) -> tuple[tuple[NotedChange, ...], tuple[tuple[str, str], ...]]:
    """
    Follow every change of a folder's notes.

    Parameters
    ----------
    driven : sequence of Driven
        In the order of the notes; where all have a date, that decides.
    settle_s : float
        See `MoreLaps`.

    Returns
    -------
    changes : tuple of NotedChange
        In the order they were made.
    unclear : tuple of (str, str)
        Session and entry that takes off a change that is not on the car.
    """
    if all(one.laps.start_utc is not None for one in driven):
        driven = sorted(driven, key=lambda one: one.laps.start_utc or pd.Timestamp.max)
    out: list[NotedChange] = []
    unclear = []
    for car in dict.fromkeys(one.car for one in driven):
        own = [one for one in driven if one.car == car]
        states = car_states([one.notes.changes for one in own])
        unclear += [(own[k].laps.name, entry) for k, entry in states.unclear]
        for track, driver in dict.fromkeys((one.track, one.driver) for one in own):
            mine = [k for k, one in enumerate(own) if (one.track, one.driver) == (track, driver)]
            out += _of_driver([own[k] for k in mine], states.entries, states.on_car[mine], settle_s)
    order = {one.laps.name: k for k, one in enumerate(driven)}
    return tuple(sorted(out, key=lambda one: order[one.session])), tuple(unclear)


def _of_driver(
    mine: Sequence[Driven], entries: tuple[str, ...], on_car: Flags, settle_s: float
) -> Iterator[NotedChange]:
    """Ask each weekend and surface for what the changes did; say why where none can tell."""
    told: set[int] = set()
    for rows in _comparable(mine):
        group, state = [mine[k] for k in rows], on_car[rows]
        moved = [k for k in range(len(entries)) if 0 < state[:, k].sum() < len(rows)]
        # Changes that came and went together are one.
        patterns = dict.fromkeys(tuple(state[:, k]) for k in moved)
        if not patterns:
            continue
        columns = np.array(list(patterns), dtype=bool).T
        results = changes_of([one.laps for one in group], columns, settle_s)
        for column, result in zip(columns.T, results, strict=True):
            same = [k for k in moved if (state[:, k] == column).all()]
            told.update(same)
            said = tuple(entries[k] for k in same)
            yield _compared(group, column, said, result)
    for k, entry in enumerate(entries):
        with_it = [int(i) for i in np.flatnonzero(on_car[:, k])]
        # What was changed for somebody else, and never seen without it, is not this driver's.
        noted = [i for i in with_it if entry in mine[i].notes.changes]
        if k not in told and noted:
            yield NotedChange((entry,), mine[noted[0]].notes.driver, mine[noted[0]].laps.name, (),
                              (), None, _why(mine, on_car[:, k], noted[0]))  # fmt: skip


def _compared(
    group: Sequence[Driven], column: Flags, entries: tuple[str, ...], result: BeforeAfter
) -> NotedChange:
    sides = [
        tuple(one for one, on in zip(group, column, strict=True) if on == side)
        for side in (False, True)
    ]
    tyres = [", ".join(dict.fromkeys(o.notes.tyres for o in side if o.notes.tyres))
             for side in sides]  # fmt: skip
    differ = all(tyres) and tyres[0].casefold() != tyres[1].casefold()
    names = [tuple(one.laps.name for one in side) for side in sides]
    known = bool(np.isfinite(result.low95_s))
    enough = min(result.sessions_before, result.sessions_after) > 0
    why = "" if known or result.too_few or not enough else "not_apart"
    return NotedChange(
        entries, sides[1][0].notes.driver, names[1][0], names[0], names[1], result, why,
        tuple(tyres) if differ else (),
    )  # fmt: skip


def _comparable(mine: Sequence[Driven]) -> Iterator[list[int]]:
    """Sessions on one surface and of one weekend."""
    found = [surface(one.notes.conditions) for one in mine]
    known = [kind for kind in ("dry", "wet") if kind in found]
    # Who notes nothing where others were dry drove in the dry; where it rained, that is not known.
    kinds: list[set[str]] = [{"dry", ""}] if known == ["dry"] else [{kind} for kind in known]
    if "dry" not in known:
        kinds.append({""})
    for kind in kinds:
        rows = [k for k, one in enumerate(found) if one in kind]
        part = rows[:1]
        for a, b in pairwise(rows):
            first, second = mine[a].laps.start_utc, mine[b].laps.start_utc
            if first is not None and second is not None and second - first > _WEEKEND:
                yield part
                part = []
            part.append(b)
        yield part


def _why(mine: Sequence[Driven], on: Flags, first: int) -> str:
    """Say why a change noted for a session could not be compared."""
    if surface(mine[first].notes.conditions) == "changing":
        return "changing"
    return "no_other_side" if on.all() else "other_surface"
