"""Columns of what the car's sensors said: one row a lap and channel, and the warnings."""

from lapwright.columns.column import Column, bar

_JSON = "table json files"
_OWN = "In the channel's own unit."
_NOISE = "Noise of one value, or its rounding."
_WHERE = "as good as its moment: one value's time at the speed there"
_END = "none: the end of an interval"
_SAMPLE = "By how often and how exactly the channel is logged."


def _extreme(name: str) -> tuple[Column, ...]:
    return (
        Column(name, "", f"{name.capitalize()} value on the lap. {_OWN}", sd=f"{name}_sd",
               shown=_JSON),
        bar(f"{name}_sd", name, "", _JSON, _NOISE),
        Column(f"{name}_station_m", "m", "Where that was, after the start line.", no_sd=_WHERE,
               shown=_JSON),
        Column(f"{name}_corner", "", "Nearest corner to it; 0 where there is none.",
               shown=_JSON, holds=int),
    )  # fmt: skip


CAR = (
    Column("lap", "", "Number of the lap, out and in laps too.", shown=_JSON, holds=int),
    Column("channel", "", "Name of the column in the log.", shown=_JSON, holds=str),
    Column("kind", "",
           "What it measures: `rpm`, `oil_pressure`, `oil_temperature`, `water_temperature`, "
           "`fuel_pressure`, `battery`, `wheel_speed`, `temperature`, `pressure` or `other`.",
           shown=_JSON, holds=str),
    Column("unit", "", "Its unit as the log says it; may be empty.", shown=_JSON, holds=str),
    Column("mean", "", f"Mean value on the lap. {_OWN}",
           no_sd="not known: as logged, no better than the sensor", shown=_JSON),
    *_extreme("lowest"), *_extreme("highest"),
    Column("beyond_s", "s",
           "Time beyond the limits of `weekend.toml`; empty where none is set for it.",
           sd="beyond_sd_s", shown=_JSON),
    bar("beyond_sd_s", "beyond_s", "s", _JSON, _SAMPLE),
    Column("beyond_station_m", "m", "Where the longest stretch beyond began.", no_sd=_WHERE,
           shown=_JSON),
    Column("beyond_corner", "", "Nearest corner to that; 0 where there is none.",
           shown=_JSON, holds=int),
)  # fmt: skip

CAR_WARNINGS = (
    Column("code", "", "`limit`, `oil_in_corner`, `still_rising` or `sensor_died`.", shown=_JSON,
           holds=str),
    Column("channel", "", "Name of the column in the log.", shown=_JSON, holds=str),
    Column("kind", "", "As in `car`.", shown=_JSON, holds=str),
    Column("unit", "", "Its unit as the log says it; may be empty.", shown=_JSON, holds=str),
    Column("how", "",
           "Of a limit `below` or `above`; of a dead sensor `constant`, `missing` or `impossible`.",
           shown=_JSON, holds=str),
    Column("value", "",
           "The furthest value beyond a limit; oil pressure of a corner less that of straights; "
           f"the rise per lap; what a dead sensor stands at. {_OWN}", sd="value_sd", shown=_JSON),
    bar("value_sd", "value", "", _JSON),
    Column("low95", "", "Lower end of the 95 % interval, of a corner or a rise.", no_sd=_END,
           shown=_JSON),
    Column("high95", "", "Upper end of that interval.", no_sd=_END, shown=_JSON),
    Column("level", "",
           "The limit; the usual oil pressure at that engine speed; the last lap's temperature.",
           no_sd="a limit is as you set it; else see `value_sd`", shown=_JSON),
    Column("above_rpm", "1/min", "From which engine speed on the limit counts.",
           no_sd="none: as you set it", shown=_JSON),
    Column("beyond_s", "s", "Time beyond a limit, over all laps.", sd="beyond_sd_s", shown=_JSON),
    bar("beyond_sd_s", "beyond_s", "s", _JSON, _SAMPLE),
    Column("laps", "", "Laps on which it shows.", shown=_JSON, holds=object),
    Column("lap", "", "Lap of the furthest value, or on which a sensor died.", shown=_JSON,
           holds=object),
    Column("time_s", "s", "When that was, from the first usable fix.", sd="time_sd_s",
           shown=_JSON),
    bar("time_sd_s", "time_s", "s", _JSON, _SAMPLE),
    Column("station_m", "m", "Where, after the start line.", no_sd=_WHERE, shown=_JSON),
    Column("corner", "", "The corner, or the nearest one; 0 where there is none.",
           shown=_JSON, holds=int),
)  # fmt: skip
