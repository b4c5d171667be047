"""All tables by name, each with the description of its columns."""

from lapwright.columns.achievable import ACHIEVABLE
from lapwright.columns.advice import FINDINGS, WORTH_TRYING
from lapwright.columns.captions import CAPTIONS
from lapwright.columns.car import CAR, CAR_WARNINGS
from lapwright.columns.column import Column
from lapwright.columns.corners import CORNERS, PASSES
from lapwright.columns.driver import COASTING, DRIVER, DRIVER_LAPS
from lapwright.columns.laps import CAUSES, DELTA, LAPS, LEDGER
from lapwright.columns.race import CAR_GAPS, HELD_UP, LAUNCHES, PIT_STOPS, STINTS
from lapwright.columns.variation import VARIATION
from lapwright.columns.weekend import (
    CHANGES,
    ENGINE,
    OF_SEASON,
    SESSIONS,
    WEEKEND_FINDINGS,
    WEEKEND_LAPS,
    WEEKEND_PASSES,
    WEEKEND_SECTORS,
)

TABLES: dict[str, tuple[Column, ...]] = {
    "laps": LAPS, "corners": CORNERS, "passes": PASSES, "delta": DELTA, "ledger": LEDGER,
    "causes": CAUSES, "variation": VARIATION, "achievable": ACHIEVABLE,
    "driver": DRIVER, "driver_laps": DRIVER_LAPS, "coasting": COASTING,
    "car": CAR, "car_warnings": CAR_WARNINGS,
    "worth_trying": WORTH_TRYING, "findings": FINDINGS, "sessions": SESSIONS,
    "weekend_laps": WEEKEND_LAPS, "weekend_sectors": WEEKEND_SECTORS,
    "weekend_passes": WEEKEND_PASSES, "weekend_findings": WEEKEND_FINDINGS, "engine": ENGINE,
    "changes": CHANGES, "season": OF_SEASON, "captions": CAPTIONS, "launches": LAUNCHES,
    "stints": STINTS, "pit_stops": PIT_STOPS, "held_up": HELD_UP, "car_gaps": CAR_GAPS,
}  # fmt: skip
