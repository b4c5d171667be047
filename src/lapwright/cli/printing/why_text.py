"""Two laps side by side, corner by corner, and what cost the time, for a terminal."""

from collections.abc import Mapping
from typing import Any

from lapwright.cli.printing.table import EQUAL, rows_of, table
from lapwright.cli.printing.worth_text import wrapped
from lapwright.corners.why import apart, sd_name, why
from lapwright.laps.comparison import Comparison
from lapwright.laps.stretches import FROM_LINE
from lapwright.units import NOTHING, Units, number, signed
from lapwright.wording.heads import BESIDE, PAST_APEX, described, shown_in
from lapwright.wording.terms import FROM_LINE_TITLE, corner_in_text
from lapwright.wording.why import corner_names, corner_why, that_matter

SAME_LAP = "Nothing was lost anywhere: it is the same lap."
CHARGED = (
    "Each cause has what it cost further along, so these sums are not the totals by stretch above; "
    "both add up to the difference."
)


def beside_lines(comparison: Comparison, units: Units) -> list[str]:
    """
    Write what both laps did in each corner: the lap's row above, the reference lap's below.

    Parameters
    ----------
    comparison : Comparison
    units : Units

    Returns
    -------
    list of str
        A table of 80 columns at most, what its columns are, and an empty line; nothing where there
        are no corners.  What is the same within its error bar is marked in the lower row.
    """
    if not comparison.track.corners or _same(comparison):
        return []
    c = comparison
    base = f"lap {c.reference}" + (f" of {c.reference_log.name}" if c.other_log else "")
    apexes = {one.order: one.apex_m for one in c.track.corners}
    lost = {one.corner: signed(one.lost_s, one.lost_sd_s) if one.clear else EQUAL for one in why(c)}
    # What the lap began with at the line has a time, and nothing that was done in a corner.
    rows = [[str(FROM_LINE), *("" for _ in range(len(BESIDE) + 1)), lost[FROM_LINE]]]
    for row in rows_of(c.passes):
        cells = [_cells(row, name, apexes[row["corner"]], units) for name in BESIDE]
        mine, other = zip(*cells, strict=True)
        rows.append([str(row["corner"]), str(c.lap), *mine, lost[row["corner"]]])
        rows.append(["", str(c.reference), *other, ""])
    heads = ["", "lap", *(short for _, short in BESIDE.values()), "lost s"]
    far, speed = units.distance, units.speed
    legend = (
        f"brake: {far} before the corner; peak: hardest braking in g; min, exit: {speed}; at, "
        f"throttle: slowest point and throttle point, {far} past the apex; turn-in, apex, exit: "
        f"the line, {far} to the left (+) of the lower lap's; {FROM_LINE}: {FROM_LINE_TITLE}."
    )
    title = f"Side by side, lap {c.lap} above {base}:"
    return [*wrapped(title), table(heads, rows), *wrapped(legend), ""]


def _same(comparison: Comparison) -> bool:
    return comparison.lap_trace is comparison.reference_trace


def _cells(row: Mapping[str, Any], name: str, apex_m: float, units: Units) -> tuple[str, str]:
    """Write one quantity of the lap and of the reference lap."""
    column = described("passes")[BESIDE[name][0]]
    factor, found = shown_in(column.unit, units)[1], apart(row, name)
    if name.endswith("_offset_m"):
        value, sd = found.difference * factor, found.sd * factor
        text = signed(value, sd, 1) if found.known else NOTHING
        return EQUAL if found.known and not found.clear else text, ""
    zero, bar = (apex_m if name in PAST_APEX else 0.0), sd_name(name)
    mine, other = (
        number((row[f"{lap}{name}"] - zero) * factor, row[f"{lap}{bar}"] * factor, column.decimals)
        for lap in ("", "reference_")
    )
    return mine, f"{EQUAL}{other}" if found.known and not found.clear else other


def why_lines(comparison: Comparison, units: Units) -> list[str]:
    """
    Say what cost the time in the corners where the laps can be told apart, most first.

    Parameters
    ----------
    comparison : Comparison
    units : Units

    Returns
    -------
    list of str
        And an empty line; nothing where there are no corners.
    """
    if _same(comparison):
        return [SAME_LAP, ""]
    found, names = why(comparison), corner_names(comparison.track)
    if not found:
        return []
    lines = ["What cost the time, or gained it, most first:"]
    for one in that_matter(found):
        lines += wrapped(corner_why(one, names, units), "- ")
    equal = [corner_in_text(one.corner, names(one.corner)) for one in found
             if one.corner and not one.clear]  # fmt: skip
    if equal:
        lines += wrapped(f"Too close to tell apart: {', '.join(equal)}.", "- ")
    return [*lines, *wrapped(CHARGED), ""]
