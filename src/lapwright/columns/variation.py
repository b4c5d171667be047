"""Columns of how much each corner varies from lap to lap."""

from lapwright.columns.column import Column

_FIXED = "none: where the runs are timed, the same for all laps of the session"
_INTERVAL = "its interval, `varies_low95_s` to `varies_high95_s`"
_ALL = "table json files"

VARIATION = (
    Column("corner", "", "Number of the corner.", shown=_ALL, holds=int),
    Column("laps", "", "How many clean runs it rests on.", shown=_ALL, holds=int),
    Column("start_m", "m", "From where they are timed: before the braking for the corner.",
           no_sd=_FIXED, shown=_ALL),
    Column("end_m", "m", "To where: before the next braking, or the start line.", no_sd=_FIXED,
           shown=_ALL),
    Column(
        "varies_s", "s",
        "How much the time over it varies from lap to lap: the standard deviation, with the "
        "receiver's error taken out in squares; 0 where that is all there is. Empty for fewer "
        "than three runs.",
        no_sd=_INTERVAL, decimals=3, shown=_ALL,
    ),
    Column("varies_low95_s", "s", "Lower end of its 95 % interval.", no_sd="an end of an interval",
           decimals=3, shown=_ALL),
    Column("varies_high95_s", "s", "Upper end of its 95 % interval.",
           no_sd="an end of an interval", decimals=3, shown=_ALL),
    Column("measuring_s", "s",
           "What measuring alone makes the times vary by (standard deviation).",
           no_sd="an error bar itself, as good as the receiver's noise is known", decimals=3,
           shown=_ALL),
)  # fmt: skip
