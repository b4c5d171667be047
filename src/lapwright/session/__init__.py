"""A log and a track as one `Session`, and the tables of a weekend made of them."""

from lapwright.session.before import session_before
from lapwright.session.opened_with import OpenedWith
from lapwright.session.opening import open_session
from lapwright.session.racing.first_lap import CornerCost, FirstLap, first_lap
from lapwright.session.session import Session

__all__ = [
    "CornerCost",
    "FirstLap",
    "OpenedWith",
    "Session",
    "first_lap",
    "open_session",
    "session_before",
]
