"""The PDF's text, read by a library: its tables and sentences say what the page and tables say."""

import math
import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from page_reading import cards, page_of, section, table_in, words
from readback_worlds import notes_of, session_of, truth_of
from session_truth import Truth, factor, split_units
from shown import True_, all_wrong, digits, exact, numbers_in, pair, wrong
from shown_names import (
    CORNER_HEADS,
    FOOT,
    LEDGER_TOTAL,
    MEDIAN_ROW,
    NO_LIFT,
    ONE_SD_ROW,
    QUICKEST_ROW,
    SPREAD_ROW,
    STRETCHES,
)

from lapwright.report import write_pdf

pypdf = pytest.importorskip("pypdf", reason="the extra 'test' brings pypdf")

# Sheets are slow to draw: one sample, one in the other units, one without a best lap.
DRAWN = (
    ("sunday_race.csv", "km/h"), ("missing_passes", "mph,ft"), ("no_best_lap", "km/h"),
)  # fmt: skip
Paper = tuple[list[str], Truth, str, Any]
_CELL = re.compile(r"no lift|–|± <?[\d.]+|[+−-]?[\d:.]+(?: ± <?[\d.]+)?|equal|best")


@cache
def _sheets(name: str, units: str) -> tuple[str, ...]:
    """Text of the sheets, in their lines."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "report.pdf"
        write_pdf(session_of(name), file, None, notes_of(name), units=units)
        return tuple(page.extract_text() for page in pypdf.PdfReader(file).pages)


@pytest.fixture(params=DRAWN, ids=lambda p: f"{p[0]}-{p[1]}")
def paper(request: pytest.FixtureRequest) -> Paper:
    name, units = request.param
    lines = [" ".join(line.split()) for page in _sheets(name, units) for line in page.split("\n")]
    return lines, truth_of(name), units, page_of(name, units)


def _flow(lines: list[str]) -> str:
    """All lines as one text; where a line was broken is nobody's business."""
    return "".join("".join(lines).split())


def _sheet_of(lines: list[str], title: str) -> list[str]:
    """Lines of the sheet that begins with a title, up to the next sheet."""
    foot = [k for k, line in enumerate(lines) if line.startswith(FOOT)]
    starts = [k for k in foot if lines[k + 1] == title]
    assert len(starts) == 1, title
    return lines[starts[0] + 1 : next((k for k in foot if k > starts[0]), len(lines))]


def test_sentences_are_those_of_the_page(paper: Paper) -> None:
    lines, truth, _, page = paper
    flow = _flow(lines)
    said = [words(e) for e in page.xpath("//ol[@class='five']/li | //p[@class='about']/span")]
    said += [words(e) for e in page.xpath("//section[@id='sure' or @id='cautions']//li")]
    said += [words(e) for e in page.xpath("//ul[@class='findings']/li")]
    said += [words(e) for e in page.xpath("//p[@class='try']")]
    if truth.best is not None:
        said += [words(e) for c in cards(page).values() for e in c.xpath(".//div/p[not(@class)]")]
        said += [words(e) for e in page.xpath("//article//p[@class='facts']")]
    assert len(said) > 10
    assert [text for text in said if "".join(text.split()) not in flow] == []


def test_lap_table(paper: Paper) -> None:
    lines, truth, units, page = paper
    start = next(k for k, line in enumerate(lines) if line.startswith("lap kind time"))
    rows = {}
    for line in lines[start + 1 :]:
        found = re.match(r"(\d+) (out lap|in lap|lap) (.*)", line)
        if found:
            assert int(found[1]) not in rows
            rows[int(found[1])] = (found[2], _CELL.findall(found[3]))
        if line.startswith("±"):
            break
    assert list(rows) == list(truth.session.laps["lap"])
    complaints = []
    for lap, (kind, cells) in rows.items():
        row = truth.laps.loc[lap]
        timed = row["kind"] == "timed"
        assert kind == {"timed": "lap", "out": "out lap", "in": "in lap"}[row["kind"]]
        gap, sd = truth.gaps.loc[lap]
        true = [
            pair(row["time_s"] if timed else math.nan, row["time_sd_s"]),
            *(pair(t, s) for t, s in zip(row["sectors_s"], row["sector_sds_s"], strict=True)),
            True_(row["top_speed_mps"] * factor("speed", units), most=1),
        ]
        complaints += all_wrong([cells[0], *cells[2 : len(true) + 1]], true, f"lap {lap}")
        if cells[1] in ("best", "equal"):
            assert lap == truth.best if cells[1] == "best" else abs(gap) < 2.0 * sd
        else:
            complaints += all_wrong(cells[1:2], [pair(gap if timed else math.nan, sd)], lap)
    assert complaints == []
    assert f"[{split_units(units)[0]}]" in " ".join(lines[start : start + 4])
    # The sector times of the page's table, each with its error bar, are those of the paper's.
    on_page = {int(lead): cells[3:-2] for lead, _, cells in table_in(section(page, "laps")).rows}
    assert {lap: cells[2:-1] for lap, (_, cells) in rows.items() if lap in on_page} == on_page


def test_ledger(paper: Paper) -> None:
    lines, truth, _, _ = paper
    c = truth.comparison
    heads = [k for k, line in enumerate(lines) if line.startswith(f"corner {LEDGER_TOTAL}")]
    assert len(heads) == (c is not None)
    if c is None:
        return
    assert lines[heads[0]].split() == ["corner", LEDGER_TOTAL, *STRETCHES]
    numbers = sorted({int(n) for n in c.ledger["corner"]})
    complaints = []
    for corner, line in zip(numbers, lines[heads[0] + 1 :], strict=False):
        label = truth.label(corner)
        # A long name is cut on paper.
        first = label if line.startswith(label) else label.rsplit(" ", 1)[0]
        assert line.startswith(first), line
        true = [pair(*truth.ledger_sum(corner, s)) for s in (None, *STRETCHES)]
        complaints += all_wrong(_CELL.findall(line.removeprefix(first)), true, line)
    assert complaints == []
    sentence = " ".join(lines[heads[0] - 3 : heads[0]])
    total = pair(c.time_difference_s, c.time_difference_sd_s)
    found = numbers_in(sentence[sentence.index(f"Lap {c.lap}") :])
    assert all_wrong(found, [exact(c.lap), total, exact(c.reference)], sentence) == []


def test_corner_tables(paper: Paper) -> None:
    lines, truth, units, _ = paper
    complaints, shown_laps = [], {}
    for corner in truth.corners.index if truth.best is not None else ():
        label = truth.label(corner)
        sheet = _sheet_of(lines, label[:1].upper() + label[1:])
        start = next(k for k, line in enumerate(sheet) if line.startswith("lap [s]"))
        speed, far = split_units(units)
        units_row = {"s": "s", "g": "g", "speed": speed, "far": far}
        assert sheet[start].split() == [
            "lap", *(f"[{units_row[k.kind]}]" for k in CORNER_HEADS.values())
        ]  # fmt: skip
        rows = sheet[start + 1 :]
        laps = []
        while rows and re.match(r"\d+ ", rows[0]):
            lap = int(rows[0].split()[0])
            laps.append(lap)
            cells = _CELL.findall(rows.pop(0).partition(" ")[2])
            complaints += _run_wrong(truth, corner, lap, cells, units)
        shown_laps[corner] = laps
        complaints += _below_wrong(truth, corner, rows, units)
    assert complaints == []
    # These sessions are short enough for all laps to fit.
    assert shown_laps == {n: truth.laps_through(n) for n in shown_laps}


def _run_wrong(
    truth: Truth, corner: int, lap: int, cells: list[str], units: str
) -> list[str]:  # fmt: skip
    """Own error bars stand in their columns, and where one is twice as wide as those of most."""
    true = []
    for k, cell in zip(CORNER_HEADS.values(), cells, strict=True):
        one = truth.cell(lap, corner, k, units)
        if not k.own_on_paper and k.own and not isinstance(one, str):
            sds = truth.values(corner, truth.laps_through(corner), k.sd)
            wide = truth.passes[lap, corner][k.sd] > 2.0 * float(np.median(sds))
            one = pair(one.value, one.sd, k.most) if wide else True_(one.value, one.sd, k.most)
            assert ("±" in cell) == (wide and math.isfinite(one.value))
        true.append(one)
    return all_wrong(cells, true, f"corner {corner}, lap {lap}")


def _below_wrong(truth: Truth, corner: int, rows: list[str], units: str) -> list[str]:
    quick = truth.quickest(corner)
    wanted = [(MEDIAN_ROW, truth.clean), (SPREAD_ROW, truth.clean)]
    wanted += [(f"{QUICKEST_ROW} {len(quick)}", quick)] if quick else []
    out = []
    for (lead, laps), row in zip(wanted, rows, strict=False):
        assert row.startswith(f"{lead} "), row
        true = []
        for k in CORNER_HEADS.values():
            values = truth.values(corner, laps, k.name) * factor(k.kind, units)
            least, sum_up = (3, _sd) if lead == SPREAD_ROW else (1, np.median)
            value = float(sum_up(values)) if len(values) >= least else math.nan
            word = lead != SPREAD_ROW and truth.no_lift(corner, laps, k.name)
            true.append(NO_LIFT if word else True_(value, most=k.most))
        out += all_wrong(_CELL.findall(row.removeprefix(lead)), true, f"corner {corner}, {lead}")
    last = rows[len(wanted)]
    assert last.startswith(f"{ONE_SD_ROW} "), last
    bars = [cell.removeprefix("± ") for cell in _CELL.findall(last.removeprefix(ONE_SD_ROW))]
    shared = [k for k in CORNER_HEADS.values() if not k.own_on_paper]
    known = {k: truth.values(corner, truth.laps_through(corner), k.sd) for k in shared}
    shared = [k for k in shared if len(known[k])]
    for k, bar in zip(shared, bars, strict=True):
        sd = float(np.sort(known[k])[len(known[k]) // 2]) * factor(k.kind, units)
        least = 10.0 ** -digits(sd, k.most)
        below = bar.startswith("<") and sd <= 0.5 * least
        said = "" if below else wrong(bar, True_(sd, sd, k.most))
        out += [f"corner {corner}, {k.name}: {said}"] if said else []
    return out


def _sd(values: np.ndarray) -> float:
    return float(np.std(values, ddof=1))


def test_grip_table(paper: Paper) -> None:
    lines, truth, _, page = paper
    if section(page, "grip") is None or truth.best is None:
        return
    start = next(k for k, line in enumerate(lines) if line == "corner braking mid-corner exit")
    true = truth.session.grip.corners
    complaints = []
    for row, line in zip(true.to_dict("records"), lines[start + 1 :], strict=False):
        label = truth.label(int(row["corner"]))
        rest = line.removeprefix(label if line.startswith(label) else label.rsplit(" ", 1)[0])
        shares = [True_(100.0 * row[f"grip_{k}"]) for k in ("braking", "middle", "exit")]
        complaints += all_wrong(_CELL.findall(rest), shares, line)
    assert complaints == []
