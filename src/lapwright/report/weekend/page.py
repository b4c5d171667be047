"""One HTML file that holds a whole weekend: no other file, no network, no script at all."""

from dataclasses import dataclass
from pathlib import Path

from lapwright._version import __version__
from lapwright.columns import records
from lapwright.corners.pass_table import corner_table
from lapwright.outputs import whole_file
from lapwright.report.beside import (
    BESIDE_WORDS,
    BesideCorner,
    beside_corners,
    beside_heads,
    why_sentences,
)
from lapwright.report.charts import LedgerRow, ledger_rows
from lapwright.report.html.along import delta_figure
from lapwright.report.html.figure import Along
from lapwright.report.html.resources import digest, page_style, resource, templates
from lapwright.report.numbers import distance, with_sd
from lapwright.report.two_laps import LapsCompared
from lapwright.report.weekend.charts import Chart, corner_charts, lap_chart, shape_of
from lapwright.report.weekend.data import CircuitData, Field, SideBySide, WeekendData
from lapwright.report.weekend.points import DriverBegins, circuit_name, driver_begins, points
from lapwright.report.weekend.return_card import ReturnCard, return_cards
from lapwright.report.weekend.rows import (
    CornerRow,
    SessionRow,
    changes_shown,
    corner_heads,
    corner_rows,
    lap_rows,
    session_heads,
    session_rows,
)
from lapwright.report.weekend.session_facts import SessionFacts
from lapwright.units import Units
from lapwright.wording.car import HEADING, NO_DIAGNOSIS
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP, CAUTIONS, OTHER_CAR
from lapwright.wording.coaching.before_after import HEADING as CHANGES
from lapwright.wording.event import weekend as words
from lapwright.wording.event.folder import LEFT_OUT, NOT_USED
from lapwright.wording.heads import PAGE, heads
from lapwright.wording.terms import PLUS_MINUS, corner_title


@dataclass(frozen=True)
class CornerShown:
    """A corner over the sessions of a field."""

    anchor: str
    title: str
    facts: str
    charts: tuple[Chart, ...]
    rows: tuple[CornerRow, ...]


@dataclass(frozen=True)
class PairShown:
    """Best laps of two drivers: what is said, the delta, the causes, both corner by corner."""

    title: str
    total: str
    why: tuple[str, ...]
    delta: Along
    ledger: tuple[LedgerRow, ...]
    zero: float
    beside: tuple[BesideCorner, ...]


@dataclass(frozen=True)
class FieldShown:
    """One surface of a circuit."""

    anchor: str
    name: str
    comparable: bool
    laps: Chart | None
    lap_rows: tuple[tuple[str, str, str, str], ...]
    drivers: tuple[tuple[int, str], ...]
    begins: tuple[DriverBegins, ...]
    pairs: tuple[PairShown, ...]
    own: tuple[PairShown, ...]
    corners: tuple[CornerShown, ...]
    by_chance: str
    cards: tuple[ReturnCard, ...]


@dataclass(frozen=True)
class Day:
    """One session in the story of the weekend: what is noted, what came of it, race and car."""

    number: int
    name: str
    driver: str
    noted: tuple[tuple[str, str], ...]
    before: str
    came: tuple[str, ...]
    race: tuple[str, ...]
    car: tuple[str, ...]


@dataclass(frozen=True)
class CircuitShown:
    """One circuit: the points, the table, the days, the fields."""

    anchor: str
    name: str
    points: tuple[str, ...]
    rows: tuple[SessionRow, ...]
    days: tuple[Day, ...]
    any_noted: bool
    remarks: tuple[str, ...]
    fields: tuple[FieldShown, ...]


def write_page(material: WeekendData, target: Path, units: Units) -> Path:
    """
    Write the page.

    Parameters
    ----------
    material : WeekendData
    target : Path
        Written whole, or not at all.
    units : Units

    Returns
    -------
    Path
        The file.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    text = html(material, units)
    with whole_file(target) as part:
        part.write_text(text, encoding="utf-8")
    return target


def html(material: WeekendData, units: Units) -> str:
    """
    Make the page.

    Parameters
    ----------
    material : WeekendData
    units : Units

    Returns
    -------
    str
    """
    style = page_style() + resource("weekend.css")
    circuits = [
        shown_circuit(circuit, f"c{number}", units)
        for number, circuit in enumerate(material.circuits, start=1)
    ]
    values: dict[str, object] = {
        "m": material, "circuits": circuits, "units": units, "style": style,
        "style_hash": digest(style), "session_heads": session_heads(),
        "corner_heads": corner_heads(units), "beside_heads": beside_heads(units),
        "beside_words": BESIDE_WORDS, "ledger_heads": heads(PAGE, "ledger", units),
        "cautions": CAUTIONS, "build_up": BUILD_UP, "as_driven": AS_DRIVEN,
        "other_car": OTHER_CAR, "plus_minus": PLUS_MINUS, "words": words, "version": __version__,
        "not_used": NOT_USED, "left_out": LEFT_OUT, "changes_heading": CHANGES,
        "car_heading": HEADING,
    }  # fmt: skip
    return templates().get_template("weekend_page.html.jinja").render(values)


def shown_circuit(circuit: CircuitData, anchor: str, units: Units) -> CircuitShown:
    """
    Lay out what is shown of a circuit.

    Parameters
    ----------
    circuit : CircuitData
    anchor : str
        Begins the anchors of its parts.
    units : Units

    Returns
    -------
    CircuitShown
    """
    days = tuple(_day(one) for one in circuit.sessions)
    fields = tuple(
        _field(circuit, part, f"{anchor}-{part.surface or 'any'}", units) for part in circuit.fields
    )
    unnamed = sum(not one.driver for one in circuit.sessions) > 1
    return CircuitShown(
        anchor, circuit_name(circuit), tuple(points(circuit)), tuple(session_rows(circuit)), days,
        any(day.noted for day in days), (words.ONE_DRIVER,) if unnamed else (), fields,
    )  # fmt: skip


def _day(one: SessionFacts) -> Day:
    notes = one.notes
    rows = [
        ("Car", notes.car), ("Tyres", notes.tyres), ("Conditions", notes.conditions),
        ("Changed on the car", "; ".join(notes.changes)), ("Tried", "; ".join(notes.tried)),
        ("Notes", notes.notes),
    ]  # fmt: skip
    noted = tuple((label, text) for label, text in rows if text)
    return Day(
        one.number, one.name, words.who(one.driver), noted, one.came.before, one.came.texts,
        one.race, (*one.car, NO_DIAGNOSIS) if one.car else (),
    )  # fmt: skip


def _field(circuit: CircuitData, part: Field, anchor: str, units: Units) -> FieldShown:
    names = {shape_of(part, of[0]): words.who(name) for name, of in part.drivers.items()}
    several, changes = len(circuit.fields) > 1, changes_shown(part)
    return FieldShown(
        anchor=anchor,
        name=words.SURFACES[part.surface] if several else "",
        comparable=part.comparable,
        laps=lap_chart(part),
        lap_rows=tuple(lap_rows(part)),
        drivers=tuple(names.items()),
        begins=tuple(driver_begins(part)),
        pairs=tuple(_pair(one, units) for one in part.side_by_side),
        own=tuple(_pair(one, units) for one in part.first_to_best),
        corners=tuple(_corners(circuit, part, anchor, units)),
        by_chance=words.by_chance(changes) if changes else "",
        cards=tuple(return_cards(circuit, part, circuit_name(circuit), units)),
    )


def _corners(circuit: CircuitData, part: Field, anchor: str, units: Units) -> list[CornerShown]:
    out = []
    for row in records(circuit.corners):
        number, title = int(row["corner"]), corner_title(row["corner"], row["name"])
        facts = (
            f"{row['direction']}, radius {distance(float(row['radius_m']), units)}, apex "
            f"{distance(float(row['apex_m']), units)} after the start line"
        )
        rows = tuple(corner_rows(part, number, units))
        if rows:
            charts = tuple(corner_charts(part, number, title, units))
            out.append(CornerShown(f"{anchor}-corner-{number}", title, facts, charts, rows))
    return out


def _pair(one: SideBySide, units: Units) -> PairShown:
    c = one.comparison
    corners = corner_table(c.track)
    rows, zero = ledger_rows(LapsCompared(c))
    total = with_sd(c.time_difference_s, c.time_difference_sd_s)
    # Of one driver the sessions tell the two apart, and the table of both would only repeat.
    own = one.mine.driver.casefold() == one.reference.driver.casefold()
    drivers = (one.mine.driver, one.reference.driver)
    title = words.against(*drivers)
    if own:
        title = words.own_against(one.mine.driver, one.mine.name, one.reference.name)
    laps = [words.lap_of(f.driver, f.best_lap or 0, f.name) for f in (one.mine, one.reference)]
    window, label = (0.0, c.track.length_m), f"Delta of {laps[0]} to {laps[1]}"
    return PairShown(
        title, f"{laps[0]}, against {laps[1]}: {total} s slower", tuple(why_sentences(c, units)),
        delta_figure(c, corners, window, units, 150, label, "usual", linked=False), rows, zero,
        () if own else tuple(beside_corners(c, units, drivers)),
    )  # fmt: skip
