"""What the columns of every table are, said once: names, units, error bars, meanings."""

from lapwright.columns.column import Column, arranged, empty, names, numbered
from lapwright.columns.records import records

__all__ = ["Column", "arranged", "empty", "names", "numbered", "records"]
