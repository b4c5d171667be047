"""What is in the track library, as a table or as objects."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from lapwright.cli.printing.table import table
from lapwright.cli.printing.worth_text import wrapped
from lapwright.discovery.library.keep import LibraryCircuit
from lapwright.geometry import Track
from lapwright.units import Units, error_bar, number

_LINES_ONLY = "only its lines"


def circuit_objects(known: Sequence[LibraryCircuit]) -> list[dict[str, Any]]:
    """
    Return the circuits of the library, one object each.

    Parameters
    ----------
    known : sequence of LibraryCircuit

    Returns
    -------
    list of dict
        What a file with only the lines, or one that cannot be used, does not say is None.
    """
    return [
        {
            "file": str(one.file), "name": one.name, "direction": one.track and one.track.direction,
            "length_m": _length_m(one.track), "length_sd_m": one.track and one.track.length_sd_m,
            "corner_names": None if one.track is None else [c.name for c in one.track.corners],
            "broken": one.broken or None,
        }
        for one in known
    ]  # fmt: skip


def listing(known: Sequence[LibraryCircuit], place: Path, units: Units) -> list[str]:
    """
    Write the circuits of the library as a table.

    Parameters
    ----------
    known : sequence of LibraryCircuit
    place : Path
        The library.
    units : Units

    Returns
    -------
    list of str
    """
    if not known:
        return [
            f"No circuit in the track library, {place}",
            "To save one: lapwright track LOG --name NAME --save",
        ]
    rows = [_row(one, one.track, units) for one in known if one.track is not None]
    d = units.distance
    heads = [
        "circuit",
        f"length {d}",
        "\N{PLUS-MINUS SIGN}",
        "direction",
        "corners",
        "named",
        "file",
    ]
    lines = [f"Track library: {place}", ""]
    lines += [table(heads, rows, left=[0, 3, 6])] if rows else []
    broken = [one.broken for one in known if one.broken]
    return [*lines, *([""] if broken else []), *(line for b in broken for line in wrapped(b))]


def _row(one: LibraryCircuit, track: Track, units: Units) -> list[str]:
    length_m, sd_m = _length_m(track), track.length_sd_m
    if length_m is None:
        return [one.name, "", "", _LINES_ONLY, "", "", one.file.name]
    sd = float("nan") if sd_m is None else units.distance_of(sd_m)
    named = sum(bool(c.given_name) for c in track.corners)
    return [
        one.name, number(units.distance_of(length_m), sd), error_bar(sd, most=1),
        track.direction or "", str(len(track.corners)), str(named), one.file.name,
    ]  # fmt: skip


def _length_m(track: Track | None) -> float | None:
    return None if track is None or track.path is None else track.length_m
