"""
What a notebook shows of a `Session`, a `Comparison` or a `Weekend`: sentences, tables, pictures.

`show` is the door; a result that stands last in a cell goes through it by itself.  The tables and
the pictures are those of the coach's report.
"""

from lapwright.notebook.show import Shown, show

__all__ = ["Shown", "show"]
