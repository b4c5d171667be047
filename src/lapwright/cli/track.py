"""`lapwright track LOG`: the circuit a log was driven on, its names, and where it is kept."""

from pathlib import Path
from typing import Any

import click

from lapwright.cli.options import Choice, choice_of, track_options
from lapwright.cli.printing import say
from lapwright.cli.printing.json_out import write_json
from lapwright.cli.printing.objects import track_object
from lapwright.cli.printing.terminal import write_out
from lapwright.cli.printing.track_text import track_lines
from lapwright.cli.tracks.keeping import Asked, Kept, keep
from lapwright.cli.tracks.listing import circuit_objects, listing
from lapwright.cli.tracks.map_file import write_map
from lapwright.cli.tracks.names import corner_names, tidy_name
from lapwright.cli.tracks.seen import Seen, seen_in_file, seen_in_log
from lapwright.discovery import library_folder
from lapwright.discovery.library.keep import library_circuits, remove_from_library
from lapwright.discovery.library.track_folders import check_library
from lapwright.outputs import check_ending, check_targets
from lapwright.units import Units
from lapwright.wording.cautions import NOT_OFFICIAL
from lapwright.wording.terms import sentence

_WHICH = "Give a LOG, or a track file with --track, or --list"


@click.command("track")
@click.argument("log", type=click.Path(path_type=Path), required=False)
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE.geojson",
    help="Write the circuit, complete, to a track file.",
)  # fmt: skip
@click.option(
    "--save", is_flag=True,
    help="Keep the circuit in the track library, where every later log of it finds it.",
)  # fmt: skip
@click.option("--name", metavar="NAME", help="What the circuit is called.")
@click.option(
    "--name-corner", multiple=True, metavar="NUMBER=NAME",
    help="What a corner is called (3=Hatch); may be given several times. 3= takes a name away.",
)  # fmt: skip
@click.option(
    "--map", "map_file", type=click.Path(path_type=Path), metavar="FILE",
    help="Draw a map with numbered corners, lines, pit lane and direction: FILE.svg or FILE.png.",
)  # fmt: skip
@click.option(
    "--start-at", metavar="TIME",
    help="Put the start/finish line where the car was then: seconds from the start of the log, "
    "minutes and seconds with decimals (2:31.8), a clock time (UTC where the log has a date), "
    "or an ISO date and time.",
)  # fmt: skip
@click.option("--list", "as_list", is_flag=True, help="List the track library.")
@click.option(
    "--remove", metavar="NAME",
    help="Take a circuit out of the track library; its file is kept in a folder 'removed' there.",
)  # fmt: skip
@track_options
def command(
    log: Path | None, out: Path | None, save: bool, name: str | None, name_corner: tuple[str, ...],
    map_file: Path | None, start_at: str | None, as_list: bool, remove: str | None, **options: Any,
) -> None:  # fmt: skip
    """
    Show the circuit LOG was driven on; name its corners, draw it, keep it.

    Without LOG, the circuit of the track file given with --track.
    """
    choice = choice_of(options)
    if as_list or remove is not None:
        if log or out or save or name or name_corner or map_file or start_at or choice.track:
            msg = "--list and --remove stand alone, with --tracks if need be"
            raise click.UsageError(msg)
        _library(choice, remove)
        return
    if log is None and (choice.track is None or start_at is not None):
        raise click.UsageError(_WHICH if choice.track is None else "--start-at needs a LOG")
    if save and out is not None:
        msg = "Give --save or --out, not both"
        raise click.UsageError(msg)
    title = None if name is None else tidy_name(name, "'--name'")
    asked = Asked(title, corner_names(name_corner), out, save, choice.tracks)
    check_targets([out, map_file], [log, choice.columns])
    check_ending(out, (".geojson", ".json"))
    check_ending(map_file, (".svg", ".png"))
    folder = (log or choice.track or Path()).parent
    units = say.units_for(choice.units, folder, as_json=choice.as_json)
    if log is not None:
        seen = seen_in_log(log, choice, start_at, to_file=save or out is not None)
    else:
        assert choice.track is not None
        seen = seen_in_file(choice.track)
    kept = keep(seen, asked)
    if kept.file is None and (title or name_corner):
        say.note("the names are not kept; add --save, or --out FILE.geojson")
    if save and log is not None and _beside(seen.came_from, log, kept):
        assert seen.came_from is not None
        say.note(
            f"{seen.came_from.name} beside the log comes before the library for the logs there; "
            "with --out it is changed as well"
        )
    for one in () if map_file is None else write_map(kept.track, map_file, units):
        say.note(one)
    if choice.as_json:
        write_json(**_object(seen, kept, map_file, save=save))
        return
    write_out("\n".join(_text(seen, kept, map_file, units, save=save)))


def _library(choice: Choice, remove: str | None) -> None:
    """List the library, or take a circuit out of it."""
    if choice.tracks is not None:
        check_library(choice.tracks)
    removed = None if remove is None else remove_from_library(remove, choice.tracks)
    place, known = library_folder(choice.tracks), library_circuits(choice.tracks)
    if choice.as_json:
        gone = None if removed is None else str(removed[1])
        write_json(library=str(place), circuits=circuit_objects(known), removed=gone)
        return
    if removed is not None:
        old, new = removed
        write_out(f"Taken out of the track library: {old.name}. It is kept as {new}")
        return
    units = say.units_for(choice.units, Path(), as_json=False)
    write_out("\n".join(listing(known, place, units)))


def _beside(came_from: Path | None, log: Path, kept: Kept) -> bool:
    """Whether the logs of a folder will go by another file than the one that was saved."""
    if came_from is None or kept.file is None or came_from.samefile(kept.file):
        return False
    return came_from.parent.samefile(log.parent)


def _object(seen: Seen, kept: Kept, map_file: Path | None, *, save: bool) -> dict[str, Any]:
    track, file = kept.track, None if kept.file is None else str(kept.file)
    return {
        "track": {
            **track_object(track),
            "sectors": [[list(p) for p in line] for line in track.sectors_deg],
            "pit_lane": track.pit_lane is not None,
            "corner_names": [corner.name for corner in track.corners],
        },
        "how_sure": seen.how_sure,
        "out": None if save else file,
        "saved": file if save else None,
        "map": None if map_file is None else str(map_file),
    }


def _text(seen: Seen, kept: Kept, map_file: Path | None, units: Units, *, save: bool) -> list[str]:
    # A sentence of ours begins with a capital; the name of a track or file stays as it is.
    found = seen.session is not None and seen.session.discovery is not None
    lines = track_lines(kept.track, sentence(seen.how_sure) if found else seen.how_sure, units)
    lines += [f"- {one}" for one in seen.evidence]
    lines += [""] if seen.evidence else []
    if kept.file is not None:
        lines.append(f"{'Saved in the track library as' if save else 'Written to'} {kept.file}.")
    if kept.replaced:
        lines.append(f"It takes the place of {kept.replaced!r} there, the same circuit.")
    lines += [] if map_file is None else [f"Map: {map_file}."]
    return [*lines, NOT_OFFICIAL]
