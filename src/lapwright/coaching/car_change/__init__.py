"""What a change to the car did to the times of clean laps, over all sessions around it."""

from lapwright.coaching.car_change.effect import BeforeAfter, CornerChange, MoreLaps
from lapwright.coaching.car_change.session_laps import SessionLaps

__all__ = ["BeforeAfter", "CornerChange", "MoreLaps", "SessionLaps"]
