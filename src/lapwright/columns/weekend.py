"""
Columns of a weekend's tables: one row a log, a lap, a sector, a run through a corner, a finding.

What a racer noted stands in the unit it is noted in, which its name says: bar, litres, degrees.
"""

from dataclasses import replace

from lapwright.columns.advice import FINDINGS
from lapwright.columns.column import Column, bar
from lapwright.columns.corners import PASSES
from lapwright.columns.laps import LAPS

WHEELS = {"fl": "front left", "fr": "front right", "rl": "rear left", "rr": "rear right"}
_AS_NOTED = "not known: as you noted it"
# Everything the notes say of a log, flat: as in `lapwright.notes.flat`.
NOTES = (
    *(
        Column(name, "", f"{what}, from the weekend notes.", shown=f"table files{screen}",
               holds=str)
        for name, what, screen in (
            ("driver", "Who drove", " page screen"), ("car", "The car", ""),
            ("tyres", "The tyres", ""), ("conditions", "Dry, wet or drying", ""),
            ("changes", "What was changed before it", ""), ("tried", "What was tried", ""),
            ("notes", "Anything else", ""),
            ("tyre_set", "Name or number of the set of tyres", ""),
        )
    ),
    Column("tyre_laps", "", "Laps that set had done before, from the weekend notes.",
           holds=object),
    *(
        Column(f"pressure_{when}_{wheel}_bar", "bar",
               f"Tyre pressure {said}, {where}, from the weekend notes.", no_sd=_AS_NOTED)
        for when, said in (("cold", "before, cold"), ("hot", "after, hot"))
        for wheel, where in WHEELS.items()
    ),
    Column("fuel_l", "l", "Fuel in the tank at the start, from the weekend notes.",
           no_sd=_AS_NOTED),
    Column("track_temp_degc", "°C", "Temperature of the track, from the weekend notes.",
           no_sd=_AS_NOTED),
    Column("air_temp_degc", "°C", "Temperature of the air, from the weekend notes.",
           no_sd=_AS_NOTED),
)  # fmt: skip

SESSIONS = (
    Column("session", "", "Name of the log without its ending, as in the other tables.",
           holds=str),
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
    Column("session", "",
           "Name of the log without its ending; in a folder of the weekend's, behind its name.",
           shown="weekend", holds=str),
    Column("log", "", "Name of the log, in the same way.", shown="weekend", holds=str),
)  # fmt: skip
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

# Beside a sector or a run through a corner: on which circuit, who drove, on what.
_NOTED = ("driver", "car", "tyres", "conditions", "tyre_set")
_HEAD = (
    *_LOG,
    Column("track", "", "Name of the circuit.", shown="weekend", holds=str),
    *(replace(c, shown="weekend") for c in NOTES if c.name in _NOTED),
)
_CLEAN = Column("representative", "", "Whether the lap is clean.", shown="weekend", holds=bool)

WEEKEND_SECTORS = (
    *_HEAD,
    Column("lap", "", "Number of the lap.", shown="weekend", holds=int),
    _CLEAN,
    Column("sector", "", "Number of the sector, from 1.", shown="weekend", holds=int),
    Column("time_s", "s", "Time through it.", sd="time_sd_s", shown="weekend"),
    bar("time_sd_s", "time_s", "s", "weekend"),
)

# What a run through a corner is, as in a session; its corner's name and its lap's state beside it.
WEEKEND_PASSES = (
    *_HEAD,
    _CLEAN,
    Column(
        "corner_name",
        "",
        "Name of the corner in the track file; else its number.",
        shown="weekend",
        holds=str,
    ),
    *(replace(c, shown="weekend") for c in PASSES if c.on("table")),
)

WEEKEND_FINDINGS = (
    *_LOG,
    *(replace(c, shown="weekend", holds=str if c.name == "lines" else c.holds) for c in FINDINGS),
)

# Of a season, where sessions of many weekends may have one name.  What there is one of for each
# sector is in a table of its own, or circuits would not fit into one table.
OF_SEASON = (
    Column("log_id", "", "What is in the log, in 16 digits: the same in every table of a season.",
           shown="season", holds=str),
    Column("session_start_utc", "", "Time of the log's first fix; empty where it has no date.",
           shown="season", holds=object),
)  # fmt: skip
SEASON = {
    name: (*OF_SEASON, *(c for c in columns if c.on(place) and "{k}" not in c.name))
    for name, columns, place in (
        ("sessions", SESSIONS, "table"), ("laps", WEEKEND_LAPS, "weekend"),
        ("sectors", WEEKEND_SECTORS, "weekend"), ("passes", WEEKEND_PASSES, "weekend"),
        ("findings", WEEKEND_FINDINGS, "weekend"), ("engine", ENGINE, "weekend"),
    )
}  # fmt: skip
