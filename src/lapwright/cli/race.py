"""`lapwright race LOG`: launch, first lap, stints, pit stops, laps held up, gap to another car."""

from pathlib import Path
from typing import Any

import click
import pandas as pd

from lapwright.cli.opening import open_aloud
from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.lap_text import closing_lines, header_lines
from lapwright.cli.printing.objects import race_object
from lapwright.cli.printing.progress import COMPARING, CORNERS, TIMING
from lapwright.cli.printing.table import rows_of, table
from lapwright.cli.printing.terminal import write_out
from lapwright.cli.printing.worth_text import wrapped
from lapwright.session import FirstLap, Session, first_lap
from lapwright.units import Units, clock, error_bar
from lapwright.wording.event.race import (
    ANTENNAS,
    FADE,
    LANE,
    OFF_LINE,
    ONE_CAR,
    fade_text,
    first_lap_text,
    gap_text,
    held_up_texts,
    nothing_held_up,
    start_texts,
)
from lapwright.wording.heads import PLUS_MINUS_SIGN

_AHEAD = {"this": "ahead", "other": "behind", "open": "side by side"}


@click.command("race")
@log_argument
@click.option(
    "--against",
    type=click.Path(path_type=Path),
    metavar="LOG2",
    help="The log of another car in the same race: the gap to it at every line.",
)
@track_options
def command(log: Path, against: Path | None, **options: Any) -> None:
    """
    Show what a race with LOG was made of: start, first lap, stints, pit stops, laps held up.

    With the log of another car also the gap to it, lap by lap.  Both logs need the date and the
    satellites' time.
    """
    choice = choice_of(options)
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    session = open_aloud(log, choice)
    other = None if against is None else open_aloud(against, choice, beside=session)
    with choice.progress.step(TIMING):
        _ = session.laps
        gaps = None if other is None else session.gaps_to(other)
    with choice.progress.step(CORNERS):
        _ = session.stints
    with choice.progress.step(COMPARING):
        first = first_lap(session)
    if choice.as_json:
        write_json(**race_object(session, first, against, gaps))
        return
    lines = [*header_lines(session, units), "", *_lines(session, first, units)]
    if against is not None and gaps is not None:
        lines += [*_gap_lines(session, against, gaps), ""]
    write_out("\n".join([*lines, *closing_lines()]))


def _lines(session: Session, first: FirstLap | None, units: Units) -> list[str]:
    """Say all that one log shows."""
    opening = [line for text in start_texts(session) for line in wrapped(text)]
    opening += wrapped(first_lap_text(session, first))
    lines = [*opening, ""] if opening else []
    lines += [*_stint_lines(session), *_stop_lines(session)]
    held_up = held_up_texts(session, units)
    if held_up:
        for text in [*held_up, ONE_CAR]:
            lines += wrapped(text)
    else:
        lines.append(nothing_held_up(session))
    return [*lines, ""]


def _stint_lines(session: Session) -> list[str]:
    """Write one row a stint."""
    rows, reasons = [], []
    for row in rows_of(session.stints):
        said = pd.notna(row["fade_s_per_lap"])
        fade, low, high = (
            f"{row[f'fade_{name}s_per_lap']:+.2f}" if said else ""
            for name in ("", "low95_", "high95_")
        )
        one = row["first_lap"] == row["last_lap"]
        laps = f"{row['last_lap']}" if one else f"{row['first_lap']}-{row['last_lap']}"
        rows.append(
            [
                str(row["stint"]), laps, str(row["clean_laps"]),
                clock(row["median_s"], most=2), error_bar(row["spread_s"], most=2),
                fade, f"{low} to {high}" if said else "",
            ]
        )  # fmt: skip
        if not said:
            reasons += wrapped(f"Stint {row['stint']}: {fade_text(session, row)}.")
    if not rows:
        return ["No full lap was driven.", ""]
    heads = ["stint", "laps", "clean", "median", "spread", "fade s/lap", "95 %"]
    legend = wrapped(FADE) if any(row[5] for row in rows) else []
    return [table(heads, rows), *reasons, *legend, ""]


def _stop_lines(session: Session) -> list[str]:
    """Write one row a visit to the pits."""
    stops = rows_of(session.pit_stops)
    if not stops:
        return []
    rows = []
    for row in stops:
        through = row["standing_s"] == 0.0
        standing = "" if through else clock(row["standing_s"], row["standing_sd_s"], most=2)
        rows.append(
            [
                str(row["lap"]), clock(row["lane_s"], row["lane_sd_s"], most=2),
                error_bar(row["lane_sd_s"], most=2), standing,
                "" if through else error_bar(row["standing_sd_s"], most=2),
                "driven through" if through else "",
            ]
        )  # fmt: skip
    heads = ["pit stop: lap", "in the lane", PLUS_MINUS_SIGN, "standing", PLUS_MINUS_SIGN, ""]
    known = all(row["lane_known"] for row in stops)
    return [table(heads, rows, left=[5]), *wrapped(LANE if known else OFF_LINE), ""]


def _gap_lines(session: Session, against: Path, gaps: pd.DataFrame) -> list[str]:
    """Write one row a lap: the gap at each sector line and at the start line."""
    if gaps.empty:
        return wrapped(f"The car of {against.name} passed no line on the same lap as this one.")
    sectors = len(session.track.sectors)
    rows = []
    for lap, part in gaps.groupby("lap", sort=True):
        cells = {row["gate"]: gap_text(row["gap_s"], row["gap_sd_s"]) for row in rows_of(part)}
        order = [cells.get(gate, "") for gate in (*range(1, sectors + 1), 0)]
        rows.append([str(lap), *order, _AHEAD[str(part["ahead"].iloc[-1])]])
    heads = ["lap", *(f"sector line {k}" for k in range(1, sectors + 1)), "start line", ""]
    lines = wrapped(f"Gap to {against.name} [s], + where this car passed later:")
    lines.append(table(heads, rows, left=[len(heads) - 1]))
    changes = gaps[gaps["changed"]]
    for row in rows_of(changes):
        where = f"sector line {row['gate']}" if row["gate"] else "the start line"
        took = "ahead" if row["ahead"] == "this" else "behind"
        lines.append(f"Place changed on lap {row['lap']}: {took} at {where}.")
    if changes.empty:
        lines.append("No place changed between the two at these lines.")
    return [*lines, *wrapped(ANTENNAS)]
