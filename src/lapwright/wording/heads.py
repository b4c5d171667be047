"""
Heads of tables: what a column is called on the page and in the terminal, and its unit there.

What a column is and how many digits it has stands in its description, see `lapwright.columns`.
"""

from collections.abc import Mapping

from lapwright.columns import Column
from lapwright.columns.tables import TABLES
from lapwright.units import STANDARD_GRAVITY_MPS2, Units

PLUS_MINUS_SIGN = "\N{PLUS-MINUS SIGN}"
# Marks a clean lap in the terminal; a sign, as there may be no colour and the lines are short.
CLEAN = "*"
# Of the columns of the line; the sign and its word must not be parted.
LINE_AT = {
    place: f"line at {place}, +\N{NO-BREAK SPACE}left" for place in ("turn-in", "apex", "exit")
}
# Of places along the lap, what is shown on a card is how far past the apex they are.
PAST_APEX = frozenset({"min_speed_station_m", "throttle_station_m"})

# Quantities of two laps side by side: the column of the runs that describes each, its head in the
# terminal. Of the line, only how far the two are apart is shown.
BESIDE = {
    "brake_to_corner_m": ("brake_to_corner_m", "brake"),
    "peak_decel_mps2": ("peak_decel_mps2", "peak"),
    "min_speed_mps": ("min_speed_mps", "min"),
    "min_speed_station_m": ("min_speed_station_m", "at"),
    "throttle_station_m": ("throttle_station_m", "throttle"),
    "exit_speed_mps": ("exit_speed_mps", "exit"),
    "turn_in_offset_m": ("turn_in_aside_m", "turn-in"),
    "apex_offset_m": ("apex_aside_m", "apex"),
    "exit_offset_m": ("exit_aside_m", "exit"),
}

# In place of a minimum speed where the car did not slow for the corner.
NO_LIFT = "no lift"

# In the order of the page. ``{unit}`` is the unit that is shown, ``{k}`` the number of a sector.
PAGE: dict[str, dict[str, str]] = {
    "laps": {
        "lap": "lap", "kind": "kind", "time_s": "time", "gap_s": "to the best [{unit}]",
        "sectors_s": "sector {k} [{unit}]", "top_speed_mps": "top speed [{unit}]",
        "flags": "remarks",
    },
    "passes": {
        "lap": "lap",
        "time_s": "time through",
        "brake_to_corner_m": "braking before corner",
        "peak_decel_mps2": "peak braking",
        "entry_speed_mps": "entry speed",
        "min_speed_mps": "minimum speed",
        "min_speed_station_m": "slowest past apex",
        "throttle_station_m": "throttle past apex",
        "exit_speed_mps": "exit speed",
        "peak_lateral_mps2": "peak lateral",
        "turn_in_aside_m": LINE_AT["turn-in"],
        "apex_aside_m": LINE_AT["apex"],
        "exit_aside_m": LINE_AT["exit"],
    },
    "ledger": {"corner": "corner", "difference_s": "total"},
    "achievable": {
        "corner": "corner", "best_s": "best run [{unit}]", "usual_s": "usual [{unit}]",
        "allowed_s": "calculated [{unit}]", "gap_s": "gap [{unit}]", "line_s": "line [{unit}]",
        "minimum_s": "minimum speed [{unit}]", "braking_s": "braking [{unit}]",
        "throttle_s": "throttle [{unit}]", "best_min_speed_mps": "best run: minimum [{unit}]",
        "usual_min_speed_mps": "usual minimum [{unit}]",
        "allowed_min_speed_mps": "calculated minimum [{unit}]",
    },
    "sessions": {
        "path": "session", "driver": "driver", "laps": "laps", "clean_laps": "clean",
        "best_lap_s": "best lap", "median_s": "median", "spread_s": "spread (sd) [{unit}]",
        "top_speed_mps": "top speed [{unit}]",
    },
}  # fmt: skip
# In the order of the terminal, which has 80 columns.
SCREEN: dict[str, dict[str, str]] = {
    "laps": {
        "lap": "lap", "representative": CLEAN, "time_s": "time", "time_sd_s": PLUS_MINUS_SIGN,
        "gap_s": "to best", "sectors_s": "S{k}", "top_speed_mps": "top {unit}", "flags": "",
    },
    "corners": {"corner": "corner", "direction": "", "radius_m": "radius"},
    "passes": {
        "min_speed_mps": "min {unit}", "brake_to_corner_m": "brake", "time_s": "time {unit}",
    },
    "delta": {
        "station_m": "{unit} after line", "delta_s": "delta {unit}",
        "delta_sd_s": PLUS_MINUS_SIGN, "speed_mps": "{unit}",
        "reference_speed_mps": "reference {unit}",
    },
    "ledger": {"corner": "corner", "difference_s": "total", "difference_sd_s": PLUS_MINUS_SIGN},
    "sessions": {
        "path": "session", "driver": "driver", "laps": "laps", "clean_laps": "clean",
        "best_lap_s": "best", "best_lap_sd_s": PLUS_MINUS_SIGN, "median_s": "median",
        "spread_s": "spread",
    },
}  # fmt: skip


def described(table: str) -> dict[str, Column]:
    """Return the columns of a table by name."""
    return {column.name: column for column in TABLES[table]}


def shown_in(unit: str, units: Units) -> tuple[str, float]:
    """
    Say in which unit a column is shown, and by what it is multiplied.

    Parameters
    ----------
    unit : str
        In SI.
    units : Units

    Returns
    -------
    (str, float)

    Examples
    --------
    >>> shown_in("m", Units("mph", "ft"))[0], shown_in("s", Units())
    ('ft', ('s', 1.0))
    """
    return {
        "m/s": (units.speed, units.speed_of(1.0)),
        "m": (units.distance, units.distance_of(1.0)),
        "m/s²": ("g", 1.0 / STANDARD_GRAVITY_MPS2),
    }.get(unit, (unit, 1.0))


def heads(
    place: Mapping[str, Mapping[str, str]], table: str, units: Units, sectors: int = 1
) -> list[str]:
    """
    Write the heads of a table.

    Parameters
    ----------
    place : mapping
        `PAGE` or `SCREEN`.
    table : str
        Its name, as in `lapwright.columns.tables`.
    units : Units
    sectors : int
        How many there are.

    Returns
    -------
    list of str

    Examples
    --------
    >>> heads(SCREEN, "laps", Units(), 2)
    ['lap', '*', 'time', '±', 'to best', 'S1', 'S2', 'top km/h', '']
    """
    columns, out = described(table), []
    for name, text in place[table].items():
        unit = shown_in(columns[name].unit, units)[0]
        count = sectors if "{k}" in text else 1
        out += [text.format(unit=unit, k=k + 1) for k in range(count)]
    return out
