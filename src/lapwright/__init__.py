"""
Laps, delta along the lap, corner speeds and a coach's report from GNSS logs of a car on a circuit.

::

    import lapwright as lw

    session = lw.open_session("friday_practice.csv")  # finds track, notes and column map
    session.laps

The names below are imported when they are first used (a module's ``__getattr__``, as in Scientific
Python's SPEC 1), so that importing the package costs next to nothing.
"""

import warnings
from typing import TYPE_CHECKING, Any

from lapwright._version import __version__
from lapwright.in_notebook import shown_by

if TYPE_CHECKING:
    from lapwright import captions, plots, report
    from lapwright.achievable import Achievable
    from lapwright.batch import init_notes, run_weekend, write_weekend_report
    from lapwright.car.watch import CarWarning
    from lapwright.coaching.before_after import before_after, lap_time_change
    from lapwright.coaching.car_change.effect import BeforeAfter
    from lapwright.coaching.follow_up import what_came_of_it
    from lapwright.discovery import (
        Discovery,
        complete_track,
        discover_track,
        find_known_track,
        save_to_library,
        start_line_at_time,
    )
    from lapwright.errors import (
        LapError,
        LapwrightError,
        LogError,
        NotesError,
        OutputError,
        TrackError,
    )
    from lapwright.geometry import Corner, Gate, ReferencePath, Track, read_track, write_track
    from lapwright.ingest import Finding, Log, read_log
    from lapwright.laps.comparison import Comparison
    from lapwright.live_session.live import LiveSession, live
    from lapwright.motion import Motion
    from lapwright.notebook import show
    from lapwright.notes.limits import Limit, read_limits
    from lapwright.notes.weekend_notes import LogNotes, read_notes
    from lapwright.notes.worth_trying_item import WorthTrying, WorthTryingInWords
    from lapwright.plane import Plane
    from lapwright.session import (
        FirstLap,
        OpenedWith,
        Session,
        first_lap,
        open_session,
        session_before,
    )
    from lapwright.two_logs import Alignment, align_logs, with_channels_of, write_log
    from lapwright.units import Units
    from lapwright.wording.car import car_warning_text
    from lapwright.wording.coaching.changes import change_text
    from lapwright.wording.coaching.follow_up import follow_up_text
    from lapwright.wording.coaching.worth_trying import advice_in_words
    from lapwright.wording.event.race import race_in_words

# Where each public name lives; a module that is itself public maps to None.
_HOME: dict[str, str | None] = {
    "Achievable": "lapwright.achievable",
    "Alignment": "lapwright.two_logs",
    "BeforeAfter": "lapwright.coaching.car_change.effect",
    "CarWarning": "lapwright.car.watch",
    "Comparison": "lapwright.laps.comparison",
    "Corner": "lapwright.geometry",
    "Discovery": "lapwright.discovery",
    "Finding": "lapwright.ingest",
    "FirstLap": "lapwright.session",
    "Gate": "lapwright.geometry",
    "LapError": "lapwright.errors",
    "LapwrightError": "lapwright.errors",
    "Limit": "lapwright.notes.limits",
    "LiveSession": "lapwright.live_session.live",
    "Log": "lapwright.ingest",
    "LogError": "lapwright.errors",
    "LogNotes": "lapwright.notes.weekend_notes",
    "Motion": "lapwright.motion",
    "NotesError": "lapwright.errors",
    "OpenedWith": "lapwright.session",
    "OutputError": "lapwright.errors",
    "Plane": "lapwright.plane",
    "ReferencePath": "lapwright.geometry",
    "Session": "lapwright.session",
    "Track": "lapwright.geometry",
    "TrackError": "lapwright.errors",
    "Units": "lapwright.units",
    "WorthTrying": "lapwright.notes.worth_trying_item",
    "WorthTryingInWords": "lapwright.notes.worth_trying_item",
    "align_logs": "lapwright.two_logs",
    "advice_in_words": "lapwright.wording.coaching.worth_trying",
    "before_after": "lapwright.coaching.before_after",
    "car_warning_text": "lapwright.wording.car",
    "captions": None,
    "change_text": "lapwright.wording.coaching.changes",
    "complete_track": "lapwright.discovery",
    "discover_track": "lapwright.discovery",
    "first_lap": "lapwright.session",
    "follow_up_text": "lapwright.wording.coaching.follow_up",
    "lap_time_change": "lapwright.coaching.before_after",
    "live": "lapwright.live_session.live",
    "open_session": "lapwright.session",
    "plots": None,
    "race_in_words": "lapwright.wording.event.race",
    "read_limits": "lapwright.notes.limits",
    "read_log": "lapwright.ingest",
    "read_notes": "lapwright.notes.weekend_notes",
    "read_track": "lapwright.geometry",
    "find_known_track": "lapwright.discovery",
    "report": None,
    "init_notes": "lapwright.batch",
    "run_weekend": "lapwright.batch",
    "save_to_library": "lapwright.discovery",
    "session_before": "lapwright.session",
    "show": "lapwright.notebook",
    "start_line_at_time": "lapwright.discovery",
    "what_came_of_it": "lapwright.coaching.follow_up",
    "with_channels_of": "lapwright.two_logs",
    "write_log": "lapwright.two_logs",
    "write_track": "lapwright.geometry",
    "write_weekend_report": "lapwright.batch",
}

# Old names, kept until version 0.3.
_RENAMED = {"recognise": "find_known_track"}

__all__ = [
    "Achievable",
    "Alignment",
    "BeforeAfter",
    "CarWarning",
    "Comparison",
    "Corner",
    "Discovery",
    "Finding",
    "FirstLap",
    "Gate",
    "LapError",
    "LapwrightError",
    "Limit",
    "LiveSession",
    "Log",
    "LogError",
    "LogNotes",
    "Motion",
    "NotesError",
    "OpenedWith",
    "OutputError",
    "Plane",
    "ReferencePath",
    "Session",
    "Track",
    "TrackError",
    "Units",
    "WorthTrying",
    "WorthTryingInWords",
    "__version__",
    "advice_in_words",
    "align_logs",
    "before_after",
    "captions",
    "car_warning_text",
    "change_text",
    "complete_track",
    "discover_track",
    "find_known_track",
    "first_lap",
    "follow_up_text",
    "init_notes",
    "lap_time_change",
    "live",
    "open_session",
    "plots",
    "race_in_words",
    "read_limits",
    "read_log",
    "read_notes",
    "read_track",
    "report",
    "run_weekend",
    "save_to_library",
    "session_before",
    "show",
    "start_line_at_time",
    "what_came_of_it",
    "with_channels_of",
    "write_log",
    "write_track",
    "write_weekend_report",
]


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for."""
    from importlib import import_module

    if name in _RENAMED:
        now = _RENAMED[name]
        warnings.warn(
            f"lapwright.{name} is now {now}; the old name goes with version 0.3",
            DeprecationWarning,
            stacklevel=2,
        )
        return __getattr__(now)
    if name not in _HOME:
        msg = f"module 'lapwright' has no attribute {name!r}"
        raise AttributeError(msg)
    home = _HOME[name]
    if home is None:
        return import_module(f"lapwright.{name}")
    value = getattr(import_module(home), name)
    # Kept, so that the next use is an ordinary look-up.
    globals()[name] = value
    return value


def _show(result: object) -> str:
    """Write a result as a notebook shows it; what draws it is imported then and not before."""
    return str(__getattr__("show")(result).html)


# A result's room comes before the rooms that draw it, so they meet here.
shown_by(_show)


def __dir__() -> list[str]:
    return sorted(__all__)
