"""Columns of the laps, of the delta along the lap and of the ledger."""

from lapwright.columns.column import Column, bar

_EVERYWHERE = "table json files weekend"
_TUPLE = "one per sector, and one sector more than there are sector lines"
_SPEED = "not computed along the lap; those of corners are in `passes`"
_ALONE = "not computed alone; end less start has `time_sd_s`"

LAPS = (
    Column(
        "lap", "", "Number, from 1; a leading out lap is 0. The notes' `first_lap` shifts it.",
        shown=f"{_EVERYWHERE} page screen", holds=int,
    ),
    Column("kind", "", "`out`, `timed` or `in`.", shown=f"{_EVERYWHERE} page", holds=str),
    Column(
        "complete", "", "Whether it goes from the start line to the start line.",
        shown=_EVERYWHERE, holds=bool,
    ),
    Column(
        "flags", "", "Remarks, see [flags](flags.md#remarks).",
        shown=f"{_EVERYWHERE} page screen", holds=object,
    ),
    Column(
        "representative", "",
        "Whether it is clean: timed, no remark, within 3 % of the median of the quicker half.",
        shown=f"{_EVERYWHERE} screen", holds=bool,
    ),
    Column(
        "start_utc", "", "When it began, in UTC; empty where the log has no date.",
        shown="json weekend", holds=object,
    ),
    Column(
        "start_s", "s", "When it began, counted from the first usable fix.",
        no_sd=_ALONE, shown=_EVERYWHERE,
    ),
    Column(
        "end_s", "s", "When it ended, counted from the first usable fix.",
        no_sd=_ALONE,
    ),
    Column(
        "time_s", "s", "Lap time.", sd="time_sd_s", decimals=3,
        shown=f"{_EVERYWHERE} page screen",
    ),
    bar("time_sd_s", "time_s", "s", f"{_EVERYWHERE} screen"),
    Column(
        "time_ci95_s", "s", "`[low, high]`: the 95 % interval of `time_s`.", shown="json",
        holds=object,
    ),
    Column(
        "time_low95_s", "s", "Lower end of the 95 % interval of `time_s`.",
        no_sd="none: the end of an interval", shown="table files weekend",
    ),
    Column(
        "time_high95_s", "s", "Upper end of the 95 % interval of `time_s`.",
        no_sd="none: the end of an interval", shown="table files weekend",
    ),
    Column(
        "time_from_launch_s", "s", "After a standing start: from where the car stood to the end.",
        no_sd="not computed: when a car began to move is read off its speed", shown=_EVERYWHERE,
    ),
    Column(
        "sectors_s", "s", f"Sector times: {_TUPLE}.", sd="sector_sds_s", decimals=3,
        shown="table json page screen", holds=object,
    ),
    Column(
        "sector_sds_s", "s", f"Error bars (sd) of `sectors_s`: {_TUPLE}.", shown="table json",
        holds=object,
    ),
    Column(
        "sector_{k}_time_s", "s", "Time of sector *k*.", sd="sector_{k}_time_sd_s", decimals=3,
        shown="files",
    ),
    bar("sector_{k}_time_sd_s", "sector_{k}_time_s", "s", "files"),
    Column("sector_{k}_s", "s", "Time of sector *k*.", sd="sector_{k}_sd_s", shown="weekend"),
    bar("sector_{k}_sd_s", "sector_{k}_s", "s", "weekend"),
    Column(
        "top_speed_mps", "m/s", "Highest speed of the lap.", decimals=1,
        no_sd="not computed: the highest of many values",
        shown=f"{_EVERYWHERE} page screen",
    ),
    Column(
        "top_speed_station_m", "m", "Where that was, after the start line.",
        no_sd="not computed: the speed hardly changes around its highest", shown=_EVERYWHERE,
    ),
    Column(
        "gap_s", "s", "How much slower than the best lap.", sd="gap_sd_s", decimals=3,
        shown="files page screen",
    ),
    bar("gap_sd_s", "gap_s", "s", "files", "What the two laps share drops out."),
)  # fmt: skip

# Which two laps; in files, as the delta and the ledger of a session are of one pair.
_PAIR = (
    Column("lap", "", "The lap that is compared.", shown="files", holds=int),
    Column("reference", "", "The lap it is compared with.", shown="files", holds=int),
)

DELTA = (
    *_PAIR,
    Column(
        "station_m", "m", "Place: distance after the start line along the circuit's path.",
        no_sd="none: a place that is asked for", shown="table json files screen",
    ),
    Column(
        "delta_s", "s", "Time lost since the start line up to there; negative where gained.",
        sd="delta_sd_s", decimals=3, shown="table json files screen",
    ),
    bar("delta_sd_s", "delta_s", "s", "table json files screen"),
    Column(
        "speed_mps", "m/s", "Speed there on the lap.",
        no_sd=_SPEED, shown="table json files screen",
    ),
    Column(
        "reference_speed_mps", "m/s", "Speed there on the reference lap.",
        no_sd=_SPEED, shown="table json files screen",
    ),
)  # fmt: skip

LEDGER = (
    *_PAIR,
    Column("corner", "", "Number of the corner; 0 from the start line to corner 1, or without any.",
           shown="table json files page screen", holds=int),
    Column(
        "stretch", "", "`braking`, `entry`, `exit` or `straight` (to the next braking zone).",
        shown="table json files", holds=str,
    ),
    Column("start_m", "m", "Where it begins, after the start line.",
           no_sd="none: fixed for the circuit, the same for all laps", shown="table json files"),
    Column("end_m", "m", "Where it ends, after the start line.",
           no_sd="none: fixed for the circuit, the same for all laps", shown="table json files"),
    Column(
        "difference_s", "s",
        "Time lost on it; negative where gained. All rows add up to the difference of the laps.",
        sd="difference_sd_s", decimals=3, shown="table json files page screen",
    ),
    bar("difference_sd_s", "difference_s", "s", "table json files screen",
        "Neighbours share the error at the place between them."),
)  # fmt: skip

CAUSES = (
    *_PAIR,
    Column("corner", "", "Number of the corner; 0 for what the lap began with at the line.",
           shown="table json files", holds=int),
    Column(
        "cause", "",
        "`braking` for the corner, its `minimum` speed, the `exit` from its slowest point to its "
        "end, or the `straight` behind it; each with what it cost further along.",
        shown="table json files", holds=str,
    ),
    Column(
        "lost_s", "s",
        "Time lost by it; negative where gained. All rows add up to the difference of the laps.",
        sd="lost_sd_s", decimals=3, shown="table json files",
    ),
    bar("lost_sd_s", "lost_s", "s", "table json files", "To first order in the speeds."),
)  # fmt: skip
