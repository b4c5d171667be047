"""Two laps side by side, corner by corner, as rows of a page's table."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lapwright.columns import records
from lapwright.corners.why import Why, apart, sd_name, why
from lapwright.laps.comparison import Comparison
from lapwright.report.numbers import NOTHING, signed_with_sd, with_sd
from lapwright.units import Units
from lapwright.wording.heads import BESIDE, PAGE, PAST_APEX, described, shown_in
from lapwright.wording.terms import FROM_LINE_TITLE, corner_title
from lapwright.wording.why import corner_names, corner_why, that_matter

# A text and its class.
Cell = tuple[str, str]
LOST = "time lost"
BESIDE_WORDS = (
    "Pale: the two are too close to tell apart. Line: to the left (+) or right (\N{MINUS SIGN}) of "
    "the other lap's. Time lost: with what it cost further along, so not the total by stretch."
)


@dataclass(frozen=True)
class BesideRow:
    """One lap in one corner, or the difference: what leads it, its class, texts with classes."""

    lead: str
    role: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class BesideCorner:
    """The rows of one corner."""

    title: str
    rows: tuple[BesideRow, ...]


def beside_heads(units: Units) -> list[str]:
    """
    Write the heads: each quantity with its unit, and the time lost.

    Examples
    --------
    >>> beside_heads(Units())[:2]
    ['time lost [s]', 'braking before corner [m]']
    """
    columns = described("passes")
    out = [
        f"{PAGE['passes'][name]} [{shown_in(columns[name].unit, units)[0]}]"
        for name, _ in BESIDE.values()
    ]
    return [f"{LOST} [s]", *out]


def beside_corners(
    comparison: Comparison, units: Units, leads: tuple[str, str]
) -> list[BesideCorner]:
    """
    Put two laps side by side.

    Parameters
    ----------
    comparison : Comparison
    units : Units
    leads : (str, str)
        What the lap and the reference lap are called.

    Returns
    -------
    list of BesideCorner
        Three rows each: the lap, the reference lap, the difference with its error bar.  Of what
        the lap began with at the line there is only the time.
    """
    of_corners = list(beside_by_corner(comparison, units, leads).values())
    if not comparison.track.corners:
        return of_corners
    cells = (_time(why(comparison)[0]), *(("", "") for _ in BESIDE))
    from_line = BesideCorner(FROM_LINE_TITLE, (BesideRow("difference", "apart", cells),))
    return [from_line, *of_corners]


def beside_by_corner(
    comparison: Comparison, units: Units, leads: tuple[str, str]
) -> dict[int, BesideCorner]:
    """
    Put two laps side by side, by the number of the corner; see `beside_corners`.

    Examples
    --------
    >>> from lapwright.units import Units
    >>> comparison = session.compare(session.typical_lap)
    >>> list(beside_by_corner(comparison, Units(), ("this", "that")))[:3]
    [1, 2, 3]
    """
    lost = {one.corner: one for one in why(comparison)}
    corners = {one.order: one for one in comparison.track.corners}
    out = {}
    for row in records(comparison.passes):
        number = int(row["corner"])
        title = corner_title(number, corners[number].name)
        rows = _rows(row, corners[number].apex_m, lost[number], leads, units)
        out[number] = BesideCorner(title, rows)
    return out


def lap_leads(comparison: Comparison) -> tuple[str, str]:
    """What the two laps of a comparison are called before their rows."""
    c = comparison
    return f"lap {c.lap}", f"lap {c.reference}{', other log' if c.other_log else ''}"


def why_sentences(comparison: Comparison, units: Units) -> list[str]:
    """Say what cost the time where the laps can be told apart, most first."""
    names = corner_names(comparison.track)
    return [corner_why(one, names, units) for one in that_matter(why(comparison))]


def _rows(
    row: Mapping[Any, Any], apex_m: float, lost: Why, leads: tuple[str, str], units: Units
) -> tuple[BesideRow, ...]:
    columns = [(("", ""), ("", ""), _time(lost))]
    columns += [_column(row, name, apex_m, units) for name in BESIDE]
    names = (leads[0], "usual"), (leads[1], "best"), ("difference", "apart")
    return tuple(
        BesideRow(lead, kind, tuple(column[k] for column in columns))
        for k, (lead, kind) in enumerate(names)
    )


def _time(lost: Why) -> Cell:
    role = "equal" if not lost.clear else "lost" if lost.lost_s > 0.0 else "gained"
    return signed_with_sd(lost.lost_s, lost.lost_sd_s), role


def _column(
    row: Mapping[Any, Any], name: str, apex_m: float, units: Units
) -> tuple[Cell, Cell, Cell]:
    """One quantity: of the lap, of the reference lap, the difference."""
    column, found = described("passes")[BESIDE[name][0]], apart(row, name)
    factor = shown_in(column.unit, units)[1]
    role = "equal" if found.known and not found.clear else ""
    apart_text = NOTHING
    if found.known:
        apart_text = signed_with_sd(found.difference * factor, found.sd * factor, column.decimals)
    if name.endswith("_offset_m"):
        # From the circuit's path, which nobody drives: only the difference means anything.
        return ("", ""), ("", ""), (apart_text, role)
    zero, bar = (apex_m if name in PAST_APEX else 0.0), sd_name(name)
    both = [
        with_sd((row[f"{lap}{name}"] - zero) * factor, row[f"{lap}{bar}"] * factor, column.decimals)
        for lap in ("", "reference_")
    ]
    return (both[0], role), (both[1], role), (apart_text, role)
