"""Tables that the page and a notebook's cells share, held against a session's tables."""

import math
from typing import Any

from page_reading import Table, beside_in, table_in, words
from session_truth import EQUAL_SD, Truth, factor, ledger_sum, split_units
from shown import True_, all_wrong, pair, wrong
from shown_names import FLAG_WORDS, LAP_HEADS, LEDGER_TOTAL, OTHER, STRETCHES, TYPICAL
from why_truth import CELLS, Reason, beside_true

from lapwright.laps.comparison import Comparison


def lap_table_wrong(element: Any, truth: Truth, units: str) -> list[str]:
    """Say what the table of laps in an element says that is not so."""
    table = table_in(element)
    heads = [_lap_head(*head) for head in table.heads]
    sectors = [f"sector {k + 1}" for k in range(1 + len(truth.session.track.sectors))]
    assert [name for name, _ in heads] == [
        "lap", "kind", "time_s", "gap_s", *sectors, "top_speed_mps", "flags",
    ]  # fmt: skip
    assert dict(heads)["top_speed_mps"] == split_units(units)[0]
    # Every lap once, in order.
    assert [int(lead) for lead, _, _ in table.rows] == list(truth.session.laps["lap"])
    complaints = []
    for lead, role, cells in table.rows:
        row = dict(zip([name for name, _ in heads][1:], cells, strict=True))
        complaints += _lap_wrong(truth, int(lead), row, units)
        roles = {truth.best: "best", truth.usual: "usual"}
        assert role == roles.get(int(lead), "other")
    return complaints


def _lap_head(head: str, unit: str) -> tuple[str, str]:
    if head.startswith("sector"):
        return head, unit
    return LAP_HEADS[head], unit


def _lap_wrong(truth: Truth, lap: int, row: dict[str, str], units: str) -> list[str]:
    true = truth.laps.loc[lap]
    timed = true["kind"] == "timed"
    said = [wrong(row["time_s"], pair(true["time_s"] if timed else math.nan, true["time_sd_s"]))]
    for k, (time, sd) in enumerate(zip(true["sectors_s"], true["sector_sds_s"], strict=True)):
        said.append(wrong(row[f"sector {k + 1}"], pair(time, sd)))
    top = float(true["top_speed_mps"]) * factor("speed", units)
    said.append(wrong(row["top_speed_mps"], True_(top, most=1)))
    said.append(_gap_wrong(truth, lap, row["gap_s"], timed=timed))
    kind = {"timed": "lap", "out": "out lap", "in": "in lap"}[true["kind"]]
    said.append("" if row["kind"] == kind else f"{row['kind']} for {kind}")
    flags = [FLAG_WORDS.get(flag, flag) for flag in true["flags"]]
    if lap == truth.usual:
        flags.insert(0, f"the {TYPICAL if len(truth.clean) > 2 else OTHER} lap")
    elif lap in truth.clean:
        flags.insert(0, "clean")
    said.append("" if row["flags"] == ", ".join(flags) else f"{row['flags']} for {flags}")
    return [f"lap {lap}: {one}" for one in said if one]


def _gap_wrong(truth: Truth, lap: int, text: str, *, timed: bool) -> str:
    gap, sd = truth.gaps.loc[lap]
    if not timed or not math.isfinite(gap):
        return wrong(text, True_(math.nan))
    if lap == truth.best:
        return "" if text == "best" else f"{text} for the best lap"
    if abs(gap) < EQUAL_SD * sd:
        return "" if text == "equal" else f"{text} for {gap} ± {sd}"
    true = float(truth.laps.at[lap, "time_s"] - truth.laps.at[truth.best, "time_s"])
    return wrong(text, pair(true, sd)) or ("" if (text[0] == "+") == (gap > 0) else "sign")


def ledger_table(element: Any) -> Table:
    """Read the table of where the time goes, whose heads are as they should be."""
    table = table_in(element)
    assert [head for head, _ in table.heads] == [
        "corner", LEDGER_TOTAL, "gained, lost", *STRETCHES
    ]  # fmt: skip
    return table


def ledger_wrong(element: Any, truth: Truth, comparison: Comparison | None = None) -> list[str]:
    """Say what the table of where a lap lost time (the typical one) says that is not so."""
    c = truth.comparison if comparison is None else comparison
    assert c is not None
    table = ledger_table(element)
    numbers = sorted({int(n) for n in c.ledger["corner"]})
    assert [lead for lead, _, _ in table.rows] == [truth.label(n) for n in numbers]
    complaints = []
    for corner, (_, _, cells) in zip(numbers, table.rows, strict=True):
        true = [pair(*ledger_sum(c, corner, s)) for s in (None, *STRETCHES)]
        complaints += all_wrong([cells[0], *cells[2:]], true, f"corner {corner}")
    return complaints


def beside_wrong(element: Any, c: Comparison, found: dict[int, Reason], units: str) -> list[str]:
    """Say what a table of two laps side by side says that is not so, or greys by mistake."""
    heads, corners = beside_in(element)
    speed, far = split_units(units)
    unit = {"far": far, "speed": speed, "g": "g"}
    assert heads[2:] == [(head, unit[kind]) for head, (_, kind, _) in CELLS.items()]
    assert heads[:2] == [("lap", ""), ("time lost", "s")]
    out = []
    for (corner, one), rows in zip(found.items(), corners, strict=True):
        assert len(rows) == (3 if corner else 1)
        time = rows[-1][1][0]
        out.append(wrong(words(time), pair(one.lost_s, one.sd_s)))
        assert (time.get("class") == "equal") != one.clear
        for k, (head, (name, _, most)) in enumerate(CELLS.items(), start=1):
            if not corner:
                assert words(rows[0][1][k]) == ""
                continue
            cells, true = [row[1][k] for row in rows], beside_true(c, corner, head, units)
            value, sd = true[2]
            known = math.isfinite(value) and math.isfinite(sd)
            equal = known and (value == 0.0 or abs(value) < EQUAL_SD * sd)
            assert {cell.get("class") == "equal" for cell in cells if words(cell)} == {equal}
            if name.endswith("_offset_m"):
                # How far from the circuit's path is nothing that a reader needs.
                assert [words(cell) for cell in cells[:2]] == ["", ""]
                cells, true = cells[2:], true[2:]
            said = [pair(*v, most) if math.isfinite(v[1]) else True_(math.nan) for v in true]
            out += all_wrong([words(cell) for cell in cells], said, f"corner {corner}, {head}")
    return [one for one in out if one]
