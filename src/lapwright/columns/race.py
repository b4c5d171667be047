"""Columns of what a race is made of: launches, stints, pit stops, laps held up, gaps to a car."""

from lapwright.columns.column import Column, bar

_SHOWN = "table json"
_ALONE = "none: a place on the log's own axis, from which times with a bar are counted"
_INTERVAL = "an end of an interval"
_PLACE = "none: the edge of a stretch, to about 20 m"

LAUNCHES = (
    Column("lap", "", "The lap that began with the standing start.", shown=_SHOWN, holds=int),
    Column(
        "start_s", "s",
        "When the car got away: the straight line through 1 and 3 m/s back to rest. Counted from "
        "the first usable fix.",
        no_sd=_ALONE, shown=_SHOWN,
    ),
    Column("to_60_kmh_s", "s", "From there to 60 km/h; empty where it was not reached.",
           sd="to_60_kmh_sd_s", decimals=2, shown=_SHOWN),
    bar("to_60_kmh_sd_s", "to_60_kmh_s", "s", _SHOWN),
    Column("to_100_kmh_s", "s", "From there to 100 km/h; empty where it was not reached.",
           sd="to_100_kmh_sd_s", decimals=2, shown=_SHOWN),
    bar("to_100_kmh_sd_s", "to_100_kmh_s", "s", _SHOWN),
    Column("to_line_s", "s", "From there to the start line, from which lap 1 counts.",
           sd="to_line_sd_s", decimals=2, shown=_SHOWN),
    bar("to_line_sd_s", "to_line_s", "s", _SHOWN),
)  # fmt: skip

STINTS = (
    Column("stint", "", "Number of the stint, from 1.", shown=_SHOWN, holds=int),
    Column("first_lap", "", "Its first timed lap.", shown=_SHOWN, holds=int),
    Column("last_lap", "", "Its last timed lap.", shown=_SHOWN, holds=int),
    Column("clean_laps", "", "How many of its laps are clean.", shown=_SHOWN, holds=int),
    Column("median_s", "s", "Median of its clean laps' times; empty without one.",
           no_sd="not computed: `spread_s` says how much the laps vary", decimals=3, shown=_SHOWN),
    Column("spread_s", "s", "How much they vary from lap to lap (standard deviation).",
           no_sd="not computed: a spread itself", decimals=3, shown=_SHOWN),
    Column("fade_laps", "", "Clean laps, without those that look held up, that the fade rests on.",
           shown=_SHOWN, holds=int),
    Column(
        "fade_s_per_lap", "s/lap",
        "How much slower each lap was than the one before, as a trend over the stint; negative "
        "where quicker. Empty for fewer than five such laps, or where the notes say that the track "
        "changed.",
        no_sd="its interval, `fade_low95_s_per_lap` to `fade_high95_s_per_lap`", decimals=3,
        shown=_SHOWN,
    ),
    Column("fade_low95_s_per_lap", "s/lap", "Lower end of its 95 % interval.",
           no_sd=_INTERVAL, decimals=3, shown=_SHOWN),
    Column("fade_high95_s_per_lap", "s/lap", "Upper end of its 95 % interval.",
           no_sd=_INTERVAL, decimals=3, shown=_SHOWN),
)  # fmt: skip

PIT_STOPS = (
    Column("lap", "", "The lap on which the car came in.", shown=_SHOWN, holds=int),
    Column("start_s", "s", "When the pit lane began, counted from the first usable fix.",
           no_sd=_ALONE, shown=_SHOWN),
    Column("lane_s", "s", "Time in the pit lane.", sd="lane_sd_s", decimals=2, shown=_SHOWN),
    bar("lane_sd_s", "lane_s", "s", _SHOWN),
    Column(
        "lane_known", "",
        "Whether it counts between the ends of the circuit's pit lane; else from where the car "
        "left its usual line to where it came back to it.",
        shown=_SHOWN, holds=bool,
    ),
    Column(
        "standing_s", "s",
        "How long the car stood, the longest time if more than once; 0 where it drove through.",
        sd="standing_sd_s", decimals=2, shown=_SHOWN,
    ),
    bar("standing_sd_s", "standing_s", "s", _SHOWN),
)  # fmt: skip

HELD_UP = (
    Column("lap", "", "The lap.", shown=_SHOWN, holds=int),
    Column("start_m", "m", "Where the stretch begins, after the start line.", no_sd=_PLACE,
           shown=_SHOWN),
    Column("end_m", "m", "Where it ends.", no_sd=_PLACE, shown=_SHOWN),
    Column("lost_s", "s", "Time lost on it against the median of the other clean laps.",
           no_sd="what the others vary by there, `lost_spread_s`, is far more than the receiver's "
           "error", decimals=2, shown=_SHOWN),
    Column("lost_spread_s", "s", "How much the other clean laps vary there (standard deviation).",
           no_sd="not computed: a spread itself", decimals=2, shown=_SHOWN),
    Column("lifted_mps", "m/s", "Speed taken off where no other clean lap slows; 0 where none was.",
           no_sd="not computed: at least 2 m/s, or it is not taken for one", decimals=1,
           shown=_SHOWN),
    Column("slow_m", "m", "How far it went slower by a fifth than the slowest other clean lap; 0 "
           "where it did not for 100 m.", no_sd=_PLACE, shown=_SHOWN),
    Column("aside_m", "m", "How far beside the usual line, + left, where no other clean lap goes; "
           "0 where it was not.",
           no_sd="not computed: at least 2.5 m, or it is not taken for one", decimals=1,
           shown=_SHOWN),
)  # fmt: skip

CAR_GAPS = (
    Column("lap", "", "Lap of this log, in which or at the end of which the line was passed.",
           shown=_SHOWN, holds=int),
    Column("gate", "", "0 for the start line at the end of the lap, else the sector line's number.",
           shown=_SHOWN, holds=int),
    Column("time_s", "s", "When this log's car passed it, counted from its first usable fix.",
           no_sd=_ALONE, shown=_SHOWN),
    Column("gap_s", "s", "How much later than the other log's car; negative where before it.",
           sd="gap_sd_s", decimals=2, shown=_SHOWN),
    bar("gap_sd_s", "gap_s", "s", _SHOWN),
    Column("ahead", "", "`this`, `other`, or `open` where the gap is within twice its error bar.",
           shown=_SHOWN, holds=str),
    Column("changed", "", "Whether another car is ahead than when that was last clear.",
           shown=_SHOWN, holds=bool),
)  # fmt: skip
