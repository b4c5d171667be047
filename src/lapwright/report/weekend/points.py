"""The weekend in a few points, and where to begin next time, as sentences."""

from dataclasses import dataclass

from lapwright.coaching.conditions import also_different
from lapwright.report.headline import worth
from lapwright.report.weekend.begin_next import Begin
from lapwright.report.weekend.data import CircuitData, Field
from lapwright.report.weekend.rows import gap_to
from lapwright.report.weekend.session_facts import SessionFacts
from lapwright.wording.event import weekend as words
from lapwright.wording.terms import UNNAMED


def circuit_name(circuit: CircuitData) -> str:
    """What a circuit is called."""
    return circuit.track.name or UNNAMED


def points(circuit: CircuitData) -> list[str]:
    """
    Sum up what was driven at a circuit.

    Parameters
    ----------
    circuit : CircuitData

    Returns
    -------
    list of str
        Sessions and laps, best laps, pace, where to begin.
    """
    lines = [_driven(circuit)]
    for part in circuit.fields:
        lines += [line for line in (_best(circuit, part), _added_up(circuit, part)) if line]
        lines += [line for driver in part.drivers if (line := pace_line(part, driver))]
    lines.append(_begin(circuit))
    return lines


def _driven(circuit: CircuitData) -> str:
    sessions = circuit.sessions
    timed = sum(len(one.laps) for one in sessions)
    clean = sum(len(one.clean) for one in sessions)
    names = list(dict.fromkeys(one.driver for one in sessions if one.driver))
    text = (
        f"{_count(len(sessions), 'session')} at {circuit_name(circuit)}: "
        f"{_count(timed, 'timed lap')}, {clean} of them clean"
    )
    return f"{text}. Driver{'' if len(names) == 1 else 's'}: {', '.join(names)}." if names else (
        f"{text}."
    )  # fmt: skip


def _count(n: int, what: str) -> str:
    return f"{n} {what}{'' if n == 1 else 's'}"


def _on(circuit: CircuitData, part: Field) -> str:
    """Which of the fields, where there are several."""
    return f" ({words.SURFACES[part.surface].lower()})" if len(circuit.fields) > 1 else ""


def _best(circuit: CircuitData, part: Field) -> str:
    """The best lap, and how far the others' best laps are from it."""
    on = _on(circuit, part)
    if not part.bests:
        return f"No lap counts as a best lap{on}."
    leader = part.bests[0]
    text = f"Best lap{on}: {best_words(leader)}"
    if not part.comparable:
        return f"{text}."
    for other in part.bests[1:]:
        _, gap, sd = gap_to(other, leader)
        assert other.best_lap is not None
        lap = words.lap_of(other.driver or words.NO_DRIVER, other.best_lap, other.name)
        text += f"; {lap}: {words.gap_in_words(gap, sd)}"
    return f"{text}."


def best_words(one: SessionFacts) -> str:
    """Write the best lap of a session: its time, and whose it was."""
    assert one.best is not None
    assert one.best_lap is not None
    return f"{words.time_text(*one.best)}, {words.lap_of(one.driver, one.best_lap, one.name)}"


def _added_up(circuit: CircuitData, part: Field) -> str:
    """The quickest session's best sectors; nothing where there is none."""
    known = [one for one in part.sessions if one.added_up is not None]
    if not known or not part.comparable:
        return ""
    one = min(known, key=lambda s: s.added_up or (0.0, 0.0))
    assert one.added_up is not None
    return (
        f"Best sectors of one session added up{_on(circuit, part)}: "
        f"{words.time_text(*one.added_up)} ({one.name}), a lap nobody drove."
    )


def pace_line(part: Field, driver: str) -> str:
    """Say how a driver's clean laps changed over the weekend; empty where that is not known."""
    ends, found = part.ends(driver), part.pace_change(driver)
    if ends is None or found is None:
        return ""
    what = [name for name, _, _ in also_different(ends[0].notes, ends[1].notes)]
    text = words.pace_text(driver, ends[0].name, ends[1].name, found)
    return " ".join(filter(None, (text, words.also_changed(what))))


def _begin(circuit: CircuitData) -> str:
    """What to begin with, in short."""
    said = []
    for part in circuit.fields:
        for driver, items in part.begin.items():
            if items and items[0].stands and not items[0].done:
                first = items[0]
                where = words.code_at(first.item.corner, first.item.name, first.item.code)
                whom = f"{driver}: " if driver else ""
                time = worth(first.item).removesuffix(".")
                said.append(f"{whom}{where}{_on(circuit, part)}, {time[:1].lower()}{time[1:]}")
    if not said:
        if any(items for part in circuit.fields for items in part.begin.values()):
            return (
                "Next time: what was worth trying is driven already, or could be nothing; "
                "see below."
            )
        return "Next time: no session showed anything that is worth trying."
    return f"Next time begin with: {'; '.join(said)}."


@dataclass(frozen=True)
class BeginText:
    """One thing to begin with: the text, what it is worth, what it rests on, its corner."""

    text: str
    worth: str
    evidence: tuple[str, ...]
    corner: int


@dataclass(frozen=True)
class DriverBegins:
    """Where one driver is to begin; ``nothing`` says why there is nothing, ``known`` what is."""

    driver: str
    items: tuple[BeginText, ...]
    nothing: tuple[str, ...]
    known: tuple[str, ...]


def driver_begins(part: Field) -> list[DriverBegins]:
    """
    Say where each driver of a field is to begin.

    Parameters
    ----------
    part : Field

    Returns
    -------
    list of DriverBegins
    """
    out = []
    for driver, items in part.begin.items():
        last = part.drivers[driver][-1]
        nothing = () if items else (words.NO_FINDING, f"{last.name}: {last.remark}")
        known = () if items else last.known
        out.append(
            DriverBegins(
                words.who(driver), tuple(_begin_text(one) for one in items), nothing, known
            )
        )
    return out


def _begin_text(one: Begin) -> BeginText:
    evidence = [one.item.evidence, words.found_in([s.name for s in one.found_in])]
    evidence += [
        words.seen_elsewhere(e.session.name, e.seen.quicker_s, e.seen.sd_s, e.differs)
        for e in one.elsewhere
    ]
    if one.together is not None:
        evidence.append(words.together_text(one.together))
    if one.last_ways is not None:
        better, usual = map(len, one.last_ways)
        evidence.append(words.last_ways_text(one.last.name, better, better + usual, done=one.done))
    elif not one.elsewhere:
        evidence.append(words.alone_text(one.found_in[-1].name))
    return BeginText(one.item.text, worth(one.item), tuple(evidence), one.item.corner)
