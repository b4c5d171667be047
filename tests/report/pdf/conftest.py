"""All sheets of the report, once in each unit, kept as they were drawn."""

from collections.abc import Iterator
from typing import Any

import matplotlib.pyplot as plt
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from lapwright.plots.drawing.style import SHEET
from lapwright.report.pdf import text_layout as letters
from lapwright.report.pdf.document import fill
from lapwright.report.pdf.sheet import Sheet
from lapwright.report.pdf.text_layout import Letters
from lapwright.report.report_data import ReportData
from lapwright.units import Units


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


@pytest.fixture(scope="session", params=["km/h", "mph,ft"])
def sheets(material: ReportData, request: Any) -> Iterator[list[tuple[Figure, list[Letters]]]]:
    kept: Any = Kept()
    with plt.style.context(SHEET):
        sheet = Sheet(kept, "Not official timing.")
        fill(sheet, material, Units.parse(request.param))
        sheet.finish()
        yield kept.sheets
