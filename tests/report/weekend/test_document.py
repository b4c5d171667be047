"""The weekend on paper: within the sheet, with all that the page says."""

import re
from pathlib import Path
from typing import Any

import matplotlib.pyplot as plt
import pytest
from matplotlib.figure import Figure

from lapwright.errors import OutputError
from lapwright.plots.drawing.style import SHEET
from lapwright.report.pdf import text_layout as letters
from lapwright.report.pdf.sheet import MARGIN_IN, SMALLEST_PT, WIDTH_IN
from lapwright.report.pdf.text_layout import Letters, width_in
from lapwright.report.weekend.charts import lap_chart
from lapwright.report.weekend.data import WeekendData
from lapwright.report.weekend.document import write_document
from lapwright.report.weekend.drawn import draw_chart
from lapwright.units import Units
from lapwright.wording.cautions import CAUTIONS


@pytest.fixture(scope="module")
def written(
    weekend: WeekendData, tmp_path_factory: pytest.TempPathFactory
) -> tuple[bytes, list[Letters]]:
    """The file, and every string that was put on a sheet."""
    strings: list[Letters] = []
    real: Any = letters._write

    def keep(own: list[Letters], *rest: object) -> None:
        strings.extend(own)
        real(own, *rest)

    path = tmp_path_factory.mktemp("pdf") / "weekend.pdf"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(letters, "_write", keep)
        assert write_document(weekend, path, Units()) == path
    assert list(path.parent.iterdir()) == [path]
    return path.read_bytes(), strings


def test_it_is_a_whole_pdf(written: tuple[bytes, list[Letters]]) -> None:
    data, _ = written
    assert data.startswith(b"%PDF-")
    assert data.rstrip().endswith(b"%%EOF")
    assert len(re.findall(rb"/MediaBox", data)) >= 8


def test_no_string_leaves_the_sheet_or_is_too_small(
    written: tuple[bytes, list[Letters]],
) -> None:
    for one in written[1]:
        wide = width_in(one.text, one.size_pt, bold=one.bold)
        start = one.x_in - (wide if one.right else 0.0)
        assert start >= MARGIN_IN - 0.01, one.text
        assert start + wide <= WIDTH_IN - MARGIN_IN + 0.02, one.text
        assert one.size_pt >= SMALLEST_PT


def test_it_says_what_the_page_says(
    written: tuple[bytes, list[Letters]], weekend: WeekendData
) -> None:
    said = " ".join(one.text for one in written[1])
    for caution in CAUTIONS:
        assert caution.split(".")[0].split(",")[0][:50] in said
    for heading in ("Where to begin next time", "Lap times over the sessions", "Ivo against Runa",
                    "Day after day", "Corner by corner", "Files"):  # fmt: skip
        assert heading in said or heading.replace("Ivo against Runa", "Runa against Ivo") in said
    cards = [one.text for one in written[1] if one.text.startswith("Card for next time")]
    # Two drivers in the dry, one in the wet, none on a drying track.
    assert len(cards) == 3
    for one in weekend.circuits[0].sessions:
        assert any(s.text == f"{one.number} {one.name}" for s in written[1])


def test_a_chart_on_paper_has_the_places_of_the_page(weekend: WeekendData) -> None:
    chart = lap_chart(weekend.circuits[0].fields[0])
    assert chart is not None
    with plt.style.context(SHEET):
        ax = Figure().add_subplot()
        draw_chart(ax, chart)
    marks = [line for line in ax.lines if line.get_marker() in ("o", "s", "^", "D")]
    drawn = sorted((float(x.get_xdata()[0]), float(x.get_ydata()[0])) for x in marks)  # type: ignore[index,arg-type]
    ringed = [(d.share, d.y) for d in chart.dots if d.role == "best"]
    assert drawn == sorted([(d.share, d.y) for d in chart.dots] + ringed)
    # Slower is up, as on the page: pixels count from the top.
    assert ax.get_ylim() == (chart.height, 0.0)


def test_no_folder_no_file(weekend: WeekendData, tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="no folder"):
        write_document(weekend, tmp_path / "none" / "weekend.pdf", Units())
