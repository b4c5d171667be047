"""The table of passes on paper: as many passes as fit, error bars that are all alike said once."""

from textwrap import wrap

import numpy as np

from lapwright.report.cards import Card, PassRow

# Columns whose error bars differ from pass to pass: of all others one row says them.
_OWN = ("braking before corner", "throttle past apex")
# A pass with an error bar this many times the usual one keeps its own.
_MUCH_WIDER = 2.0
_HEAD_LETTERS = 8


def paper_head(card: Card) -> list[list[str]]:
    """Heads of the columns, in short lines, the unit last."""
    return [["lap"], *([*wrap(k.head, _HEAD_LETTERS), f"[{k.unit}]"] for k in card.columns)]


def paper_rows(card: Card, most: int, usual_word: str) -> tuple[list[list[str]], set[int], str]:
    """
    Write the table of passes for paper.

    Parameters
    ----------
    card : Card
    most : int
        Rows that fit.
    usual_word : str
        What the lap held against the best is called.

    Returns
    -------
    rows : list of list of str
    bold : set of int
        Rows of the best lap.
    left_out : str
        Says which passes did not fit; else empty.
    """
    shared = [k for k, column in enumerate(card.columns) if column.head not in _OWN]
    usual = {k: _middle([row.sds[k] for row in card.rows]) for k in shared}
    shown = _chosen(card.rows, most - len(card.summary) - 1)
    tags = {"usual": f" {usual_word}", "aside": " set aside"}
    rows = [[row.lead + tags.get(row.role, ""), *_bare(row, usual)] for row in shown]
    bold = {n for n, row in enumerate(shown) if row.role == "best"}
    rows += [[row.lead, *row.cells] for row in card.summary]
    bars = [bar if k in usual else "" for k, bar in enumerate(card.sds.cells)]
    if any(bars):
        rows.append([card.sds.lead, *bars])
    out = len(card.rows) - len(shown)
    said = (
        f" {out} of {len(card.rows)} laps did not fit here; the page has them all." if out else ""
    )
    return rows, bold, said


def _chosen(rows: tuple[PassRow, ...], most: int) -> tuple[PassRow, ...]:
    """As many passes as fit: the best and the usual lap, then the latest, in order."""
    if len(rows) <= most:
        return rows
    order = sorted(range(len(rows)), key=lambda n: (rows[n].role in ("other", "aside"), -n))
    return tuple(rows[n] for n in sorted(order[: max(most, 2)]))


def _bare(row: PassRow, usual: dict[int, float]) -> list[str]:
    cells = list(row.cells)
    for k, sd in usual.items():
        if not row.sds[k] > _MUCH_WIDER * sd:
            cells[k] = cells[k].partition(" ± ")[0]
    return cells


def _middle(values: list[float]) -> float:
    known = [v for v in values if np.isfinite(v)]
    return float(np.median(known)) if known else 0.0
