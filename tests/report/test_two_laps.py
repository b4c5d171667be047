"""One comparison in the form of a report's two laps."""

import numpy as np
import pytest

from lapwright.report.charts import ledger_rows
from lapwright.report.headline import corner_sums
from lapwright.report.html.along import lap_arrays
from lapwright.report.report_data import ReportData
from lapwright.report.two_laps import LapsCompared
from lapwright.session import Session
from lapwright.units import Units


def test_it_is_drawn_as_the_report_draws_it(material: ReportData) -> None:
    assert material.comparison is not None
    alone = LapsCompared(material.comparison)
    assert ledger_rows(alone) == ledger_rows(material)
    assert corner_sums(alone) == corner_sums(material)
    both = [n for n in (material.usual, material.best) if n is not None]
    mine, theirs = lap_arrays(alone, Units()), lap_arrays(material, Units(), both)
    for name in ("place", "corners", "length", "best", "usual", "step"):
        assert mine[name] == theirs[name], name
    laps, known = mine["laps"], theirs["laps"]
    assert isinstance(laps, dict)
    assert isinstance(known, dict)
    # The best lap's own error bar is zero in both.
    assert laps == known


def test_names_tell_two_logs_apart(session: Session) -> None:
    one = LapsCompared(session.compare(2, 3))
    assert (one.named(one.usual), one.named(one.best)) == (2, 3)
    other = Session(session.log, session.shared_track)
    same = LapsCompared(session.compare(2, 2, other))
    # The same log opened twice is one log.
    assert same.named(same.best) == 2
    assert not same.comparison.other_log


def test_lap_arrays_have_the_laps_asked_for(material: ReportData) -> None:
    chosen = list(material.traces)[:3]
    some = lap_arrays(material, Units(), chosen)["laps"]
    every = lap_arrays(material, Units())["laps"]
    assert isinstance(some, dict)
    assert isinstance(every, dict)
    assert list(some) == [str(n) for n in chosen]
    assert len(every) == len(material.traces)
    assert all(every[lap] == some[lap] for lap in some)


def test_a_lap_against_itself_is_flat(session: Session) -> None:
    alone = LapsCompared(session.compare(3, 3))
    laps = lap_arrays(alone, Units())["laps"]
    assert isinstance(laps, dict)
    assert set(laps) == {"3"}
    assert np.abs(laps["3"]["delta"]).max() == 0
    assert laps["3"]["sd"] == pytest.approx([0] * len(laps["3"]["sd"]), abs=1)
