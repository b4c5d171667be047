"""When a lap was driven, and what the notes say of it: what else than the driver may differ."""

from dataclasses import dataclass, field

import pandas as pd

from lapwright.notes.weekend_notes import LogNotes


@dataclass(frozen=True, eq=False)
class Noted:
    """
    When a lap was driven, and on what.

    Attributes
    ----------
    notes : LogNotes
    start_utc : Timestamp or None
        Of the log; None where it has no date.
    """

    notes: LogNotes = field(default_factory=LogNotes)
    start_utc: pd.Timestamp | None = None
