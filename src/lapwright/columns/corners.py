"""Columns of the corners and of the runs through them, called passes in tables."""

from lapwright.columns.column import Column, bar

_FIXED = "none: fixed for the circuit, the same for all laps"
_ON_EARTH = "as good as `{}`, along the lap"
_MOMENT = "as good as its place: `{}` over the speed there"
_JSON = "table json files"
_PAGE = "table files page"
_BOTH = "table json files page"
_LEFT = "positive to the left"
# 72 to 100 %, mostly over 90 %, in nine kinds of noise of the simulation, 60 runs each.
_WIDE = "On the wide side: in most simulated sessions the truth lies within it nine times in ten."
# What all laps share drops out of a comparison of laps, and the path is drawn from the laps.
_LINE = "From lap to lap; how far the circuit's path itself is off is not in it."
_LIFT = "not known: a lift is gentle, and the smoothing puts it early by more than the log can tell"

CORNERS = (
    Column("corner", "", "Number, from the start line.", shown=f"{_JSON} screen", holds=int),
    Column("name", "", "Name in the track file; else its number.", shown=_JSON, holds=str),
    Column("direction", "", "`left` or `right`.", shown=f"{_JSON} screen", holds=str),
    Column("entry_m", "m", "Where the corner begins, after the start line.", no_sd=_FIXED,
           shown=_JSON),
    Column("apex_m", "m", "The tightest part of its path; not where you ought to be.",
           no_sd=_FIXED, shown=_JSON),
    Column("exit_m", "m", "Where the corner ends.", no_sd=_FIXED, shown=_JSON),
    Column("radius_m", "m", "Of its path about the apex; not of the line you drive.",
           no_sd=_FIXED, shown=f"{_JSON} screen"),
    Column("apex_lat_deg", "°", "Latitude of the apex, WGS 84.", no_sd=_FIXED, shown=_JSON),
    Column("apex_lon_deg", "°", "Longitude of the apex, WGS 84.", no_sd=_FIXED, shown=_JSON),
)  # fmt: skip

PASSES = (
    Column("lap", "", "Number of the lap.", shown=_BOTH, holds=int),
    Column("corner", "", "Number of the corner.", shown=_JSON, holds=int),
    Column(
        "flat", "",
        "The car did not slow for the corner: no lift, as far as its speed and the pedals show. "
        "Minimum speed, lift, braking, turn-in and throttle are empty then. Where they are empty "
        "and this is not true, the car slowed there, but not for this corner: for the next one.",
        shown=_JSON, holds=bool,
    ),
    Column(
        "entry_s", "s", "When the car came to the corner's entry, from the first usable fix.",
        no_sd="not computed alone; `exit_s` less this has `time_sd_s`",
    ),
    Column("entry_speed_mps", "m/s", "Speed there.", sd="entry_speed_sd_mps", decimals=1,
           shown=_BOTH),
    bar("entry_speed_sd_mps", "entry_speed_mps", "m/s"),
    Column("min_speed_s", "s", "When the car was slowest.",
           no_sd=_MOMENT.format("min_speed_station_sd_m")),
    Column(
        "min_speed_mps", "m/s",
        "Lowest speed of the smoothed motion in the corner, not of the lowest sample.",
        sd="min_speed_sd_mps", decimals=1, shown=f"{_BOTH} screen",
    ),
    bar("min_speed_sd_mps", "min_speed_mps", "m/s", _JSON),
    Column(
        "min_speed_station_m", "m",
        "Where that was, after the start line. On a page: past the apex.",
        sd="min_speed_station_sd_m", shown=_BOTH,
    ),
    bar("min_speed_station_sd_m", "min_speed_station_m", "m"),
    Column("min_speed_lat_deg", "°", "Latitude of that place, WGS 84.",
           no_sd=_ON_EARTH.format("min_speed_station_sd_m"), shown=_JSON),
    Column("min_speed_lon_deg", "°", "Longitude of that place, WGS 84.",
           no_sd=_ON_EARTH.format("min_speed_station_sd_m"), shown=_JSON),
    Column("exit_s", "s", "When the car came to the corner's exit.",
           no_sd="not computed alone; this less `entry_s` has `time_sd_s`"),
    Column("exit_speed_mps", "m/s", "Speed there.", sd="exit_speed_sd_mps", decimals=1,
           shown=_BOTH),
    bar("exit_speed_sd_mps", "exit_speed_mps", "m/s"),
    Column("lift_s", "s", "When acceleration ended before the braking.",
           no_sd=_LIFT),
    Column("lift_station_m", "m", "Where that was, after the start line.", no_sd=_LIFT,
           shown=_JSON),
    Column(
        "brake_s", "s",
        "When the car first slowed by more than 1 m/s² for 0.3 s; empty where it did not.",
        no_sd=_MOMENT.format("brake_sd_m"),
    ),
    Column("brake_station_m", "m", "Where that was, after the start line.", sd="brake_sd_m",
           shown=_JSON),
    Column("brake_to_corner_m", "m", "From there to the corner's entry.", sd="brake_sd_m",
           shown=f"{_PAGE} screen"),
    bar("brake_sd_m", "brake_station_m", "m", _JSON),
    Column("brake_lat_deg", "°", "Latitude of the braking point, WGS 84.",
           no_sd=_ON_EARTH.format("brake_sd_m"), shown=_JSON),
    Column("brake_lon_deg", "°", "Longitude of the braking point, WGS 84.",
           no_sd=_ON_EARTH.format("brake_sd_m"), shown=_JSON),
    Column(
        "brake_source", "",
        "What the braking point comes from: a `channel` of the log or `motion`.",
        shown=_JSON, holds=str,
    ),
    Column("peak_decel_mps2", "m/s²", "Hardest braking; 0 where there was none.",
           sd="peak_decel_sd_mps2", decimals=2, shown=_PAGE),
    bar("peak_decel_sd_mps2", "peak_decel_mps2", "m/s²"),
    Column(
        "turn_in_station_m", "m",
        "Last place before the slowest point at which the car still turned little.",
        sd="turn_in_station_sd_m",
    ),
    bar("turn_in_station_sd_m", "turn_in_station_m", "m", meaning=_WIDE),
    Column("turn_in_offset_m", "m", f"From the circuit's path, at turn-in; {_LEFT}.",
           sd="turn_in_aside_sd_m"),
    Column("turn_in_aside_m", "m", f"From your usual line, at turn-in; {_LEFT}.",
           sd="turn_in_aside_sd_m", decimals=1, shown=_PAGE),
    bar("turn_in_aside_sd_m", "turn_in_aside_m", "m", meaning=_LINE),
    Column("throttle_s", "s", "When the car picked up for 0.3 s after the slowest point.",
           no_sd=_MOMENT.format("throttle_sd_m")),
    Column(
        "throttle_station_m", "m", "Where that was. On a page: past the apex.",
        sd="throttle_sd_m", shown=_BOTH,
    ),
    bar("throttle_sd_m", "throttle_station_m", "m"),
    Column("throttle_source", "",
           "What the throttle point comes from: a `channel` of the log or `motion`.", holds=str),
    Column("time_s", "s", "Time through, from the corner's entry to its exit.", sd="time_sd_s",
           decimals=3, shown=f"{_BOTH} screen"),
    bar("time_sd_s", "time_s", "s", _JSON),
    Column("apex_offset_m", "m", f"From the circuit's path, at the apex; {_LEFT}.",
           sd="apex_aside_sd_m", shown=_JSON),
    Column("apex_aside_m", "m", f"From your usual line, at the apex; {_LEFT}.",
           sd="apex_aside_sd_m", decimals=1, shown=_PAGE),
    bar("apex_aside_sd_m", "apex_aside_m", "m", meaning=_LINE),
    Column("exit_offset_m", "m", f"From the circuit's path, at the exit; {_LEFT}.",
           sd="exit_aside_sd_m"),
    Column("exit_aside_m", "m", f"From your usual line, at the exit; {_LEFT}.",
           sd="exit_aside_sd_m", decimals=1, shown=_PAGE),
    bar("exit_aside_sd_m", "exit_aside_m", "m", meaning=_LINE),
    Column("peak_lateral_mps2", "m/s²", "Hardest cornering, to either side.",
           sd="peak_lateral_sd_mps2", decimals=2, shown=_PAGE),
    bar("peak_lateral_sd_mps2", "peak_lateral_mps2", "m/s²"),
    Column("radius_driven_m", "m", "Radius of the tightest part of the line that was driven.",
           sd="radius_driven_sd_m"),
    bar("radius_driven_sd_m", "radius_driven_m", "m", meaning=_WIDE),
    *(
        Column(
            f"grip_{where}", "", f"Share of your own limit used {when}; empty on a lap set aside.",
            no_sd="not computed: a share of a limit that is itself estimated", shown="files",
        )
        for where, when in (
            ("braking", "while braking"), ("middle", "about the slowest point"),
            ("exit", "from there to the exit"),
        )
    ),
)  # fmt: skip
