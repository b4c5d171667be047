"""`lapwright track LOG`: the circuit a log was driven on, and how sure that is."""

from pathlib import Path
from typing import Any

import click
import numpy as np

from lapwright.cli.opening import open_aloud
from lapwright.cli.options import choice_of, log_argument, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.objects import track_object
from lapwright.cli.printing.progress import TIMING
from lapwright.cli.printing.table import table
from lapwright.discovery import start_line_at_time
from lapwright.errors import OutputError
from lapwright.geometry import Track, read_track, write_track
from lapwright.geometry.trackfile.kept_names import with_names_of
from lapwright.outputs import check_ending, check_targets
from lapwright.session import Session
from lapwright.units import Units, error_bar, number
from lapwright.wording.cautions import NOT_OFFICIAL
from lapwright.wording.terms import UNNAMED


@click.command("track")
@log_argument
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE.geojson",
    help="Write the circuit, complete, to a track file.",
)  # fmt: skip
@click.option(
    "--start-at", metavar="TIME",
    help="Put the start/finish line where the car was then: seconds from the start of the log, "
    "minutes and seconds with decimals (2:31.8), a clock time (UTC where the log has a date), "
    "or an ISO date and time.",
)  # fmt: skip
@track_options
def command(log: Path, out: Path | None, start_at: str | None, **options: Any) -> None:
    """Show the circuit LOG was driven on; with --out, write it to a track file."""
    choice = choice_of(options)
    check_targets([out], [log, choice.columns])
    check_ending(out, (".geojson", ".json"))
    units = say.units_for(choice.units, log.parent, as_json=choice.as_json)
    session = open_aloud(log, choice, to_file=out is not None)
    track, sure = session.shared_track, how_sure(session)
    if out is not None:
        # So that every later session is split where this one is.
        with choice.progress.step(TIMING):
            slowing = session.slowing_m
        entries = [corner.entry_m for corner in session.track.corners]
        track = track.with_run_ups(np.maximum(entries - slowing, 0.0).tolist())
    if start_at is not None:
        track = _started_at(start_at, session, track)
    if out is not None:
        track = _with_names_of(out, track)
        write_track(track, out)
    if choice.as_json:
        write_json(
            track={
                **track_object(track),
                "sectors": [[list(p) for p in line] for line in track.sectors_deg],
                "pit_lane": track.pit_lane is not None,
            },
            how_sure=sure,
            out=None if out is None else str(out),
        )
        return
    # A sentence of ours begins with a capital; the name of a track or file stays as it is.
    found = session.discovery is not None
    lines = _lines(track, sure[0].upper() + sure[1:] if found else sure, units)
    said = () if session.discovery is None else session.discovery.evidence
    if start_at is not None:
        # The first says why the line was proposed where it no longer is.
        said = (f"the start/finish line is where the car was at {start_at}", *said[1:])
        said += _renumbered(session.shared_track, track)
    lines += [f"- {one}" for one in said]
    lines += [
        *([""] if said else []),
        *([] if out is None else [f"Written to {out}."]),
        NOT_OFFICIAL,
    ]
    click.echo("\n".join(lines))


def _with_names_of(out: Path, track: Track) -> Track:
    """Keep the names of the file to be replaced; one without a corner stops the command."""
    if out.exists():
        older = read_track(out)
        track, lost = with_names_of(track, older)
        if lost:
            what = f"names {', '.join(map(repr, lost))}, where this circuit has no corner"
            hint = "Give --out another name, or take these corners out of the file first"
            raise OutputError(what, out, hint=hint)
        track = track if track.name or not older.name else track.renamed(older.name)
    return track if track.name else track.renamed(out.stem)


def _started_at(time: str, session: Session, track: Track) -> Track:
    """Return a session's track with the line where the car was at a time."""
    try:
        return start_line_at_time(session.log, time, track)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="'--start-at'") from error


def _renumbered(before: Track, after: Track) -> tuple[str, ...]:
    """Say that corners without a name have other numbers, where they have."""
    if not before.corners or len(before.corners) != len(after.corners):
        return ()
    # Nothing but the line moved, so the order around the circuit is the same.
    ahead = float(before.path.project(*after.start_finish.centre_m)[0]) if before.path else 0.0
    first = next((c.order for c in before.corners if c.apex_m >= ahead), 1)
    if first == 1 or not any(c.name == str(c.order) for c in after.corners):
        return ()
    return (f"corners without a name have new numbers: {first} is now 1",)


def how_sure(session: Session) -> str:
    """Say in words how sure the circuit is."""
    found = session.discovery
    return session.opened_with.why if found is None else found.how_sure


def _lines(track: Track, sure: str, units: Units) -> list[str]:
    name = track.name or UNNAMED
    length = number(units.distance_of(track.length_m))
    if track.length_sd_m is not None:
        length += f" \N{PLUS-MINUS SIGN} {error_bar(units.distance_of(track.length_sd_m), most=1)}"
    count = len(track.corners)
    corners = f"{count} corner{'' if count == 1 else 's'}"
    lines = [f"{name}: {length} {units.distance}, {track.direction}, {corners}", sure]
    if len(track.gate_stations_m) > 1:
        places = ", ".join(
            number(units.distance_of(float(s)), most=0) for s in track.gate_stations_m[1:]
        )
        lines.append(f"Sector lines at {places} {units.distance} from the start/finish line")
    lines.append(f"Pit lane: {'found' if track.pit_lane is not None else 'not found'}")
    rows = [
        [
            str(c.order),
            "" if c.name == str(c.order) else c.name,
            c.direction,
            *(number(units.distance_of(v), most=0) for v in (c.entry_m, c.apex_m, c.exit_m)),
            number(units.distance_of(c.radius_m), most=0),
        ]
        for c in track.corners
    ]
    d = units.distance
    heads = ["corner", "", "", f"entry {d}", f"apex {d}", f"exit {d}", f"radius {d}"]
    return [*lines, "", table(heads, rows, left=[1, 2]), ""]
