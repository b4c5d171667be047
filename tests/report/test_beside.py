"""Two laps side by side on a page: what is the same is pale, what differs has its sign."""

import math
from dataclasses import replace

import numpy as np
import pytest

from lapwright.laps.comparison import Comparison
from lapwright.report.beside import (
    beside_by_corner,
    beside_corners,
    beside_heads,
    lap_leads,
    why_sentences,
)
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.heads import BESIDE

LEADS = ("lap 7", "lap 2")


@pytest.fixture(scope="module")
def comparison(material: ReportData) -> Comparison:
    c = material.comparison
    assert c is not None
    passes = c.passes.copy()
    row = passes["corner"] == 3
    for name, values in {
        "min_speed_mps": (20.0, 21.0, -1.0), "min_speed_sd_mps": (0.04, 0.04, 0.05),
        "exit_speed_mps": (30.0, 30.1, -0.1), "exit_speed_sd_mps": (0.04, 0.04, 0.06),
        "brake_to_corner_m": (math.nan, 50.0, math.nan),
        "brake_to_corner_sd_m": (math.nan, 2.0, math.nan),
        "apex_offset_m": (2.0, 1.0, 1.0), "apex_offset_sd_m": (0.2, 0.2, 0.3),
    }.items():  # fmt: skip
        for lap, value in zip(("", "reference_", "difference_"), values, strict=True):
            passes.loc[row, f"{lap}{name}"] = value
    causes = c.causes.assign(lost_s=0.0, lost_sd_s=0.01)
    causes.loc[(causes["corner"] == 3) & (causes["cause"] == "minimum"), "lost_s"] = 0.25
    cov = np.eye(len(causes)) * 0.01**2
    return replace(c, passes_of=lambda: passes, causes_of=lambda: (causes, cov))


def cells(comparison: Comparison, corner: int, name: str, units: str = "m/s") -> list[tuple]:
    one = beside_by_corner(comparison, Units.parse(units), LEADS)[corner]
    assert [row.lead for row in one.rows] == [*LEADS, "difference"]
    return [row.cells[1 + list(BESIDE).index(name)] for row in one.rows]


def test_what_differs_stands_out_and_what_does_not_is_pale(comparison: Comparison) -> None:
    assert cells(comparison, 3, "min_speed_mps") == [
        ("20.0 ± <0.1", ""), ("21.0 ± <0.1", ""), ("\N{MINUS SIGN}1.0 ± 0.1", ""),
    ]  # fmt: skip
    # A tenth with a bar of 0.06 is less than twice it: pale on both sides.
    assert [role for _, role in cells(comparison, 3, "exit_speed_mps")] == ["equal"] * 3
    # One lap did not brake: no difference, and nothing is called equal.
    assert cells(comparison, 3, "brake_to_corner_m") == [
        ("\N{EN DASH}", ""), ("50 ± 2", ""), ("\N{EN DASH}", ""),
    ]  # fmt: skip


def test_of_the_line_only_how_far_apart_is_shown(comparison: Comparison) -> None:
    # One metre is 3.28 ft: 0.3 m is 1.0 ft.
    assert cells(comparison, 3, "apex_offset_m", "mph,ft") == [
        ("", ""), ("", ""), ("+3.3 ± 1.0", ""),
    ]  # fmt: skip


def test_the_times_add_up_with_what_the_lap_began_with(material: ReportData) -> None:
    c = material.comparison
    assert c is not None
    found = beside_corners(c, Units(), LEADS)
    assert found[0].title == "start to corner 1"
    assert len(found) == 1 + len(c.track.corners)
    shown = [one.rows[-1].cells[0][0].split(" ")[0] for one in found]
    total = sum(float(text.replace("\N{MINUS SIGN}", "-")) for text in shown)
    # Eleven numbers rounded to a hundredth at worst.
    assert total == pytest.approx(c.time_difference_s, abs=11 * 0.005)
    assert all(len(row.cells) == len(beside_heads(Units())) for one in found for row in one.rows)


def test_only_what_is_clear_has_a_sentence(comparison: Comparison) -> None:
    (said,) = why_sentences(comparison, Units("m/s"))
    assert said.endswith(
        ": 0.25 ± 0.02 s lost, most of it around the slowest point: minimum speed 1.0 m/s lower "
        "(± 0.1)."
    )
    one = beside_by_corner(comparison, Units(), LEADS)[3]
    assert one.rows[-1].cells[0] == ("+0.25 ± 0.02", "lost")


def test_a_lap_of_another_log_is_called_that(comparison: Comparison) -> None:
    c = comparison
    assert lap_leads(c) == (f"lap {c.lap}", f"lap {c.reference}")
    other = replace(c, reference_log=c.log.with_name("ivo.csv"))
    assert lap_leads(other)[1] == f"lap {c.reference}, other log"
