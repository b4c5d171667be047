"""Laps, delta, corners: a motion and a track made into tables that a racer can use."""

from lapwright.analysis.session import Session

__all__ = ["Session"]
