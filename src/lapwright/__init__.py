"""Laps, rolling delta, corner speeds and a coach's report from GNSS logs of a car on a circuit."""

from lapwright._version import __version__

__all__ = ["__version__"]
