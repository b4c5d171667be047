"""The options that commands share, said once."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

import click

from lapwright.cli.printing.progress import Progress
from lapwright.kept import USUAL, Usual
from lapwright.units import Units

F = TypeVar("F", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class Choice:
    """
    How a log is to be read and shown.

    Attributes
    ----------
    track : Path or None
        A track file.
    tracks : Path or None
        The folder of the track library.
    columns : Path or None
        A column map.
    units : Units or None
        None where not said.
    repeat_line : bool
        Whether the line that the driver repeats is used as a sensor.
    as_json : bool
    cache : `USUAL` or None
        Where results are kept; None to work everything out again.
    progress : Progress
        Where to say what is being done.
    """

    track: Path | None = None
    tracks: Path | None = None
    columns: Path | None = None
    units: Units | None = None
    repeat_line: bool = True
    as_json: bool = False
    cache: Usual | None = USUAL
    progress: Progress = field(default_factory=Progress, compare=False)


class UnitsType(click.ParamType):  # type: ignore[type-arg]  # not generic in 8.2
    """Units as people type them."""

    name = "units"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> Units:
        """Read them, or say which ones there are."""
        if isinstance(value, Units):
            return value
        try:
            return Units.parse(str(value))
        except ValueError as error:
            self.fail(str(error), param, ctx)


def log_argument(function: F) -> F:
    """Add the argument LOG."""
    return click.argument("log", type=click.Path(path_type=Path))(function)


def track_options(function: F) -> F:
    """Add the options that say what circuit it is and how the log is read."""
    for option in (
        click.option(
            "--json", "as_json", is_flag=True, help="One JSON object on stdout, in SI units."
        ),
        click.option(
            "--repeat-line",
            type=click.Choice(["on", "off"]),
            default="on",
            show_default=True,
            help="Use the line you repeat lap after lap to correct the receiver's drift.",
        ),
        click.option(
            "--no-cache",
            is_flag=True,
            help="Work everything out again: neither use nor keep results of earlier runs.",
        ),
        # What the option was called first; goes with version 0.3.
        click.option("--road", type=click.Choice(["on", "off"]), hidden=True),
        click.option(
            "--units",
            type=UnitsType(),
            metavar="UNITS",
            help="km/h, mph or m/s; with feet: mph,ft. The first choice is remembered in "
            "lapwright.toml.",
        ),
        click.option(
            "--columns",
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="A column map, for a CSV log whose header Lapwright cannot read.",
        ),
        click.option(
            "--tracks",
            type=click.Path(path_type=Path),
            metavar="DIR",
            help="A folder of track files to look the circuit up in.",
        ),
        click.option(
            "--track",
            type=click.Path(path_type=Path),
            metavar="FILE",
            help="The track file (default: one beside the log or in the library that fits, or the "
            "circuit as found in the log).",
        ),
    ):
        function = option(function)
    return function


def choice_of(options: dict[str, Any]) -> Choice:
    """Gather the shared options of a command."""
    return Choice(
        options["track"], options["tracks"], options["columns"], options["units"],
        (options["road"] or options["repeat_line"]) == "on", options["as_json"],
        None if options["no_cache"] else USUAL,
        Progress(silent=options["as_json"]),
    )  # fmt: skip
