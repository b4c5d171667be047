"""What the columns of every table are, said once: names, units, error bars, meanings."""

from lapwright.columns.column import Column, arranged, empty, names, numbered

__all__ = ["Column", "arranged", "empty", "names", "numbered"]
