"""
All a report says about a session, gathered once: values and tables, no more work to be done.

A page, a PDF and a folder of tables are made from the same material, so they cannot disagree.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.car.watch import warning_table
from lapwright.columns import empty
from lapwright.columns.car import CAR, CAR_WARNINGS
from lapwright.columns.driver import COASTING, DRIVER, DRIVER_LAPS
from lapwright.columns.variation import VARIATION
from lapwright.corners.driver_inputs import Channel
from lapwright.corners.grip import GripUse
from lapwright.geometry import Track
from lapwright.ingest.log import Log
from lapwright.laps.comparison import Comparison
from lapwright.laps.findings.receiver_noise import ReceiverNoise
from lapwright.laps.lap_trace import LapTrace
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.car import car_lines
from lapwright.wording.coaching.still_known import still_known
from lapwright.wording.coaching.worth_trying import advice_in_words

Floats = npt.NDArray[np.float64]

# Of fewer clean laps none is usual.
MIN_USUAL = 3


@dataclass(frozen=True, eq=False)
class ReportData:
    """
    What a report is made of.

    Attributes
    ----------
    log : Log
    track : Track
    laps, corners, passes : DataFrame
        As in `lapwright.Session`; the laps with ``gap_s`` and ``gap_sd_s`` to the best lap.
    best, usual : int or None
        The best lap, and the clean lap whose time is the middle of the others'.
    traces : dict of LapTrace
        By lap, of every timed lap that goes from line to line.
    delta_sds : dict of ndarray
        By lap, at `sd_station_m`: error bar of the delta to the best lap. [s]
    sd_station_m : ndarray, shape (k,)
    spans : DataFrame
        ``lap``, ``corner``, ``span_s`` of the clean passes, from before the braking for the
        corner to before the next braking.
    comparison : Comparison or None
        The usual lap against the best.
    other : Comparison or None
        The best lap against a reference that was asked for.
    other_name : str
        What that reference is called.
    theoretical_best : (float, float) or None
        Sum of the best sectors and its sd. [s]
    noise : ReceiverNoise
    grip : GripUse
    worth_trying : tuple of WorthTryingInWords
    remark : str
        Why nothing is worth trying, or what was held back; may be empty.
    notes : LogNotes
    came_of_it : tuple of str
        What came of what was tried last time, a sentence each.
    before : str
        File name of the session that this rests on; may be empty.
    other_log : bool
        Whether the reference that was asked for comes from another log.
    channels : dict of Channel
        Throttle, brake, steering and rpm, those that the log has.
    driver, driver_laps, coasting : DataFrame
        As in `lapwright.Session`; empty where the log has no such channels.
    still_known : tuple of str
        What the laps show where nothing is worth trying, a text each.
    variation : DataFrame
        As in `lapwright.Session`.
    car_lines : tuple of str
        What of the car deserves a look, a text each.
    car, car_warnings : DataFrame
        What the car's sensors said on each lap, and the warnings; empty without sensors.
    """

    log: Log
    track: Track
    laps: pd.DataFrame
    corners: pd.DataFrame
    passes: pd.DataFrame
    best: int | None
    usual: int | None
    traces: Mapping[int, LapTrace]
    delta_sds: Mapping[int, Floats]
    sd_station_m: Floats
    spans: pd.DataFrame
    comparison: Comparison | None
    other: Comparison | None
    other_name: str
    theoretical_best: tuple[float, float] | None
    noise: ReceiverNoise
    grip: GripUse
    worth_trying: tuple[WorthTryingInWords, ...] = ()
    remark: str = ""
    notes: LogNotes = field(default_factory=LogNotes)
    came_of_it: tuple[str, ...] = ()
    before: str = ""
    other_log: bool = False
    channels: Mapping[str, Channel] = field(default_factory=dict)
    driver: pd.DataFrame = field(default_factory=lambda: empty(DRIVER))
    driver_laps: pd.DataFrame = field(default_factory=lambda: empty(DRIVER_LAPS))
    coasting: pd.DataFrame = field(default_factory=lambda: empty(COASTING))
    still_known: tuple[str, ...] = ()
    variation: pd.DataFrame = field(default_factory=lambda: empty(VARIATION))
    car_lines: tuple[str, ...] = ()
    car: pd.DataFrame = field(default_factory=lambda: empty(CAR))
    car_warnings: pd.DataFrame = field(default_factory=lambda: empty(CAR_WARNINGS))

    @cached_property
    def clean(self) -> pd.DataFrame:
        """The clean laps."""
        return self.laps[self.laps["representative"]]

    @property
    def usual_word(self) -> str:
        """What the lap held against the best is: of two clean laps the second is just the other."""
        return "typical" if len(self.clean) >= MIN_USUAL else "other"

    @property
    def usual_is(self) -> str:
        """The same, after the number of the lap."""
        return "a typical lap" if self.usual_word == "typical" else "the other one"

    @property
    def best_is(self) -> str:
        """What the lap is that the other one is held against."""
        return "the best"

    @property
    def length_m(self) -> float:
        """Length of a lap. [m]."""
        return self.track.length_m

    def named(self, lap: int) -> int | str:
        """What stands after the word lap."""
        return lap

    def lap(self, number: int) -> dict[str, Any]:
        """Row of one lap."""
        row = self.laps[self.laps["lap"] == number].iloc[0]
        return {str(key): value for key, value in row.items()}


def gather(
    session: Session,
    reference: int | tuple[Session, int | None] | None = None,
    notes: LogNotes | None = None,
    came_of_it: Sequence[str] = (),
    before: str = "",
    units: Units | str = "km/h",
) -> ReportData:
    """
    Gather what a report says.

    Parameters
    ----------
    session : Session
    reference, notes, came_of_it, before
        As for `lapwright.report.write_html`.
    units : Units or str
        Of the sentences on what is worth trying; km/h where not given.

    Returns
    -------
    ReportData
    """
    # First, for what is worth trying needs some of its error bars, and has them from there then.
    passes = session.passes
    advice = advice_in_words(session, units)
    best, usual = session.best_lap, session.typical_lap
    other, other_name = _other(session, best, reference)
    # All that takes long is kept by the session: a page and a PDF rest on the same work.
    sd_station, sds = session.delta_sds(session.timed_laps)
    return ReportData(
        replace(session.log, findings=session.findings),
        session.track,
        session.laps.join(session.gaps),
        session.corners,
        passes,
        best,
        usual,
        {n: session.trace(n) for n in session.timed_laps},
        dict(zip(session.timed_laps, sds, strict=True)),
        sd_station,
        session.evidence.passes[["lap", "corner", "span_s"]],
        None if best is None or usual is None else session.compare(usual, best),
        other,
        other_name,
        session.theoretical_best,
        session.noise,
        session.grip,
        advice.items,
        advice.remark,
        session.notes if notes is None else notes,
        tuple(came_of_it),
        before,
        isinstance(reference, tuple),
        session.channels,
        session.driver,
        session.driver_laps,
        session.coasting,
        still_known(session, units),
        session.variation,
        car_lines(session, units),
        session.car,
        warning_table(session.car_warnings),
    )


def _other(
    session: Session, best: int | None, reference: int | tuple[Session, int | None] | None
) -> tuple[Comparison | None, str]:
    if best is None or reference is None:
        return None, ""
    if not isinstance(reference, tuple):
        return session.compare(best, reference), f"lap {reference}"
    base, lap = reference
    found = session.compare(best, lap, other=base)
    return found, f"lap {found.reference} of {base.log.path.name}"
