"""Columns of what the driver did, where a log has pedals, steering or engine speed."""

from lapwright.columns.column import Column, bar

_JSON = "table json files"
_MOMENT = "as good as its moment: its ± times the speed there"
_COUNT = "none: a count"
_OWN = "In the channel's own unit."
_SAMPLE = "By how often and how exactly the channel is logged."
_CHANCE = "none: the 95 % interval is beside it"
_RUN = (
    Column("lap", "", "Number of the lap.", shown=_JSON, holds=int),
    Column("corner", "", "Number of the corner.", shown=_JSON, holds=int),
)

DRIVER = (
    *_RUN,
    Column("brake_peak", "", f"Hardest braking on the brake channel. {_OWN}", sd="brake_peak_sd",
           shown=_JSON),
    bar("brake_peak_sd", "brake_peak", "", _JSON,
        "Noise of one value, and what may lie between two."),
    Column("brake_mean", "", f"Mean of the brake channel from on to off. {_OWN}",
           sd="brake_mean_sd", shown=_JSON),
    bar("brake_mean_sd", "brake_mean", "", _JSON),
    Column("brake_to_peak_s", "s", "From brakes on to nine tenths of the peak.",
           sd="brake_to_peak_sd_s", shown=_JSON),
    bar("brake_to_peak_sd_s", "brake_to_peak_s", "s", _JSON, _SAMPLE),
    Column("brake_off_s", "s",
           "When the brake was last let off before the throttle, from the first usable fix.",
           sd="brake_off_sd_s"),
    bar("brake_off_sd_s", "brake_off_s", "s", meaning=_SAMPLE),
    Column("brake_off_station_m", "m", "Where that was, after the start line.", no_sd=_MOMENT,
           shown=_JSON),
    Column("release_s", "s", "From the last nine tenths of the peak to brakes off.",
           sd="release_sd_s", shown=_JSON),
    bar("release_sd_s", "release_s", "s", _JSON, _SAMPLE),
    Column("release_turning_share", "", "Share of the release that came after turn-in.",
           sd="release_turning_share_sd", shown=_JSON),
    bar("release_turning_share_sd", "release_turning_share", "", _JSON),
    Column("coast_s", "s",
           "From brakes off to throttle on, with neither pedal on; 0 where they overlap.",
           sd="coast_sd_s", decimals=2, shown=_JSON),
    bar("coast_sd_s", "coast_s", "s", _JSON, _SAMPLE),
    Column("coast_m", "m", "How far the car went meanwhile.", sd="coast_sd_m", shown=_JSON),
    bar("coast_sd_m", "coast_m", "m", _JSON),
    Column("hesitations", "",
           "How often the throttle closed again by an eighth of its range, before it was fully "
           "open or the corner's exit. Not where a gear was changed, if engine speed shows it.",
           no_sd=_COUNT, shown=_JSON),
    Column("hesitation_s", "s", "For how long in all.", sd="hesitation_sd_s", shown=_JSON),
    bar("hesitation_sd_s", "hesitation_s", "s", _JSON, _SAMPLE),
    Column("full_throttle_s", "s", "When the throttle was first fully open after the corner.",
           sd="full_throttle_sd_s"),
    bar("full_throttle_sd_s", "full_throttle_s", "s", meaning=_SAMPLE),
    Column("full_throttle_station_m", "m", "Where that was, after the start line.",
           no_sd=_MOMENT, shown=_JSON),
    Column("steering_peak", "",
           f"Furthest the wheel was turned from straight ahead. {_OWN}", sd="steering_peak_sd",
           shown=_JSON),
    bar("steering_peak_sd", "steering_peak", "", _JSON, "Noise of one value."),
    Column("steering_corrections", "",
           "How often the wheel was turned back between entry and exit, by more than its noise, "
           "beyond the once that every corner takes.", no_sd=_COUNT, shown=_JSON),
    Column("gear", "",
           "Gear at the slowest point, by engine speed over speed. 1 is the lowest gear used in "
           "the session, not the number on the lever. Empty where the two do not show it.",
           no_sd="none: a count; empty where it is not clear", shown=_JSON),
)  # fmt: skip

DRIVER_LAPS = (
    Column("lap", "", "Number of the lap.", shown=_JSON, holds=int),
    Column("full_throttle_share", "", "Share of the lap's time at full throttle.",
           sd="full_throttle_share_sd", shown=_JSON),
    bar("full_throttle_share_sd", "full_throttle_share", "", _JSON, _SAMPLE),
    Column("coasting_share", "", "Share of the lap's time with neither pedal on.",
           sd="coasting_share_sd", shown=_JSON),
    bar("coasting_share_sd", "coasting_share", "", _JSON, _SAMPLE),
    Column("braking_share", "", "Share of the lap's time with the brake on.",
           sd="braking_share_sd", shown=_JSON),
    bar("braking_share_sd", "braking_share", "", _JSON, _SAMPLE),
)  # fmt: skip

COASTING = (
    Column("corner", "", "Number of the corner.", shown=_JSON, holds=int),
    Column("less_laps", "", "Clean laps in the half with less coasting here.", shown=_JSON,
           holds=int),
    Column("more_laps", "", "Clean laps in the half with more.", shown=_JSON, holds=int),
    Column("less_coast_s", "s", "Mean coasting of the half with less.",
           no_sd="not computed: that of the difference is beside it", shown=_JSON),
    Column("more_coast_s", "s", "Mean coasting of the half with more.",
           no_sd="not computed: that of the difference is beside it", shown=_JSON),
    Column("cost_s", "s",
           "Mean time from this braking zone to the next of the half with more coasting, less "
           "that of the other half. It describes these laps; what caused it is not shown by it.",
           sd="cost_sd_s", shown=_JSON),
    bar("cost_sd_s", "cost_s", "s", _JSON, "By the spread within both halves."),
    Column("cost_low95_s", "s", "Lower end of its 95 % interval, for all corners together.",
           no_sd=_CHANCE, shown=_JSON),
    Column("cost_high95_s", "s", "Upper end of that interval.", no_sd=_CHANCE, shown=_JSON),
)  # fmt: skip
