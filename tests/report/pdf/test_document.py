"""The report on paper."""

import re
from collections import defaultdict
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from lapwright.report import write_pdf
from lapwright.report.cards import ONE_SD, corner_cards
from lapwright.report.lap_rows import lap_heads, lap_rows
from lapwright.report.numbers import clock_with_sd, with_sd
from lapwright.report.pdf.document import _lap_table, draw_pdf
from lapwright.report.pdf.sheet import HEIGHT_IN, MARGIN_IN, SMALLEST_PT, WIDTH_IN
from lapwright.report.pdf.table import paper_rows
from lapwright.report.pdf.text_layout import Letters, width_in, wrapped
from lapwright.report.report_data import ReportData
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.cautions import CAUTIONS


@pytest.fixture(scope="module")
def pdf(material: ReportData, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("pdf") / "debrief.pdf"
    # Two corners have all there is, in a fraction of the time.
    few = replace(material, corners=material.corners.iloc[[0, 3]], came_of_it=("Quicker.",))
    assert draw_pdf(few, path, Units("mph")) == path
    assert list(path.parent.iterdir()) == [path]
    return path.read_bytes()


def test_it_is_a_whole_pdf_of_a4_sheets(pdf: bytes) -> None:
    assert pdf.startswith(b"%PDF-")
    assert pdf.rstrip().endswith(b"%%EOF")
    boxes = re.findall(rb"/MediaBox \[ *0 0 ([\d.]+) ([\d.]+) *\]", pdf)
    assert len(boxes) >= 4
    for width, height in boxes:
        # ISO 216: A4 is 210 mm by 297 mm; a point is 1/72 of 25.4 mm.
        assert float(width) == pytest.approx(210.0 / 25.4 * 72.0, abs=0.1)
        assert float(height) == pytest.approx(297.0 / 25.4 * 72.0, abs=0.1)


def test_letters_stay_letters(pdf: bytes) -> None:
    # ISO 32000-1, 9.6: Type 3 fonts are drawings; Type 0 with TrueType outlines can be searched.
    assert b"/Type3" not in pdf
    assert b"/Type0" in pdf


def test_an_older_file_survives_a_failure(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "debrief.pdf"
    target.write_bytes(b"older")
    msg = "broken off"

    def fail(*_: object) -> None:
        raise RuntimeError(msg)

    monkeypatch.setattr("lapwright.report.pdf.document._laps", fail)
    with pytest.raises(RuntimeError, match=msg):
        write_pdf(session, target)
    assert target.read_bytes() == b"older"
    assert list(tmp_path.iterdir()) == [target]


def test_nothing_on_paper_is_smaller_than_eight_points(
    sheets: list[tuple[Figure, list[Letters]]],
) -> None:
    for figure, strings in sheets:
        assert min(s.size_pt for s in strings) >= SMALLEST_PT
        shown = [t for t in figure.findobj(Text) if isinstance(t, Text) and t.get_text()]
        assert all(float(t.get_fontsize()) >= SMALLEST_PT for t in shown)


def test_columns_on_paper_stand_apart_and_within_the_margins(
    sheets: list[tuple[Figure, list[Letters]]],
) -> None:
    for _, strings in sheets:
        rows = defaultdict(list)
        for s in strings:
            wide = width_in(s.text, s.size_pt, bold=s.bold)
            start = s.x_in - (wide if s.right else 0.0)
            rows[round(s.y_in, 4)].append((start, start + wide, s.text))
        for row in rows.values():
            row.sort()
            assert row[0][0] >= MARGIN_IN - 0.01
            assert row[-1][1] <= WIDTH_IN - MARGIN_IN + 0.01, row[-1]
            for (_, end, left), (start, _, right) in pairwise(row):
                assert start - end > 0.05, (left, right)


def test_no_sheet_is_nearly_empty(sheets: list[tuple[Figure, list[Letters]]]) -> None:
    for figure, strings in sheets:
        ends = [s.y_in for s in strings if s.y_in > MARGIN_IN]
        ends += [float(ax.get_position().y0) * HEIGHT_IN for ax in figure.axes]
        assert min(ends) < 0.5 * HEIGHT_IN, strings[2].text
    said = [s.text for s in sheets[-1][1]]
    assert "Cautions" in said
    assert "How sure the numbers are" in said


def test_every_corner_has_a_sheet_with_plan_speed_delta_and_line(
    sheets: list[tuple[Figure, list[Letters]]], material: ReportData
) -> None:
    cards = [figure for figure, strings in sheets if ONE_SD in {s.text for s in strings}]
    assert len(cards) == len(material.corners)
    for figure in cards:
        speed, delta, line, plan = figure.axes
        assert speed.get_ylabel().startswith("speed [")
        assert delta.get_ylabel() == "delta [s]"
        assert line.get_ylabel().startswith("line, + left")
        assert "distance from the apex" in line.get_xlabel()
        assert all(ax.lines for ax in (speed, delta, line, plan))


def test_passes_that_do_not_fit_are_counted(material: ReportData) -> None:
    card = corner_cards(material, Units(), pictures=False)[0]
    all_rows, bold, said = paper_rows(card, 99, "typical")
    assert len(all_rows) == len(card.rows) + len(card.summary) + 1
    assert [all_rows[n][0] for n in bold] == [str(material.best)]
    assert said == ""
    rows, _, said = paper_rows(card, 12, "typical")
    assert len(rows) == 12
    assert {str(material.best), str(material.usual)} <= {row[0].split()[0] for row in rows}
    assert f"{len(card.rows) - (12 - len(card.summary) - 1)} of {len(card.rows)}" in said


def test_an_error_bar_said_once_is_that_of_the_passes(material: ReportData) -> None:
    card = corner_cards(material, Units(), pictures=False)[0]
    rows, _, _ = paper_rows(card, 99, "typical")
    sd = float(rows[-1][1].removeprefix("± "))
    bars = sorted(row.sds[0] for row in card.rows)
    half = 0.5 * 10.0 ** -len(rows[-1][1].partition(".")[2])
    assert bars[0] - half <= sd <= bars[-1] + half
    for row, pass_row in zip(rows, card.rows, strict=False):
        # A pass whose error bar is much wider than the others' keeps it.
        wider = pass_row.sds[0] > 2.0 * bars[len(bars) // 2]
        assert ("±" in row[1]) == wider


def test_widths_are_those_of_the_letters() -> None:
    # A space and a digit of DejaVu Sans move the pen by 651 and 1303 of 2048 units
    # (hmtx table of version 2.37).
    assert width_in(" 7", 72.0) == pytest.approx((651 + 1303) / 2048, abs=2e-3)


def test_lines_fit_and_nothing_is_lost() -> None:
    text = "Where the " + "overlong" * 30 + " word goes"
    lines = wrapped(text, 9.0, 2.0)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(width_in(line, 9.0) <= 2.0 for line in lines)


def on_sheet(
    sheets: list[tuple[Figure, list[Letters]]], heading: str
) -> tuple[Figure, list[Letters]]:
    """The sheet with a heading, and what is written below that, row by row from the left."""
    for figure, strings in sheets:
        for head in strings:
            if head.text == heading:
                below = [s for s in strings if s.y_in < head.y_in]
                return figure, sorted(below, key=lambda s: (-round(s.y_in, 3), s.x_in))
    raise AssertionError(heading)


def rows_of(strings: list[Letters]) -> list[list[str]]:
    rows = defaultdict(list)
    for s in strings:
        rows[round(s.y_in, 3)].append(s.text)
    return list(rows.values())


def test_sector_times_have_the_error_bars_of_the_page(material: ReportData) -> None:
    # The page writes the cells of `lap_rows` as they are (readback reads both).
    head = [[text] for text in lap_heads(material, Units())]
    true = [r.sectors for r in lap_rows(material, Units())]
    timed = [k for k, r in enumerate(lap_rows(material, Units())) if r.kind == "lap"]
    assert all("±" in text for k in timed for text in true[k])
    for wide_in in (20.0, 0.1):
        # Beside the times where there is room, else below them.
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr("lapwright.report.pdf.document.INNER_IN", wide_in)
            rows, bold = _lap_table(head, material, Units())
        found: list[list[str]] = []
        for row in rows:
            if row[0]:
                found.append(row[4:-2])
            else:
                found[-1] = [
                    " ".join(pair).strip() for pair in zip(found[-1], row[4:-2], strict=True)
                ]
        assert [tuple(row) for row in found] == true
        assert [rows[k][0] for k in bold] == [str(material.best)]
        assert any(row[0] and "±" in row[4] for row in rows) == (wide_in > 0.1)


def test_where_the_time_goes_is_the_ledger(
    sheets: list[tuple[Figure, list[Letters]]], material: ReportData
) -> None:
    c = material.comparison
    assert c is not None
    figure, strings = on_sheet(sheets, "Where the time goes")
    rows = rows_of(strings)
    said = " ".join(text for row in rows[:2] for text in row)
    assert said.startswith(
        f"Lap {c.lap}, a typical lap, was {with_sd(c.time_difference_s, c.time_difference_sd_s)} s "
        f"slower than lap {c.reference}."
    )
    head = next(k for k, row in enumerate(rows) if "braking" in row)
    assert rows[head] == ["corner", "total", "braking", "entry", "exit", "straight"]
    sums = c.ledger.groupby("corner", sort=False)["difference_s"].sum()
    table = rows[head + 1 : head + 1 + len(sums)]
    pivot = c.ledger.pivot_table(
        index="corner", columns="stretch", values="difference_s", aggfunc="sum"
    )
    # The bars beside it: one a corner, from the first down, each with its whisker.
    bars = next(ax for ax in figure.axes if len(ax.patches) == len(sums))
    for row, bar, lines, corner in zip(
        table, bars.patches, bars.collections, sorted(sums.index), strict=True
    ):
        shown = [text.replace("\N{MINUS SIGN}", "-").split(" ± ")[0] for text in row[1:]]
        assert float(shown[0]) == pytest.approx(sums[corner], abs=6e-4)
        for text, stretch in zip(shown[1:], ("braking", "entry", "exit", "straight"), strict=True):
            if text != "\N{EN DASH}":
                assert float(text) == pytest.approx(pivot.loc[corner, stretch], abs=6e-3)
        assert bar.get_width() == pytest.approx(sums[corner])
        here = (c.ledger["corner"] == corner).to_numpy()
        sd = float(np.sqrt(c.ledger_cov_s2[np.ix_(here, here)].sum()))
        ends = lines.get_segments()[0][:, 0]
        assert ends == pytest.approx([sums[corner] - sd, sums[corner] + sd])
        clear = abs(sums[corner]) > 2.0 * sd
        # Filled where time was lost, hatched where it was gained.
        assert bool(bar.get_hatch()) == (sums[corner] <= 0.0)
        filled = bar.get_facecolor() == bar.get_edgecolor()
        assert filled == (clear and sums[corner] > 0.0)
    low, high = bars.get_ylim()
    assert low > high


def test_the_lap_table_on_paper_has_every_lap(
    sheets: list[tuple[Figure, list[Letters]]], material: ReportData
) -> None:
    words = [row for _, strings in sheets for row in rows_of(
        sorted(strings, key=lambda s: (-round(s.y_in, 3), s.x_in)))]  # fmt: skip
    for row in material.laps[material.laps["kind"] == "timed"].to_dict("records"):
        time = clock_with_sd(row["time_s"], row["time_sd_s"])
        (found,) = (r for r in words if r[:3] == [str(row["lap"]), "lap", time])
        sectors = [float(text.split()[0]) for text in found[4:-2]]
        assert sectors == pytest.approx(list(row["sectors_s"]), abs=0.06)
    # The best lap is written bold, and no other.
    bold = {s.text for _, strings in sheets for s in strings if s.bold and s.size_pt < 9.0}
    times = {
        row["lap"]: clock_with_sd(row["time_s"], row["time_sd_s"])
        for row in material.laps[material.laps["kind"] == "timed"].to_dict("records")
    }
    assert {lap for lap, text in times.items() if text in bold} == {material.best}


def test_the_end_says_what_was_odd_and_every_caution(
    sheets: list[tuple[Figure, list[Letters]]],
) -> None:
    said = " ".join(s.text for _, strings in sheets[-2:] for s in strings)
    assert "omething <script>window.broken" in said
    for caution in CAUTIONS:
        assert caution in said


def test_a_run_with_a_much_wider_error_bar_keeps_it(material: ReportData) -> None:
    card = corner_cards(material, Units(), pictures=False)[0]
    k = [column.head for column in card.columns].index("minimum speed")
    middle = sorted(row.sds[k] for row in card.rows)[10]
    for times, kept in ((1.9, False), (2.1, True)):
        sds = (*card.rows[4].sds[:k], times * middle, *card.rows[4].sds[k + 1 :])
        rows = (*card.rows[:4], replace(card.rows[4], sds=sds), *card.rows[5:])
        shown, _, _ = paper_rows(replace(card, rows=rows), 99, "typical")
        assert ("±" in shown[4][k + 1]) == kept
    # Braking and throttle points always do: theirs differ from run to run.
    shown, _, _ = paper_rows(card, 99, "typical")
    for head in ("braking before corner", "throttle past apex"):
        k = [column.head for column in card.columns].index(head) + 1
        cells = [row[k] for row in shown[: len(card.rows)] if row[k] != "\N{EN DASH}"]
        assert all("±" in cell for cell in cells)
        assert shown[-1][k] == ""


def test_of_too_many_runs_the_latest_are_kept_in_order(material: ReportData) -> None:
    card = corner_cards(material, Units(), pictures=False)[0]
    most = 9
    rows, bold, _ = paper_rows(card, most, "typical")
    laps = [int(row[0].split()[0]) for row in rows[: most - len(card.summary) - 1]]
    fixed = {material.best, material.usual}
    others = sorted(set(material.clean["lap"]) - fixed)
    expected = sorted({*fixed, *others[-(len(laps) - 2) :]})
    assert laps == expected
    assert [laps[n] for n in bold] == [material.best]
    assert rows[laps.index(material.usual)][0] == f"{material.usual} typical"
