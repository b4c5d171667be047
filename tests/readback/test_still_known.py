"""Never only silence: where nothing is worth trying, page and tables say what the laps show."""

from pathlib import Path
from typing import Any

import pandas as pd
from page_reading import words
from session_truth import Truth

from lapwright.report import write_tables
from lapwright.wording.coaching.still_known import still_known

Report = tuple[Any, Truth, str]


def test_page_says_something_and_the_same_as_the_session(report: Report) -> None:
    page, truth, units = report
    shown = [words(one) for one in page.xpath("//ul[@class='still-known']/li")]
    assert shown == [" ".join(text.split()) for text in still_known(truth.session, units)]
    assert bool(shown) != bool(truth.session.worth_trying)
    assert len(page.xpath("//p[@class='quiet as-driven']")) == bool(shown)


def test_table_of_how_corners_vary(report: Report, tmp_path: Path) -> None:
    _, truth, units = report
    if units != "km/h":
        return
    write_tables(truth.session, tmp_path)
    written = pd.read_csv(tmp_path / "variation.csv")
    assert len(written) == len(truth.session.variation)
    if len(written):
        pd.testing.assert_frame_equal(written, truth.session.variation, rtol=1e-6)
