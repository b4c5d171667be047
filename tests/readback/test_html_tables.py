"""Every table of the page says what the session's tables say."""

import math
from typing import Any

import numpy as np
from page_reading import Table, cards, section, table_in
from session_truth import Truth, factor, keyed, split_units
from shown import True_, all_wrong, wrong
from shown_names import (
    CORNER_HEADS,
    GRIP_HEADS,
    MEDIAN_ROW,
    NO_LIFT,
    ONE_SD_ROW,
    OTHER,
    QUICKEST_ROW,
    SPREAD_ROW,
    TYPICAL,
)
from table_checks import lap_table_wrong, ledger_wrong

Report = tuple[Any, Truth, str]


def test_lap_table(report: Report) -> None:
    page, truth, units = report
    assert lap_table_wrong(section(page, "laps"), truth, units) == []


def test_ledger(report: Report) -> None:
    page, truth, _ = report
    part = section(page, "ledger")
    assert (part is None) == (truth.comparison is None)
    if part is not None:
        assert ledger_wrong(part, truth) == []


def test_corner_tables(report: Report) -> None:
    page, truth, units = report
    known = cards(page)
    assert list(known) == list(truth.session.corners["corner"])
    complaints = []
    for corner, card in known.items():
        table = table_in(card)
        _check_heads(table, units)
        laps = truth.laps_through(corner)
        assert [lead.split()[0] for lead, _, _ in table.rows] == [str(n) for n in laps]
        tags = {
            int(lead.split()[0]): lead.partition(" ")[2] for lead, _, _ in table.rows if " " in lead
        }
        usual = TYPICAL if len(truth.clean) > 2 else OTHER
        aside = dict.fromkeys(set(laps) - set(truth.clean), "set aside")
        wanted = {**aside, truth.best: "best", truth.usual: usual}
        assert tags == {n: word for n, word in wanted.items() if n in laps}
        for lap, (_, _, cells) in zip(laps, table.rows, strict=True):
            true = [truth.cell(lap, corner, k, units) for k in CORNER_HEADS.values()]
            complaints += all_wrong(cells, true, f"corner {corner}, lap {lap}")
    assert complaints == []


def _check_heads(table: Table, units: str) -> None:
    speed, far = split_units(units)
    shown = {"speed": speed, "far": far}
    heads = [(head, shown.get(k.kind, k.kind)) for head, k in CORNER_HEADS.items()]
    assert table.heads == [("lap", ""), *heads]


def test_summary_rows_of_corner_tables(report: Report) -> None:
    page, truth, units = report
    complaints = []
    for corner, card in cards(page).items():
        table = table_in(card)
        quick = truth.quickest(corner)
        leads = [MEDIAN_ROW, SPREAD_ROW, *([f"{QUICKEST_ROW} {len(quick)}"] * bool(quick))]
        assert [lead for lead, _, _ in table.foot] == [*leads, ONE_SD_ROW]
        for (lead, _, cells), laps in zip(
            table.foot[:-1], [truth.clean, truth.clean, quick][: len(leads)], strict=True
        ):
            true = []
            for k in CORNER_HEADS.values():
                values = truth.values(corner, laps, k.name) * factor(k.kind, units)
                value = _spread(values) if lead == SPREAD_ROW else _median(values)
                word = lead != SPREAD_ROW and truth.no_lift(corner, laps, k.name)
                true.append(NO_LIFT if word else True_(value, most=k.most))
            complaints += all_wrong(cells, true, f"corner {corner}, {lead}")
        complaints += _bars_wrong(truth, corner, table.foot[-1][2], units)
    assert complaints == []


def _median(values: np.ndarray) -> float:
    return float(np.median(values)) if len(values) else math.nan


def _spread(values: np.ndarray) -> float:
    return float(np.std(values, ddof=1)) if len(values) > 2 else math.nan


def _bars_wrong(truth: Truth, corner: int, cells: list[str], units: str) -> list[str]:
    """The error bar of one run is that of the run in the middle, by its error bar."""
    out = []
    for cell, (head, k) in zip(cells, CORNER_HEADS.items(), strict=True):
        sds = np.sort(truth.values(corner, truth.laps_through(corner), k.sd))
        sd = float(sds[len(sds) // 2]) * factor(k.kind, units) if len(sds) else math.nan
        text = f"0 {cell}" if cell else ""
        # The digits of the value are those of its error bar; here is only the bar.
        said = _bar_alone(text, sd, k.most)
        out += [f"corner {corner}, {head}: {said}"] if said else []
    return out


def _bar_alone(text: str, sd: float, most: int) -> str:
    if not math.isfinite(sd):
        return "" if not text else f"{text!r} without an error bar"
    return wrong(text.removeprefix("0 ± ").removeprefix("<"), True_(*_least(text, sd), most))


def _least(text: str, sd: float) -> tuple[float, float]:
    """Of an error bar below the last digit, that digit is shown."""
    if "<" not in text:
        return sd, sd
    last = float(text.partition("<")[2])
    assert sd <= 0.5 * last
    return last, sd


def test_grip_table(report: Report) -> None:
    page, truth, _ = report
    part = section(page, "grip")
    assert (part is None) == (not truth.clean)
    if part is None:
        return
    true = keyed(truth.session.grip.corners, "corner")
    table = table_in(part)
    assert [head for head, _ in table.heads] == ["corner", *GRIP_HEADS]
    assert [lead for lead, _, _ in table.rows] == [truth.label(int(n)) for n in true.index]
    complaints = []
    for corner, (_, _, cells) in zip(true.index, table.rows, strict=True):
        assert all(cell.endswith(" %") or cell == "–" for cell in cells)
        shares = [True_(100.0 * true.at[corner, name]) for name in GRIP_HEADS.values()]
        complaints += all_wrong([c.removesuffix(" %") for c in cells], shares, f"corner {corner}")
    assert complaints == []


def test_rows_link_to_their_own_corner(report: Report) -> None:
    page, truth, _ = report
    links = page.xpath("//section[@id='ledger' or @id='grip']//tbody//a")
    for link in links:
        corner = int(link.get("href").removeprefix("#corner-"))
        assert link.text_content() == truth.label(corner)
    tries = page.xpath("//ol[@class='tries']//a")
    items = truth.session.worth_trying
    assert [a.get("href") for a in tries] == [f"#corner-{item.corner}" for item in items]
