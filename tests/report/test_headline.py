"""The five points, and what is said of the corners they name."""

from dataclasses import replace
from html import unescape

import numpy as np
import pytest

from lapwright.notes.weekend_notes import LogNotes
from lapwright.report.headline import five_lines, only_between_two
from lapwright.report.html.page import html
from lapwright.report.other_words import other_words
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.cautions import CAUTIONS, OTHER_CAR


def with_clean(material: ReportData, *laps: int | None) -> ReportData:
    """The same, with these laps clean and no others."""
    return replace(
        material,
        laps=material.laps.assign(representative=material.laps["lap"].isin(laps)),
        spans=material.spans[material.spans["lap"].isin(laps)],
        worth_trying=(),
    )


def test_the_spread_of_the_laps_is_their_sd(material: ReportData) -> None:
    times = material.clean["time_s"].to_numpy()
    sd = np.sqrt(((times - times.mean()) ** 2).sum() / (len(times) - 1))
    said = five_lines(material, Units())[2].partition("spread (sd) ")[2].partition(" s;")[0]
    half = 0.5 * 10.0 ** -len(said.partition(".")[2])
    assert float(said) == pytest.approx(sd, abs=half)


def test_the_length_is_said_to_be_of_the_line_driven(material: ReportData) -> None:
    assert f"{material.length_m:.0f} m along the line driven" in five_lines(material, Units())[0]


def test_of_two_laps_the_second_is_the_other(material: ReportData) -> None:
    two = with_clean(material, material.best, material.usual)
    lines = five_lines(two, Units())
    assert "too few to speak of a typical pace" in lines[2]
    assert lines[3].startswith("The other lap (lap ")
    page = html(two)
    for word in ("a typical lap", "the typical lap", "Typical lap", '"tag"> typical'):
        assert word not in page
        assert word in html(material)
    assert five_lines(material, Units())[3].startswith("A typical lap (lap ")


def test_what_was_not_tested_is_not_said_to_show_no_habit(material: ReportData) -> None:
    assert material.best is not None
    every = replace(material, worth_trying=(), notes=LogNotes())
    assert "no habit could be shown" in only_between_two(every)[0]
    two = only_between_two(with_clean(material, material.best, material.usual))[0]
    assert "too few clean laps (2) to test for a habit" in two
    wet = only_between_two(replace(every, notes=LogNotes(conditions="dry, then rain")))[0]
    for text in (two, wet):
        assert "no habit" not in text
    # One lap against another is no reason to look anywhere.
    for text in (two, wet, only_between_two(every)[0]):
        assert "look at" not in text


def test_best_sectors_are_put_together_from_two_laps_at_least(material: ReportData) -> None:
    assert "Best sectors added up" in five_lines(material, Units())[1]
    assert (
        "Best sectors added up" not in five_lines(with_clean(material, material.best), Units())[1]
    )


def test_top_speed_is_that_of_all_laps(material: ReportData) -> None:
    laps = material.laps.copy()
    last = laps.index[-1]
    laps.loc[last, ["kind", "top_speed_mps"]] = ["in", 100.0]
    said = five_lines(replace(material, laps=laps), Units())[4]
    assert f"360 km/h on lap {laps.loc[last, 'lap']} (the in lap)" in said


def test_a_lap_of_the_same_log_is_no_other_car(material: ReportData) -> None:
    c = material.comparison
    assert c is not None
    own = other_words(material)
    assert "A different driver" not in own
    assert f"compare lap {c.lap}, a typical lap, with lap {c.reference}, the best" in own
    assert own in unescape(html(material))
    assert other_words(replace(material, other_log=True)) == f"{OTHER_CAR} {own}"


def test_no_finding_is_less_than_two_sd(material: ReportData) -> None:
    assert any("smaller than twice its \N{PLUS-MINUS SIGN}" in text for text in CAUTIONS)
    far = material.laps.assign(gap_s=1.0, gap_sd_s=0.01)
    near = far.assign(gap_s=0.015)
    said = "Equal: within twice the \N{PLUS-MINUS SIGN} of the best"
    assert said not in html(replace(material, laps=far))
    assert said in html(replace(material, laps=near))


def test_the_last_try_is_held_against_a_session_with_a_name(material: ReportData) -> None:
    tried = replace(material, came_of_it=("Quicker.",), before="friday_test.csv")
    assert "Compared with friday_test.csv." in html(tried)
    assert "Before:" not in html(replace(tried, before=""))
