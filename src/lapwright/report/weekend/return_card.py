"""A card for the next visit: every corner with usual and best figures, on one page to print."""

from dataclasses import dataclass

from lapwright.columns import records
from lapwright.report.html.plan import Plan, track_plan
from lapwright.report.numbers import NOTHING
from lapwright.report.weekend.data import CircuitData, Field, best_of
from lapwright.report.weekend.rows import number_text
from lapwright.report.weekend.session_facts import QUANTITIES, SessionFacts
from lapwright.report.weekend.typical import together
from lapwright.units import Units
from lapwright.wording.event import weekend as words
from lapwright.wording.heads import NO_LIFT, PAGE, described, shown_in
from lapwright.wording.terms import corner_title


@dataclass(frozen=True)
class CardRow:
    """One corner: what it is called, which way it goes, usual and best of each quantity."""

    title: str
    way: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class ReturnCard:
    """
    A driver's card of a circuit.

    Attributes
    ----------
    title : str
        The circuit.
    facts : tuple of (str, str)
        What it is about and a text: driver, best lap, sessions, car and tyres.
    heads : tuple of str
        Of the quantities.
    rows : tuple of CardRow
    plan : Plan or None
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    heads: tuple[str, ...]
    rows: tuple[CardRow, ...]
    plan: Plan | None


def return_cards(
    circuit: CircuitData, part: Field, name: str, units: Units, *, pictures: bool = True
) -> list[ReturnCard]:
    """
    Make the cards of a field: one per driver with a best lap.

    Parameters
    ----------
    circuit : CircuitData
    part : Field
    name : str
        What the circuit is called.
    units : Units
    pictures : bool
        Whether the plan of the page is wanted.

    Returns
    -------
    list of ReturnCard
        None where the surface changed within the sessions.
    """
    if not part.comparable:
        return []
    plan = track_plan(circuit.track, units) if pictures else None
    cards = []
    for sessions in part.drivers.values():
        best = best_of(sessions)
        if best is None or best.best is None or best.best_lap is None:
            continue
        heads = tuple(
            f"{PAGE['passes'][q]} [{shown_in(described('passes')[q].unit, units)[0]}]"
            for q in QUANTITIES
        )
        rows = tuple(
            _row(row["corner"], row["name"], row["direction"], sessions, best, units)
            for row in records(circuit.corners)
        )
        cards.append(ReturnCard(name, _facts(part, sessions, best), heads, rows, plan))
    return cards


def _facts(
    part: Field, sessions: tuple[SessionFacts, ...], best: SessionFacts
) -> tuple[tuple[str, str], ...]:
    assert best.best is not None
    assert best.best_lap is not None
    clean = sum(len(one.clean) for one in sessions)
    laps = f"{clean} clean lap{'' if clean == 1 else 's'}"
    rows = [
        ("Driver", words.who(best.driver)),
        ("Conditions", words.SURFACES[part.surface].lower()),
        ("Best lap", f"{words.time_text(*best.best)}, lap {best.best_lap} of {best.name}"),
        ("Usual, from", f"{laps} of {', '.join(one.name for one in sessions)}"),
        ("Car, best lap", best.notes.car),
        ("Tyres, best lap", best.notes.tyres),
    ]
    return tuple((label, text) for label, text in rows if text)


def _row(
    corner: int, name: str, way: str, sessions: tuple[SessionFacts, ...], best: SessionFacts,
    units: Units,
) -> CardRow:  # fmt: skip
    facts = [one.corners[corner] for one in sessions if corner in one.corners]
    flat = bool(facts) and 2 * sum(one.flat for one in facts) > len(facts)
    cells: list[str] = []
    for quantity in QUANTITIES:
        column = described("passes")[quantity]
        usual = together([one.typical[quantity] for one in facts if quantity in one.typical])
        text = NO_LIFT if flat and quantity == "min_speed_mps" else NOTHING
        if usual is not None:
            text = number_text(usual.value, usual.sd, column.unit, units, column.decimals)
        on_best = NOTHING
        if corner in best.corners:
            value, sd = best.corners[corner].best[quantity]
            on_best = number_text(value, sd, column.unit, units, column.decimals)
        cells += [text, on_best]
    return CardRow(corner_title(corner, name), way, tuple(cells))
