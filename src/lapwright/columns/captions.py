"""Columns of the captions of a video."""

from lapwright.columns.column import Column, bar

_MOMENT = "none: as exact as the moment of the video that was given"
_RUNNING = "none: the moment the caption appears; a whole lap has its own"

CAPTIONS = (
    Column("video_start_s", "s", "When it appears, from the start of the video.",
           no_sd=_MOMENT, shown="table"),
    Column("video_end_s", "s", "When it goes, from the start of the video.",
           no_sd=_MOMENT, shown="table"),
    Column("lap", "", "Number of the lap.", shown="table", holds=int),
    Column("kind", "", "`out`, `timed` or `in`.", shown="table", holds=str),
    Column(
        "lap_time_s", "s", "Time since the lap began; empty on an out lap.", no_sd=_RUNNING,
        shown="table",
    ),
    Column(
        "delta_s", "s",
        "Time lost to the reference lap since the start line; negative where gained. Empty where "
        "there is no reference, on the reference lap itself, and in a gap of the log.",
        sd="delta_sd_s", shown="table",
    ),
    bar("delta_sd_s", "delta_s", "s", "table"),
    Column("speed_mps", "m/s", "Speed; empty in a gap of the log.",
           no_sd="not computed: shown in whole units", shown="table"),
    Column("corner", "", "Number of the corner the car is in; 0 for none.", shown="table",
           holds=int),
    Column("pit_lane", "", "Whether the car is in the pit lane.", shown="table", holds=bool),
    Column("done_lap", "", "The lap that ended a moment ago; -1 for none.", shown="table",
           holds=int),
)  # fmt: skip
