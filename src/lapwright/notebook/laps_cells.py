"""Cells of a session and of a comparison of two laps."""

from lapwright.laps.comparison import Comparison
from lapwright.laps.stretches import STRETCHES
from lapwright.notebook.cell import cell, framed
from lapwright.report.achievable_rows import achievable_heads, achievable_rows
from lapwright.report.beside import (
    BESIDE_WORDS,
    beside_corners,
    beside_heads,
    lap_leads,
    why_sentences,
)
from lapwright.report.charts import ledger_rows
from lapwright.report.facts import about
from lapwright.report.headline import five_lines, worth
from lapwright.report.lap_rows import any_equal, lap_heads, lap_rows
from lapwright.report.numbers import signed_with_sd
from lapwright.report.report_data import ReportData, gather
from lapwright.report.two_laps import LapsCompared, TwoLaps
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP, OTHER_CAR
from lapwright.wording.coaching.achievable import CALCULATED, TABLE
from lapwright.wording.coaching.achievable import HEADING as ACHIEVABLE_HEADING
from lapwright.wording.coaching.still_known import HEADING
from lapwright.wording.compared import against, what_differed
from lapwright.wording.findings import finding_text
from lapwright.wording.flags import meanings
from lapwright.wording.heads import PAGE, heads
from lapwright.wording.terms import UNNAMED, sentence


def session_cell(session: Session, units: Units) -> str:
    """
    Write what a notebook shows of a session.

    Parameters
    ----------
    session : Session
    units : Units

    Returns
    -------
    str
        The five points, what is worth trying, the whole lap, all laps, where the time goes and
        what was odd in the log.
    """
    material = gather(session, units=units)
    return cell(
        "session.html.jinja",
        m=material,
        name=material.track.name or UNNAMED,
        about=about(material),
        five_lines=five_lines(material, units),
        worth=worth,
        build_up=BUILD_UP,
        as_driven=AS_DRIVEN,
        still_known_heading=HEADING,
        adds_up_heading=ACHIEVABLE_HEADING,
        calculated=CALCULATED,
        adds_up_words=TABLE,
        adds_up_rows=achievable_rows(material, units),
        adds_up_heads=achievable_heads(units),
        frame=framed(material, units, _quickest(material)),
        laps=lap_rows(material, units),
        lap_heads=lap_heads(material, units),
        any_equal=any_equal(material),
        flags=meanings(flag for flags in material.laps["flags"] for flag in flags),
        findings=[sentence(finding_text(finding)) for finding in material.log.findings],
        base="the best lap",
        **_ledger(material, units),
    )


def comparison_cell(comparison: Comparison, units: Units) -> str:
    """
    Write what a notebook shows of a comparison.

    Parameters
    ----------
    comparison : Comparison
    units : Units

    Returns
    -------
    str
        The difference, the whole lap, and where the time goes.
    """
    material = LapsCompared(comparison)
    difference = comparison.time_difference_s, comparison.time_difference_sd_s
    return cell(
        "comparison.html.jinja",
        headline=against(comparison, f"{signed_with_sd(*difference)} s"),
        another_log=[*what_differed(comparison), *([OTHER_CAR] if comparison.other_log else [])],
        build_up=BUILD_UP,
        beside=beside_corners(comparison, units, lap_leads(comparison)),
        beside_heads=beside_heads(units),
        beside_words=BESIDE_WORDS,
        why=why_sentences(comparison, units),
        frame=framed(material, units),
        base=f"lap {material.named(material.best)}",
        **_ledger(material, units),
    )


def _ledger(material: TwoLaps, units: Units) -> dict[str, object]:
    rows, zero = ledger_rows(material)
    named = heads(PAGE, "ledger", units)
    return {"ledger": rows, "ledger_zero": zero, "ledger_heads": named, "stretches": STRETCHES}


def _quickest(material: ReportData) -> list[int]:
    """Clean laps that a reader may want to see, the quickest first."""
    return [int(n) for n in material.clean.sort_values("time_s")["lap"] if n in material.traces]
