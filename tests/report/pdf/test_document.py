"""The report on paper."""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import matplotlib.pyplot as plt
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

from lapwright.plots.drawing.style import SHEET
from lapwright.report import write_pdf
from lapwright.report.cards import ONE_SD, corner_cards
from lapwright.report.pdf import text_layout as letters
from lapwright.report.pdf.document import draw_pdf, fill
from lapwright.report.pdf.sheet import HEIGHT_IN, MARGIN_IN, SMALLEST_PT, WIDTH_IN, Sheet
from lapwright.report.pdf.table import paper_rows
from lapwright.report.pdf.text_layout import Letters, width_in, wrapped
from lapwright.report.report_data import ReportData
from lapwright.session import Session
from lapwright.units import Units


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


class Kept:
    """Takes finished sheets and keeps their figures and strings."""

    def __init__(self) -> None:
        self.sheets: list[tuple[Figure, list[Letters]]] = []

    def savefig(self, figure: Figure) -> None:
        strings: list[Letters] = []

        def keep(own: list[Letters], *_: object) -> None:
            strings.extend(own)

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(letters, "_write", keep)
            for artist in figure.artists:
                if type(artist).__name__ == "Writing":
                    artist.draw(FigureCanvasAgg(figure).get_renderer())  # type: ignore[no-untyped-call]
        assert strings
        self.sheets.append((figure, strings))


@pytest.fixture(scope="module", params=["km/h", "mph,ft"])
def sheets(material: ReportData, request: Any) -> Iterator[list[tuple[Figure, list[Letters]]]]:
    kept: Any = Kept()
    with plt.style.context(SHEET):
        sheet = Sheet(kept, "Not official timing.")
        fill(sheet, material, Units.parse(request.param))
        sheet.finish()
        yield kept.sheets


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
