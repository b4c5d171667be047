"""`lapwright compare LOG LAP`: where the time goes between two laps."""

import math
from pathlib import Path
from typing import Any

import click
import numpy as np
import pandas as pd

from lapwright.cli.opening import open_aloud
from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.objects import (
    beside_objects,
    cause_objects,
    delta_object,
    ledger_objects,
)
from lapwright.cli.printing.progress import COMPARING, TIMING
from lapwright.cli.printing.table import EQUAL, table
from lapwright.cli.printing.terminal import write_out
from lapwright.cli.printing.why_text import beside_lines, why_lines
from lapwright.cli.printing.worth_text import wrapped
from lapwright.geometry import Track
from lapwright.laps.comparison import Comparison
from lapwright.laps.stretches import STRETCHES
from lapwright.session import Session
from lapwright.units import Units, error_bar, is_equal, number, signed
from lapwright.wording.cautions import AS_DRIVEN, NOT_OFFICIAL, OTHER_CAR
from lapwright.wording.compared import against, what_differed
from lapwright.wording.flags import KIND_WORDS, flag_list
from lapwright.wording.heads import PLUS_MINUS_SIGN, SCREEN, heads
from lapwright.wording.terms import FROM_LINE_TITLE, PLUS_MINUS

_DELTA_ROWS = 10

# With one of these on a lap what cost its time is no matter of how it was driven.
_DRIVEN = frozenset({"off_path", "spin", "stop", "short_cut", "reversed"})
_NO_CAUSES = (
    "What cost the time: no causes are named, for one of the laps was not driven through on the "
    "track."
)


@click.command("compare")
@log_argument
@click.argument("lap", type=int)
@click.option(
    "--reference", type=int, metavar="LAP", help="The reference lap (default: the best lap)."
)
@click.option(
    "--reference-log",
    type=click.Path(path_type=Path),
    metavar="LOG2",
    help="Take the reference lap from another log of the same circuit.",
)
@click.option(
    "--step", type=click.FloatRange(min=0.1), default=5.0, show_default=True, metavar="METRES",
    help="Distance between the points of the delta in the JSON.",
)  # fmt: skip
@track_options
def command(
    log: Path, lap: int, reference: int | None, reference_log: Path | None, step: float,
    **options: Any,
) -> None:  # fmt: skip
    """Show where and why LAP of LOG gains and loses time against a reference lap."""
    choice = choice_of(options)
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    if reference_log is None:
        session, other = open_aloud(log, choice), None
    else:
        # The reference's log lays down the path where the track file has none.
        other = open_aloud(reference_log, choice)
        session = open_aloud(log, choice, beside=other)
    with choice.progress.step(TIMING):
        _ = session.laps
    with choice.progress.step(COMPARING):
        comparison = session.compare(lap, reference, other, step)
        # Worked out when first asked for.
        _ = comparison.passes
    if choice.as_json:
        write_json(
            lap=comparison.lap,
            reference=comparison.reference,
            time_difference_s=comparison.time_difference_s,
            time_difference_sd_s=comparison.time_difference_sd_s,
            delta=delta_object(comparison.delta),
            ledger=ledger_objects(comparison.ledger),
            causes=cause_objects(comparison.causes),
            passes=beside_objects(comparison.passes),
        )
        return
    base_session = session if other is None else other
    both = (session, comparison.lap), (base_session, comparison.reference)
    odd = [_odd_lap(one, lap) for one, lap in both]
    # Where a car left the track or stood, it was not the braking or the throttle that cost.
    driven = all(_DRIVEN.isdisjoint(one.row(lap)["flags"]) for one, lap in both)
    lines = _lines(comparison, session.track, units, with_causes=driven)
    write_out("\n".join([lines[0], *filter(None, odd), *lines[1:]]))


def _odd_lap(session: Session, lap: int) -> str:
    """Say what is odd about a lap: an out or in lap, or one that is set aside."""
    row = session.row(lap)
    if row["kind"] != "timed":
        return f"Lap {lap} is an {KIND_WORDS[str(row['kind'])]}."
    flags = [flag for flag in row["flags"] if flag != "bridged"]
    return f"Lap {lap} is set aside: {flag_list(flags)}." if flags else ""


def _lines(
    comparison: Comparison, track: Track, units: Units, *, with_causes: bool = True
) -> list[str]:
    difference, sd = comparison.time_difference_s, comparison.time_difference_sd_s
    said = f"{signed(difference, sd)} {PLUS_MINUS_SIGN} {error_bar(sd)} s"
    lines = [against(comparison, said)]
    for text in [*what_differed(comparison), *([OTHER_CAR] if comparison.other_log else [])]:
        lines += wrapped(text)
    lines += ["", "Where the time goes [s], + is time lost:"]
    lines += [*_ledger_lines(comparison, track), ""]
    lines += beside_lines(comparison, units)
    lines += why_lines(comparison, units) if with_causes else [*wrapped(_NO_CAUSES), ""]
    lines += ["Along the lap:", *_delta_lines(comparison, units), ""]
    lines += [] if comparison.other_log else wrapped(AS_DRIVEN)
    return [*lines, f"{EQUAL}: too small to measure.", PLUS_MINUS, NOT_OFFICIAL]


def _ledger_lines(comparison: Comparison, track: Track) -> list[str]:
    """Write one row a corner: its four stretches, their sum and the sum's error bar."""
    names = {corner.order: corner.name for corner in track.corners}
    ledger = comparison.ledger
    rows = []
    for corner in sorted(ledger["corner"].unique()):
        mine = (ledger["corner"] == corner).to_numpy()
        cells = [
            _difference(*_sum_of(comparison, mine & (ledger["stretch"] == stretch).to_numpy()))
            for stretch in STRETCHES
        ]
        total, sd = _sum_of(comparison, mine)
        name = names.get(corner, FROM_LINE_TITLE if names else "")
        rows.append(
            [str(corner or ""), "" if name == str(corner) else name, *cells, _difference(total, sd),
             error_bar(sd)]
        )  # fmt: skip
    head, *sums = heads(SCREEN, "ledger", Units())
    return [table([head, "", *STRETCHES, *sums], rows, left=[1])]


def _sum_of(
    comparison: Comparison, rows: "np.ndarray[Any, np.dtype[np.bool_]]"
) -> tuple[float, float]:
    """Sum some rows of the ledger; neighbours share an edge, so their errors do not just add up."""
    pick = rows.astype(np.float64)
    variance = float(pick @ comparison.ledger_cov_s2 @ pick)
    difference = comparison.ledger["difference_s"].to_numpy()
    return float(pick @ difference), math.sqrt(max(variance, 0.0))


def _difference(value_s: float, sd_s: float) -> str:
    text = signed(value_s, sd_s)
    return EQUAL if is_equal(value_s, sd_s) or float(text) == 0.0 else text


def _delta_lines(comparison: Comparison, units: Units) -> list[str]:
    """Write the delta at a few places around the lap."""
    delta: pd.DataFrame = comparison.delta
    length = float(delta["station_m"].iloc[-1])
    rows = []
    for station in np.linspace(0.0, length, _DELTA_ROWS + 1)[1:]:
        at = {
            name: float(np.interp(station, delta["station_m"], column))
            for name, column in delta.items()
        }
        rows.append(
            [
                number(units.distance_of(station), most=0),
                _difference(at["delta_s"], at["delta_sd_s"]),
                error_bar(at["delta_sd_s"]),
                number(units.speed_of(at["speed_mps"]), most=0),
                number(units.speed_of(at["reference_speed_mps"]), most=0),
            ]
        )
    return [table(heads(SCREEN, "delta", units), rows)]
