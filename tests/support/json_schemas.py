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
    path=TEXT, reader=TEXT, fixes=COUNT, rate_hz=NUMBER, start_utc=maybe(UTC),
    time_zone=maybe(TEXT), first_fix_s=NUMBER,
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
CAUSE = exactly(
    corner=COUNT, cause={"enum": ["minimum", "exit", "straight", "braking"]}, lost_s=NUMBER,
    lost_sd_s=NUMBER,
)  # fmt: skip
# Of each, the value and its error bar; of the lap, of the reference and of their difference.
_BESIDE = (
    "time{}_s", "brake_to_corner{}_m", "peak_decel{}_mps2", "min_speed{}_mps",
    "min_speed_station{}_m", "throttle_station{}_m", "exit_speed{}_mps", "turn_in_offset{}_m",
    "apex_offset{}_m", "exit_offset{}_m",
)  # fmt: skip
BESIDE = exactly(
    corner=COUNT, name=TEXT,
    **{
        f"{lap}{name.format(sd)}": maybe(NUMBER)
        for name in _BESIDE for sd in ("", "_sd") for lap in ("", "reference_", "difference_")
    },
)  # fmt: skip
COMPARE = exactly(
    schema={"const": 1}, lap=COUNT, reference=COUNT, time_difference_s=NUMBER,
    time_difference_sd_s=NUMBER, delta=DELTA, ledger=listed(STRETCH, 1), causes=listed(CAUSE, 1),
    passes=listed(BESIDE),
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
_MAYBE = maybe(NUMBER)
DRIVER = exactly(
    lap=COUNT, corner=COUNT, brake_peak=_MAYBE, brake_peak_sd=_MAYBE, brake_mean=_MAYBE,
    brake_mean_sd=_MAYBE, brake_to_peak_s=_MAYBE, brake_to_peak_sd_s=_MAYBE,
    brake_off_station_m=_MAYBE, release_s=_MAYBE, release_sd_s=_MAYBE,
    release_turning_share=_MAYBE, release_turning_share_sd=_MAYBE, coast_s=_MAYBE,
    coast_sd_s=_MAYBE, coast_m=_MAYBE, coast_sd_m=_MAYBE, hesitations=_MAYBE,
    hesitation_s=_MAYBE, hesitation_sd_s=_MAYBE, full_throttle_station_m=_MAYBE,
    steering_peak=_MAYBE, steering_peak_sd=_MAYBE, steering_corrections=_MAYBE, gear=_MAYBE,
)  # fmt: skip
DRIVER_LAP = exactly(
    lap=COUNT, full_throttle_share=_MAYBE, full_throttle_share_sd=_MAYBE, coasting_share=_MAYBE,
    coasting_share_sd=_MAYBE, braking_share=_MAYBE, braking_share_sd=_MAYBE,
)  # fmt: skip
COASTING = exactly(
    corner=COUNT, less_laps=COUNT, more_laps=COUNT, less_coast_s=NUMBER, more_coast_s=NUMBER,
    cost_s=NUMBER, cost_sd_s=NUMBER, cost_low95_s=NUMBER, cost_high95_s=NUMBER,
)  # fmt: skip
CORNERS = exactly(
    schema={"const": 1}, corners=listed(CORNER), passes=listed(PASS),
    worth_trying=listed(WORTH, 0, 3), driver=listed(DRIVER), driver_laps=listed(DRIVER_LAP),
    coasting=listed(COASTING),
)  # fmt: skip
LAUNCH = exactly(
    lap=COUNT, start_s=NUMBER, to_60_kmh_s=_MAYBE, to_60_kmh_sd_s=_MAYBE, to_100_kmh_s=_MAYBE,
    to_100_kmh_sd_s=_MAYBE, to_line_s=_MAYBE, to_line_sd_s=_MAYBE,
)  # fmt: skip
STINT = exactly(
    stint=COUNT, first_lap=COUNT, last_lap=COUNT, clean_laps=COUNT, median_s=_MAYBE,
    spread_s=_MAYBE, fade_laps=COUNT, fade_s_per_lap=_MAYBE, fade_low95_s_per_lap=_MAYBE,
    fade_high95_s_per_lap=_MAYBE,
)  # fmt: skip
PIT_STOP = exactly(
    lap=COUNT, start_s=NUMBER, lane_s=NUMBER, lane_sd_s=NUMBER, lane_known=YES_NO,
    standing_s=_MAYBE, standing_sd_s=_MAYBE,
)  # fmt: skip
HELD_UP = exactly(
    lap=COUNT, start_m=NUMBER, end_m=NUMBER, lost_s=NUMBER, lost_spread_s=NUMBER,
    lifted_mps=NUMBER, slow_m=NUMBER, aside_m=NUMBER,
)  # fmt: skip
CAR_GAP = exactly(
    lap=COUNT, gate=COUNT, time_s=NUMBER, gap_s=NUMBER, gap_sd_s=NUMBER,
    ahead={"enum": ["this", "other", "open"]}, changed=YES_NO,
)  # fmt: skip
FIRST_LAP = exactly(
    lap=COUNT, reference=COUNT, typical=YES_NO, time_difference_s=NUMBER,
    time_difference_sd_s=NUMBER,
    corners=listed(exactly(corner=COUNT, lost_s=NUMBER, lost_sd_s=NUMBER), 1),
)  # fmt: skip
RACE = exactly(
    schema={"const": 1}, launches=listed(LAUNCH), first_lap=maybe(FIRST_LAP), stints=listed(STINT),
    pit_stops=listed(PIT_STOP), held_up=listed(HELD_UP), against=maybe(TEXT),
    gaps=listed(CAR_GAP),
)  # fmt: skip
TRACK_COMMAND = exactly(
    schema={"const": 1},
    track=exactly(**_TRACK, sectors=listed(LINE), pit_lane=YES_NO, corner_names=listed(TEXT)),
    how_sure=TEXT, out=maybe(TEXT), saved=maybe(TEXT), map=maybe(TEXT),
)  # fmt: skip
LIBRARY = exactly(
    schema={"const": 1}, library=TEXT, removed=maybe(TEXT),
    circuits=listed(exactly(
        file=TEXT, name=TEXT, direction=maybe({"enum": ["clockwise", "anticlockwise"]}),
        length_m=maybe(NUMBER), length_sd_m=maybe(NUMBER), corner_names=maybe(listed(TEXT)),
        broken=maybe(TEXT),
    )),
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
CARRIED = exactly(
    corner=COUNT, code={"enum": ["braking", "minimum_speed", "throttle"]}, text=TEXT,
    before_s=NUMBER, before_sd_s=NUMBER, now_s=NUMBER, now_sd_s=NUMBER, together_s=maybe(NUMBER),
    together_sd_s=maybe(NUMBER), together_ci95_s=maybe(listed(NUMBER, 2, 2)),
)  # fmt: skip
VARIES = exactly(
    corner=COUNT, laps=COUNT, start_m=NUMBER, end_m=NUMBER, varies_s=maybe(NUMBER),
    varies_low95_s=maybe(NUMBER), varies_high95_s=maybe(NUMBER), measuring_s=maybe(NUMBER),
)  # fmt: skip
_CORNER_TIME = {
    f"{name}{end}": NUMBER for name in ("usual", "allowed", "gap") for end in ("_s", "_sd_s")
}
ACHIEVABLE_CORNER = exactly(
    corner=COUNT, laps=COUNT, start_m=NUMBER, end_m=NUMBER, best_lap=COUNT, best_s=NUMBER,
    best_sd_s=maybe(NUMBER), **_CORNER_TIME, gap_low95_s=NUMBER, gap_high95_s=NUMBER,
    **{f"{name}_min_speed{end}": NUMBER for name in ("best", "usual", "allowed")
       for end in ("_mps", "_sd_mps")},
    line_s=NUMBER, minimum_s=NUMBER, braking_s=NUMBER, throttle_s=NUMBER,
    only_scatter=YES_NO, beyond=YES_NO,
)  # fmt: skip
ACHIEVABLE = exactly(
    laps=listed(COUNT, 5), time_s=NUMBER, time_sd_s=NUMBER, time_ci95_s=listed(NUMBER, 2, 2),
    usual_s=NUMBER, usual_sd_s=NUMBER, best_lap=COUNT, best_s=NUMBER, gap_s=NUMBER,
    gap_sd_s=NUMBER, gap_ci95_s=listed(NUMBER, 2, 2), only_scatter=YES_NO, beyond=YES_NO,
    corners=listed(ACHIEVABLE_CORNER), text=listed(TEXT, 1),
)  # fmt: skip
_KIND = {"enum": [
    "rpm", "oil_pressure", "oil_temperature", "water_temperature", "fuel_pressure", "battery",
    "wheel_speed", "temperature", "pressure", "other",
]}  # fmt: skip
CAR = exactly(
    lap=COUNT, channel=TEXT, kind=_KIND, unit=TEXT, mean=NUMBER, lowest=NUMBER, lowest_sd=NUMBER,
    lowest_station_m=NUMBER, lowest_corner=COUNT, highest=NUMBER, highest_sd=NUMBER,
    highest_station_m=NUMBER, highest_corner=COUNT, beyond_s=_MAYBE, beyond_sd_s=_MAYBE,
    beyond_station_m=_MAYBE, beyond_corner=COUNT,
)  # fmt: skip
_CAR_WARNING: dict[str, Schema] = {
    "code": {"enum": ["limit", "oil_in_corner", "still_rising", "sensor_died"]}, "channel": TEXT,
    "kind": _KIND, "unit": TEXT,
    "how": {"enum": ["", "below", "above", "constant", "missing", "impossible"]}, "value": _MAYBE,
    "value_sd": _MAYBE, "low95": _MAYBE, "high95": _MAYBE, "level": _MAYBE, "above_rpm": _MAYBE,
    "beyond_s": _MAYBE, "beyond_sd_s": _MAYBE, "laps": listed(COUNT), "lap": maybe(COUNT),
    "time_s": _MAYBE, "time_sd_s": _MAYBE, "station_m": _MAYBE, "corner": COUNT,
}  # fmt: skip
CAR_WARNING = exactly(**_CAR_WARNING)
DEBRIEF = exactly(
    **_LAPS, before=maybe(TEXT), came_of_it=listed(CAME), carried_on=listed(CARRIED),
    before_remarks=listed(TEXT), worth_trying=listed(WORTH, 0, 3), remark=maybe(TEXT),
    still_known=listed(TEXT), variation=listed(VARIES), achievable=maybe(ACHIEVABLE),
    car=listed(CAR),
    car_warnings=listed(exactly(**_CAR_WARNING, text=TEXT)), limits_not_checked=listed(TEXT),
)  # fmt: skip
_CHANGED: dict[str, Schema] = {
    "change_s": NUMBER, "change_sd_s": NUMBER, "change_ci95_s": listed(NUMBER, 2, 2),
}  # fmt: skip
CHANGE = exactly(
    changes=listed(TEXT, 1), driver=maybe(TEXT), session=TEXT, sessions_before=listed(TEXT),
    sessions_after=listed(TEXT), laps_before=COUNT, laps_after=COUNT,
    why_not=maybe({"enum": ["no_other_side", "other_surface", "changing", "not_apart"]}),
    **{name: maybe(one) for name, one in _CHANGED.items()},
    trend_told_apart=YES_NO, more_sessions=maybe(COUNT), more_laps_each=maybe(COUNT),
    corners=listed(exactly(corner=COUNT, **_CHANGED)),
)  # fmt: skip
WEEKEND = exactly(
    schema={"const": 1}, out=TEXT, report=maybe(TEXT), pdf=maybe(TEXT), changes=listed(CHANGE),
    sessions=listed(exactly(
        path=TEXT, status={"enum": ["ok", "failed"]}, reason=maybe(TEXT), track=maybe(TEXT),
        laps=COUNT, best_lap_s=maybe(NUMBER), median_s=maybe(NUMBER),
    )),
)  # fmt: skip
REPORT = exactly(schema={"const": 1}, out=TEXT, pdf=maybe(TEXT), tables=maybe(TEXT))
CAPTIONED = exactly(
    lap={"type": "integer"}, kind={"enum": ["out", "timed", "in"]}, video_start_s=NUMBER,
    video_end_s=NUMBER, time_s=maybe(NUMBER), time_sd_s=maybe(NUMBER), delta_s=maybe(NUMBER),
    delta_sd_s=maybe(NUMBER), flags=listed(TEXT),
)  # fmt: skip
CAPTIONS = exactly(
    schema={"const": 1}, out=listed(TEXT, 1), video_start_s=NUMBER, video_start_utc=maybe(UTC),
    every_s=NUMBER, captions=COUNT, reference=maybe({"type": "integer"}),
    reference_log=maybe(TEXT), laps=listed(CAPTIONED, 1),
)  # fmt: skip
ALIGN = exactly(
    schema={"const": 1}, log=TEXT, other=TEXT, at_s=NUMBER, offset_s=NUMBER, offset_sd_s=NUMBER,
    rate=NUMBER, rate_sd=NUMBER, overlap_s=NUMBER, clocks_apart_s=maybe(NUMBER),
    position_rms_m=NUMBER, speed_rms_mps=NUMBER, misfit=NUMBER, out=maybe(TEXT),
)  # fmt: skip

# One object a line, each one happening of a lap that is being driven.
_SPAN: dict[str, Schema] = {"time_s": maybe(NUMBER), "time_sd_s": maybe(NUMBER)}
LIVE: Schema = {
    "oneOf": [
        exactly(
            schema={"const": 1}, event={"const": "going"}, lap=COUNT,
            kind={"enum": ["out", "timed"]}, time_s=NUMBER, since_line_s=maybe(NUMBER),
            station_m=maybe(NUMBER), speed_mps=NUMBER, delta_s=maybe(NUMBER),
            delta_sd_s=maybe(NUMBER), predicted_s=maybe(NUMBER), predicted_sd_s=maybe(NUMBER),
            reference=TEXT,
        ),
        exactly(
            schema={"const": 1}, event={"const": "sector"}, lap=COUNT, sector=COUNT,
            time_s=NUMBER, time_sd_s=NUMBER, end_s=NUMBER, refined=YES_NO,
        ),
        exactly(
            schema={"const": 1}, event={"const": "lap"}, lap=COUNT,
            kind={"enum": ["out", "timed", "in"]}, flags=listed(TEXT), **_SPAN,
            sectors_s=listed(maybe(NUMBER)), sector_sds_s=listed(maybe(NUMBER)), start_s=NUMBER,
            end_s=NUMBER, refined=YES_NO, best=YES_NO,
        ),
        exactly(
            schema={"const": 1}, event={"const": "learned"}, source={"const": "this session"},
            position_sd_m=NUMBER, drift_sd_m=NUMBER, fixes=COUNT,
        ),
        exactly(
            schema={"const": 1}, event={"const": "receiving"},
            state={"enum": ["waiting", "fixes", "poor", "late", "no position", "nothing",
                            "no circuit", "ended"]},
            why=TEXT, age_s=maybe(NUMBER), recording=TEXT, damaged=COUNT, left_out=COUNT,
        ),
    ]
}  # fmt: skip
