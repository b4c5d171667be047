"""Columns of what the driver's own envelope allows, corner by corner."""

from lapwright.columns.column import Column, bar

_ALL = "table json files"
_FIXED = "none: where the parts of the lap are timed, the same for all laps of the session"
_END = "an end of an interval"
_PART = "none of its own: the four add up to `gap_s`, see its interval"

ACHIEVABLE = (
    Column("corner", "", "Number of the corner.", shown=f"{_ALL} page", holds=int),
    Column("laps", "", "How many clean laps it rests on.", shown=_ALL, holds=int),
    Column("start_m", "m", "Where its part of the lap begins: before the braking for the corner.",
           no_sd=_FIXED, shown=_ALL),
    Column("end_m", "m",
           "Where it ends: before the next braking. The parts together are the whole lap, so the "
           "last one goes on over the start line.", no_sd=_FIXED, shown=_ALL),
    Column("best_lap", "", "The clean lap that was quickest over it.", shown=_ALL, holds=int),
    Column("best_s", "s", "Your best run over it.", sd="best_sd_s", decimals=2,
           shown=f"{_ALL} page"),
    bar("best_sd_s", "best_s", "s", shown=_ALL),
    Column("usual_s", "s", "Your usual time: the mean of the clean laps.", sd="usual_sd_s",
           decimals=2, shown=f"{_ALL} page"),
    bar("usual_sd_s", "usual_s", "s", shown=_ALL),
    Column("allowed_s", "s", "What your own envelope allows on your usual line: calculated.",
           sd="allowed_sd_s", decimals=2, shown=f"{_ALL} page"),
    bar("allowed_sd_s", "allowed_s", "s", shown=_ALL),
    Column("gap_s", "s", "Usual time less what is allowed.", sd="gap_sd_s", decimals=2,
           shown=f"{_ALL} page"),
    bar("gap_sd_s", "gap_s", "s", shown=_ALL),
    Column("gap_low95_s", "s", "Lower end of its 95 % interval.", no_sd=_END, decimals=2,
           shown=_ALL),
    Column("gap_high95_s", "s", "Upper end of its 95 % interval.", no_sd=_END, decimals=2,
           shown=_ALL),
    Column("best_min_speed_mps", "m/s", "Lowest speed of the best run.",
           sd="best_min_speed_sd_mps", decimals=1, shown=f"{_ALL} page"),
    bar("best_min_speed_sd_mps", "best_min_speed_mps", "m/s", shown=_ALL),
    Column("usual_min_speed_mps", "m/s", "Usual lowest speed: the mean of the clean laps.",
           sd="usual_min_speed_sd_mps", decimals=1, shown=f"{_ALL} page"),
    bar("usual_min_speed_sd_mps", "usual_min_speed_mps", "m/s", shown=_ALL),
    Column("allowed_min_speed_mps", "m/s", "Lowest speed of the calculated lap.",
           sd="allowed_min_speed_sd_mps", decimals=1, shown=f"{_ALL} page"),
    bar("allowed_min_speed_sd_mps", "allowed_min_speed_mps", "m/s", shown=_ALL),
    Column("line_s", "s", "Part of the gap: metres driven beyond the usual line.", no_sd=_PART,
           decimals=2, shown=f"{_ALL} page"),
    Column("minimum_s", "s", "Part of the gap: the speed that the corner itself is taken with.",
           no_sd=_PART, decimals=2, shown=f"{_ALL} page"),
    Column("braking_s", "s", "Part of the gap: the rest of it before the slowest place.",
           no_sd=_PART, decimals=2, shown=f"{_ALL} page"),
    Column("throttle_s", "s", "Part of the gap: the rest of it after the slowest place.",
           no_sd=_PART, decimals=2, shown=f"{_ALL} page"),
    Column("only_scatter", "",
           "Whether the gap is no more than scatter and the doubt of the calculation: its interval "
           "holds zero.", shown=_ALL, holds=bool),
    Column("beyond", "",
           "Whether the calculated run lies beyond anything driven here: quicker than the best run "
           "by more than the scatter of the runs, or faster at its slowest than any run by more "
           "than the scatter of that speed.",
           shown=_ALL, holds=bool),
)  # fmt: skip
