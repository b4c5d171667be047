"""The reading room: a file becomes a `Log`, with what was odd about it."""

from lapwright.ingest.log import ColumnReading, Finding, Log
from lapwright.ingest.read import read_log

__all__ = ["ColumnReading", "Finding", "Log", "read_log"]
