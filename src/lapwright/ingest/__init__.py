"""
The reading room: a file becomes a `Log`, with what was odd about it.

`read_log` is the door.  `Recording`, `ColumnReading` and `Finding` are what a plug-in
reader needs (entry-point group ``lapwright.readers``).
"""

from lapwright.ingest.log import ColumnReading, Finding, Log
from lapwright.ingest.read import read_log
from lapwright.ingest.recording import Recording

__all__ = ["ColumnReading", "Finding", "Log", "Recording", "read_log"]
