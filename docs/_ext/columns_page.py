"""
The page of columns, written from their descriptions in the program.

To write it again after a column has changed::

    LAPWRIGHT_WRITE_EXAMPLES=1 python -m pytest -n 0 tests/test_columns.py
"""

from lapwright.columns import Column
from lapwright.columns.tables import TABLES

_INTRODUCTION = (
    "# Columns of the tables\n\n"
    "Every column of every table: its unit, the column with its error bar or why there is none, "
    "where it is, and what it means. Everything is in SI units. Within the error bar the truth "
    "lies two times in three.\n\n"
    "*table* is the DataFrame in Python, *JSON* what `--json` prints, *files* are CSV and "
    "Parquet.\n"
)
_TITLES = {
    "laps": (
        "Laps",
        "`Session.laps`, `laps --json`, `laps.csv` of the report's tables. One row per lap.",
    ),
    "corners": (
        "Corners", "`Session.corners`, `corners --json`, `corners.csv`. One row per corner.",
    ),
    "passes": (
        "Runs through corners",
        "`Session.passes`, `corners --json`, `passes.csv`. One row per lap and corner. Empty where "
        "a thing did not happen. [How each is found](method-corners.md#one-run-through-a-corner).",
    ),
    "driver": (
        "The driver in a corner",
        "`Session.driver`, `corners --json`, `driver.csv`. One row per lap and corner, where the "
        "log has pedals, steering or engine speed; empty where a thing did not happen or the "
        "channel has a hole. [How each is found](how-to-driver.md).",
    ),
    "driver_laps": (
        "The driver on a lap",
        "`Session.driver_laps`, `corners --json`, `driver_laps.csv`. One row per lap.",
    ),
    "coasting": (
        "What coasting went with",
        "`Session.coasting`, `corners --json`, `coasting.csv`. One row per corner whose clean laps "
        "differ in coasting.",
    ),
    "delta": (
        "Delta along the lap",
        "`Comparison.delta`, `compare --json`, `delta.csv` (the typical lap against the best). One "
        "row per place.",
    ),
    "ledger": (
        "Where the time goes",
        "`Comparison.ledger`, `compare --json`, `ledger.csv`. One row per stretch of the circuit.",
    ),
    "causes": (
        "What cost the time",
        "`Comparison.causes`, `compare --json`, `causes.csv`. One row per corner and cause.",
    ),
    "variation": (
        "How corners vary",
        "`Session.variation`, `debrief --json`, `variation.csv`. One row per corner. "
        "[How it is found](method-worth-trying.md#where-nothing-is-shown).",
    ),
    "achievable": (
        "What your own laps add up to",
        "`Session.achievable.corners`, `debrief --json`, `achievable.csv` (five clean laps or "
        "more). One row per corner. [How it is calculated](method-achievable.md).",
    ),
    "car": (
        "The car on a lap",
        "`Session.car`, `debrief --json`, `car.csv`. One row per lap and column of the car's "
        "sensors. [What is watched](how-to-car.md).",
    ),
    "car_warnings": (
        "Warnings about the car",
        "`Session.car_warnings`, `debrief --json`, `car_warnings.csv`. One row per warning; what a "
        "warning has not got is empty. [What each means](how-to-car.md).",
    ),
    "worth_trying": (
        "Worth trying",
        "`corners --json`, `debrief --json`, `worth_trying.csv`. One row per thing.",
    ),
    "findings": ("Odd in the log", "In `log` of every JSON, `findings.csv`. One row per finding."),
    "sessions": (
        "Sessions of a weekend", "`weekend --json`, `sessions.csv`. One row per log.",
    ),
    "weekend_laps": ("Laps of a weekend", "`laps.csv`. One row per lap of every log."),
    "weekend_sectors": (
        "Sectors of a weekend", "`sectors.csv`. One row per lap and sector that has a time.",
    ),
    "weekend_passes": (
        "Runs through corners of a weekend",
        "`passes.csv` of a weekend. One row per lap and corner of every log.",
    ),
    "weekend_findings": (
        "Odd in the logs of a weekend", "`findings.csv` of a weekend. One row per finding.",
    ),
    "season": (
        "Season",
        "In front of the columns of each table of a [season](how-to-season.md); behind them stand "
        "`season` (the year; 0 where the log has no date) and `circuit`, by which it is parted. "
        "The times of sectors are in `sectors` alone.",
    ),
    "engine": ("Engine", "`engine.csv` of a weekend. One row per lap and channel."),
    "captions": (
        "Captions of a video",
        "`lapwright.captions.caption_table`. One row per caption; what it shows is as at its "
        "beginning. [How they are made](how-to-video.md).",
    ),
    "launches": (
        "Standing starts",
        "`Session.launches`, `race --json`. One row per standing start. "
        "[How it is timed](method-race.md#the-standing-start).",
    ),
    "stints": (
        "Stints",
        "`Session.stints`, `race --json`. One row per stint. [How the fade is "
        "found](method-race.md#fade).",
    ),
    "pit_stops": ("Pit stops", "`Session.pit_stops`, `race --json`. One row per visit."),
    "held_up": (
        "Laps that look held up",
        "`Session.held_up`, `race --json`. One row per lap. "
        "[What shows it](method-race.md#held-up).",
    ),
    "car_gaps": (
        "Gap to another car",
        "`Session.gaps_to`, `race --json`. One row per passage of a line by both.",
    ),
    "changes": (
        "Changes to the car",
        "`changes.csv` of a weekend. One row per change and driver, and one for each corner.",
    ),
}  # fmt: skip
_PLACES = {
    "table": "table", "json": "JSON", "files": "files", "weekend": "files", "season": "season",
}  # fmt: skip
_OF_WEEKENDS = ("engine", "season")


def columns_page() -> str:
    """Write the page."""
    parts = [_INTRODUCTION]
    for name, columns in TABLES.items():
        title, where = _TITLES[name]
        weekend = name.startswith("weekend_") or name in _OF_WEEKENDS
        shown = [c for c in columns if weekend or not _only_weekend(c)]
        rows = [_row(c, weekend=weekend) for c in shown]
        head = "| column | unit | error bar | in | meaning |\n|---|---|---|---|---|\n"
        parts.append(f"## {title}\n\n{where}\n\n{head}" + "".join(rows))
    return "\n".join(parts)


def _only_weekend(column: Column) -> bool:
    return column.shown == "weekend"


def _row(column: Column, *, weekend: bool) -> str:
    """Write a row of the page's table."""
    error_bar = f"`{column.sd}`" if column.sd else column.no_sd
    left_out = "files" if weekend else "weekend"
    places = [word for key, word in _PLACES.items() if column.on(key) and key != left_out]
    if weekend:
        places = ["season" if column.on("season") else "files"]
    name = column.name.replace("{k}", "K")
    cells = [f"`{name}`", column.unit, error_bar.replace("{k}", "K"), ", ".join(places),
             column.meaning.replace("{k}", "K").replace("*k*", "K")]  # fmt: skip
    return "| " + " | ".join(cells) + " |\n"
