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
    "peak sideways": Column("peak_lateral_mps2", "peak_lateral_sd_mps2", "g", 2),
    "left at turn-in": Column("turn_in_aside_m", "turn_in_aside_sd_m", "far", 1),
    "left at apex": Column("apex_aside_m", "apex_aside_sd_m", "far", 1),
    "left at exit": Column("exit_aside_m", "exit_aside_sd_m", "far", 1),
}
# Rows below the laps of the corners' tables.
MEDIAN_ROW, SPREAD_ROW, QUICKEST_ROW, ONE_SD_ROW = (
    "middle", "spread (sd)", "quickest", "sd of a pass"
)  # fmt: skip
# Heads of the lap table; sectors are counted from 1.
LAP_HEADS = {
    "lap": "lap", "kind": "kind", "time": "time_s", "to the best": "gap_s", "sector": "sectors_s",
    "top speed": "top_speed_mps", "remarks": "flags",
}  # fmt: skip
# Heads of where the time goes, on the page, on paper and in the terminal.
LEDGER_TOTAL = "together"
STRETCHES = ("braking", "entry", "exit", "straight")
# Phases of a corner in the table of grip used, with the columns of `Session.grip.corners`.
GRIP_HEADS = {"braking": "grip_braking", "mid-corner": "grip_middle", "exit": "grip_exit"}
# Heads of the terminal's table of corners, in order; {d} and {v} are the units.
CORNERS_COMMAND = (
    "corner", "radius {d}", "min {v}", "±", "best", "brake", "time s", "±", "best"
)  # fmt: skip
WEEKEND_COMMAND = ("session", "driver", "laps", "clean", "best", "±", "middle", "spread")
# Headings between which the sentences stand on paper.
PAPER_LAPS, PAPER_ODD = "Laps", "What was odd in the log"
