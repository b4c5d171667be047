"""
The machine-readable output, as JSON schemas: the contract with whoever reads it.

Keys are exact (nothing missing, nothing more), numbers may be null only where said.
"""

from typing import Any

Schema = dict[str, Any]

NUMBER: Schema = {"type": "number"}
COUNT: Schema = {"type": "integer", "minimum": 0}
TEXT: Schema = {"type": "string"}
YES_NO: Schema = {"type": "boolean"}


def maybe(schema: Schema) -> Schema:
    """Or null."""
    return {"anyOf": [schema, {"type": "null"}]}


def listed(schema: Schema, least: int = 0, most: int | None = None) -> Schema:
    """A list."""
    out = {"type": "array", "items": schema, "minItems": least}
    return out if most is None else {**out, "maxItems": most}


def exactly(**members: Schema) -> Schema:
    """An object with these members and no others."""
    return {
        "type": "object",
        "properties": members,
        "required": list(members),
        "additionalProperties": False,
    }


POINT = listed(NUMBER, 2, 2)
LINE = listed(POINT, 2, 2)
UTC: Schema = {"type": "string", "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z$"}
FINDING = exactly(code=TEXT, message=TEXT, lines=listed(listed(COUNT, 2, 2)), count=COUNT)
LOG = exactly(
    path=TEXT, reader=TEXT, fixes=COUNT, rate_hz=NUMBER, start_utc=maybe(UTC), first_fix_s=NUMBER,
    time_scale={"enum": ["utc", "local", "gps", "time_of_day", "relative"]}, duration_s=NUMBER,
    findings=listed(FINDING),
)  # fmt: skip
_TRACK: dict[str, Schema] = {
    "name": TEXT, "length_m": NUMBER, "length_sd_m": maybe(NUMBER),
    "source": {"enum": ["file", "library", "discovered"]}, "corners": COUNT, "start_finish": LINE,
}  # fmt: skip
TRACK = exactly(**_TRACK)
NOISE = exactly(
    position_sd_m=NUMBER, drift_sd_m=NUMBER, drift_tau_s=NUMBER, speed_sd_mps=maybe(NUMBER),
    slow_speed_sd_mps=maybe(NUMBER), lasting_sd_m=NUMBER, clock_sd_ppm=NUMBER,
    sources=listed(TEXT, 1), repeat_line=YES_NO, road=YES_NO,
)  # fmt: skip
LAP = exactly(
    lap={"type": "integer"}, kind={"enum": ["out", "timed", "in"]}, complete=YES_NO,
    flags=listed(TEXT), representative=YES_NO, start_utc=maybe(UTC), start_s=NUMBER,
    time_s=maybe(NUMBER), time_sd_s=maybe(NUMBER), time_ci95_s=maybe(listed(NUMBER, 2, 2)),
    time_from_launch_s=maybe(NUMBER), sectors_s=listed(maybe(NUMBER), 1),
    sector_sds_s=listed(maybe(NUMBER), 1), top_speed_mps=maybe(NUMBER),
    top_speed_station_m=maybe(NUMBER),
)  # fmt: skip
_LAPS: dict[str, Schema] = {
    "schema": {"const": 1}, "log": LOG, "track": TRACK, "noise": NOISE, "laps": listed(LAP),
    "best_lap": maybe(COUNT), "theoretical_best_s": maybe(NUMBER),
    "theoretical_best_sd_s": maybe(NUMBER),
}  # fmt: skip
LAPS = exactly(**_LAPS)
DELTA = exactly(
    station_m=listed(NUMBER, 2), delta_s=listed(NUMBER, 2), delta_sd_s=listed(NUMBER, 2),
    speed_mps=listed(NUMBER, 2), reference_speed_mps=listed(NUMBER, 2),
)  # fmt: skip
STRETCH = exactly(
    corner=COUNT, stretch={"enum": ["braking", "entry", "exit", "straight"]}, start_m=NUMBER,
    end_m=NUMBER, difference_s=NUMBER, difference_sd_s=NUMBER,
)  # fmt: skip
COMPARE = exactly(
    schema={"const": 1}, lap=COUNT, reference=COUNT, time_difference_s=NUMBER,
    time_difference_sd_s=NUMBER, delta=DELTA, ledger=listed(STRETCH, 1),
)  # fmt: skip
CORNER = exactly(
    corner=COUNT, name=TEXT, direction={"enum": ["left", "right"]}, entry_m=NUMBER, apex_m=NUMBER,
    exit_m=NUMBER, radius_m=NUMBER, apex_lat_deg=NUMBER, apex_lon_deg=NUMBER,
)  # fmt: skip
PASS = exactly(
    lap=COUNT, corner=COUNT, flat=YES_NO, entry_speed_mps=NUMBER,
    min_speed_mps=maybe(NUMBER), min_speed_sd_mps=maybe(NUMBER), min_speed_station_m=maybe(NUMBER),
    min_speed_lat_deg=maybe(NUMBER), min_speed_lon_deg=maybe(NUMBER), exit_speed_mps=NUMBER,
    lift_station_m=maybe(NUMBER),
    brake_station_m=maybe(NUMBER), brake_sd_m=maybe(NUMBER), brake_lat_deg=maybe(NUMBER),
    brake_lon_deg=maybe(NUMBER), brake_source={"enum": ["channel", "motion"]},
    throttle_station_m=maybe(NUMBER), time_s=NUMBER, time_sd_s=NUMBER, apex_offset_m=NUMBER,
)  # fmt: skip
WORTH = exactly(
    corner=COUNT, code={"enum": ["braking", "minimum_speed", "throttle", "line"]}, text=TEXT,
    time_at_stake_s=NUMBER, time_at_stake_sd_s=NUMBER,
)  # fmt: skip
CORNERS = exactly(
    schema={"const": 1}, corners=listed(CORNER), passes=listed(PASS),
    worth_trying=listed(WORTH, 0, 3),
)  # fmt: skip
TRACK_COMMAND = exactly(
    schema={"const": 1}, track=exactly(**_TRACK, sectors=listed(LINE), pit_lane=YES_NO),
    how_sure=TEXT, out=maybe(TEXT),
)  # fmt: skip
CHECK = exactly(
    schema={"const": 1}, log=LOG,
    columns=listed(exactly(name=TEXT, read_as=maybe(TEXT), unit=maybe(TEXT), filled=NUMBER)),
)  # fmt: skip
CAME = exactly(
    corner=COUNT, code={"enum": ["braking", "minimum_speed", "throttle", "line"]},
    noted=maybe(TEXT), text=TEXT, passes_before=COUNT, passes_after=COUNT, before_s=NUMBER,
    after_s=NUMBER, change_s=NUMBER, change_ci95_s=listed(maybe(NUMBER), 2, 2),
    against_rest_s=NUMBER, against_rest_ci95_s=listed(maybe(NUMBER), 2, 2),
    feature={"enum": ["brake_station_m", "min_speed_mps", "throttle_station_m", "apex_offset_m"]},
    feature_before=maybe(NUMBER), feature_after=maybe(NUMBER), feature_change=maybe(NUMBER),
    feature_change_ci95=listed(maybe(NUMBER), 2, 2),
)  # fmt: skip
DEBRIEF = exactly(
    **_LAPS, before=maybe(TEXT), came_of_it=listed(CAME), before_remarks=listed(TEXT),
    worth_trying=listed(WORTH, 0, 3), remark=maybe(TEXT),
)  # fmt: skip
WEEKEND = exactly(
    schema={"const": 1}, out=TEXT,
    sessions=listed(exactly(
        path=TEXT, status={"enum": ["ok", "failed"]}, reason=maybe(TEXT), track=maybe(TEXT),
        laps=COUNT, best_lap_s=maybe(NUMBER), median_s=maybe(NUMBER),
    )),
)  # fmt: skip
REPORT = exactly(schema={"const": 1}, out=TEXT, pdf=maybe(TEXT), tables=maybe(TEXT))
