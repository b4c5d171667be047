"""
What columns and rows are called where a user sees them, and which numbers stand below.

When a head gets another name, it is changed here and nowhere else in the tests that read back.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """A column of the corners' tables: the number, its sd, its kind of unit, its most decimals."""

    name: str
    sd: str
    kind: str
    most: int
    # Whether every cell has its own error bar, on the page and on paper.
    own: bool = False
    own_on_paper: bool = False


# Heads of the corners' tables on the page and on paper.
CORNER_HEADS = {
    "time through": Column("time_s", "time_sd_s", "s", 3, own=True),
    "braking before corner": Column(
        "brake_to_corner_m", "brake_sd_m", "far", 0, own=True, own_on_paper=True
    ),
    "peak braking": Column("peak_decel_mps2", "peak_decel_sd_mps2", "g", 2),
    "entry speed": Column("entry_speed_mps", "entry_speed_sd_mps", "speed", 1),
    "minimum speed": Column("min_speed_mps", "min_speed_sd_mps", "speed", 1, own=True),
    "slowest past apex": Column("slowest_m", "min_speed_station_sd_m", "far", 0),
    "throttle past apex": Column(
        "throttle_m", "throttle_sd_m", "far", 0, own=True, own_on_paper=True
    ),
    "exit speed": Column("exit_speed_mps", "exit_speed_sd_mps", "speed", 1),
    "peak lateral": Column("peak_lateral_mps2", "peak_lateral_sd_mps2", "g", 2),
    "line at turn-in, + left": Column("turn_in_aside_m", "turn_in_aside_sd_m", "far", 1),
    "line at apex, + left": Column("apex_aside_m", "apex_aside_sd_m", "far", 1),
    "line at exit, + left": Column("exit_aside_m", "exit_aside_sd_m", "far", 1),
}
MINIMUM, NO_LIFT = "min_speed_mps", "no lift"
# Rows below the laps of the corners' tables.
MEDIAN_ROW, SPREAD_ROW, QUICKEST_ROW, ONE_SD_ROW = (
    "median", "spread (sd)", "quickest", "± of one run"
)  # fmt: skip
# Heads of the lap table; sectors are counted from 1.
LAP_HEADS = {
    "lap": "lap", "kind": "kind", "time": "time_s", "to the best": "gap_s", "sector": "sectors_s",
    "top speed": "top_speed_mps", "remarks": "flags",
}  # fmt: skip
# Heads of where the time goes, on the page, on paper and in the terminal.
LEDGER_TOTAL = "total"
STRETCHES = ("braking", "entry", "exit", "straight")
# Phases of a corner in the table of grip used, with the columns of `Session.grip.corners`.
GRIP_HEADS = {"braking": "grip_braking", "mid-corner": "grip_middle", "exit": "grip_exit"}
# Heads of the terminal's table of corners, in order; {v} is the unit of speed.
CORNERS_COMMAND = (
    "corner", "radius", "min {v}", "spread", "best", "brake", "time s", "spread", "best"
)  # fmt: skip
WEEKEND_COMMAND = ("session", "driver", "laps", "clean", "best", "±", "median", "spread")
# The terminal's table of the delta: {d} is the unit of distance.
DELTA_PLACE = "{d} after line"
# What the lap held against the best is called, by whether there are three clean laps.
TYPICAL, OTHER = "typical", "other"
# Words of flags; those that are not here are said as they are.
FLAG_WORDS = {
    "stop": "stopped", "standing_start": "standing start", "gap": "gap in the log",
    "off_path": "off the usual line", "short_cut": "short cut", "reversed": "went backwards",
    "log_ends": "log ends", "bridged": "short gap in the log",
}  # fmt: skip
UNNAMED = "Unnamed circuit"
# How every sheet of paper begins, at its foot.
FOOT = "Coach's report of "
# How the line of how sure begins that says what that rests on.
SOURCES = "The noise was"
