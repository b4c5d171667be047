"""Columns of a weekend's tables: one row a log, one row a lap of every log, the engine."""

from dataclasses import replace

from lapwright.columns.column import Column, bar
from lapwright.columns.laps import LAPS

NOTES = tuple(
    Column(name, "", f"{what}, from the weekend notes.", shown=f"table files{screen}", holds=str)
    for name, what, screen in (
        ("driver", "Who drove", " page screen"), ("car", "The car", ""), ("tyres", "The tyres", ""),
        ("conditions", "Dry, wet or drying", ""),
        ("changes", "What was changed before it", ""),
        ("tried", "What was tried", ""), ("notes", "Anything else", ""),
    )
)  # fmt: skip

SESSIONS = (
    Column("path", "", "The log.", shown="table json files page screen", holds=str),
    Column("status", "", "`ok` or `failed`.", shown="table json files", holds=str),
    Column("reason", "", "Why not `ok`.", shown="table json files", holds=str),
    Column("track", "", "Name of the circuit.", shown="table json files", holds=str),
    *NOTES,
    Column("start_utc", "", "Time of the first fix, in UTC; empty where the log has no date.",
           holds=object),
    Column("laps", "", "Number of timed laps.", shown="table json files page screen",
           holds=int),
    Column("clean_laps", "", "Number of clean laps.", shown="table files page screen",
           holds=int),
    Column("best_lap", "", "Number of the best lap; empty where none counts.", holds=object),
    Column("best_lap_s", "s", "Its time.", sd="best_lap_sd_s",
           shown="table json files page screen"),
    bar("best_lap_sd_s", "best_lap_s", "s", "table files screen"),
    Column("median_s", "s", "Median of the clean laps' times.",
           no_sd="not computed: `spread_s` says how much the laps vary",
           decimals=2, shown="table json files page screen"),
    Column("spread_s", "s", "Standard deviation of the clean laps' times: driver and car.",
           no_sd="not computed: it is a spread itself", decimals=2,
           shown="table files page screen"),
    Column("best_by_luck_s", "s",
           "How far below the mean the best of so many laps lies by luck alone.",
           no_sd="not computed: it is a share of the spread"),
    Column("drift_s_per_lap", "s/lap",
           "Slope of the clean laps' times; negative where the driver got quicker.",
           no_sd="the 95 % interval is beside it"),
    Column("drift_low95_s_per_lap", "s/lap", "Lower end of that interval.",
           no_sd="none: the end of an interval"),
    Column("drift_high95_s_per_lap", "s/lap", "Upper end of that interval.",
           no_sd="none: the end of an interval"),
    Column("top_speed_mps", "m/s", "Highest speed of all laps, out and in laps too.",
           no_sd="not computed: the highest of many values", decimals=1,
           shown="table files page"),
)  # fmt: skip

_LOG = (
    Column("session", "", "Name of the log without its ending.", shown="weekend", holds=str),
    Column("log", "", "Name of the log.", shown="weekend", holds=str),
)
# Beside what is said of a lap anywhere: which log, who drove, what.
WEEKEND_LAPS = (
    *_LOG,
    Column("track", "", "Name of the circuit.", shown="weekend", holds=str),
    *(replace(c, shown="weekend") for c in NOTES),
    *(replace(c, shown="weekend") for c in LAPS if c.on("weekend")),
)

_VALUE = "not known: as logged, no better than the sensor"
ENGINE = (
    *_LOG,
    *(replace(c, shown="weekend") for c in NOTES if c.name in ("driver", "car")),
    Column("lap", "", "Number of the lap.", shown="table weekend", holds=int),
    Column("channel", "", "Name of the channel in the log.", shown="table weekend", holds=str),
    Column("unit", "", "Its unit as the log says it; may be empty.", shown="table weekend",
           holds=str),
    Column("lowest", "", "Lowest value on the lap.", no_sd=_VALUE, shown="table weekend"),
    Column("mean", "", "Mean value on the lap.", no_sd=_VALUE, shown="table weekend"),
    Column("highest", "", "Highest value on the lap.", no_sd=_VALUE, shown="table weekend"),
)  # fmt: skip

CHANGES = (
    Column("session", "", "Name of the first log with the change.", holds=str),
    Column("driver", "", "Who drove, from the weekend notes.", holds=str),
    Column("changes", "", "What was changed, from the weekend notes.", holds=str),
    Column("sessions_before", "", "Number of sessions without it that were compared.", holds=int),
    Column("sessions_after", "", "Number of sessions with it.", holds=int),
    Column("laps_before", "", "Number of clean laps without it.", holds=int),
    Column("laps_after", "", "Number of clean laps with it.", holds=int),
    Column("corner", "", "Number of the corner; 0 for the whole lap.", holds=int),
    Column("change_s", "s",
           "What it did to a clean lap, or to the corner's part of one; negative is quicker.",
           sd="change_sd_s", decimals=2),
    Column("change_sd_s", "s",
           "Error bar (sd) of `change_s`: laps, and how sessions differ by themselves."),
    Column("change_low95_s", "s",
           "Lower end of the 95 % interval; of corners, for all corners at once.",
           no_sd="none: the end of an interval"),
    Column("change_high95_s", "s", "Upper end of that interval.",
           no_sd="none: the end of an interval"),
)  # fmt: skip
