"""
The command line: files in, tables for people or one JSON object for programs out.

Each command is a module of its own, imported only when it is called: reading tables needs pandas,
which takes longer to import than most logs take to read, and ``lapwright --help`` needs none of
it.  This is the one place where the package imports by name; `tests/test_rooms.py` knows it.
"""

import gc
import os
import sys
from importlib import import_module
from typing import Any

import click

from lapwright._version import __version__
from lapwright.cli.printing.terminal import safe_errors, write_err
from lapwright.cli.running.failing import one_line, shows_any_name
from lapwright.cli.running.stopping import INTERRUPTED, stops_cleanly
from lapwright.errors import LapwrightError

# Command -> (module, what `lapwright --help` says about it).
COMMANDS = {
    "debrief": ("lapwright.cli.debrief", "One screen between two sessions: what to try next."),
    "laps": ("lapwright.cli.laps", "Laps and sectors of a log, with their error bars."),
    "compare": ("lapwright.cli.compare", "Where the time goes between two laps."),
    "corners": ("lapwright.cli.corners", "Corner by corner: speeds, braking, time through."),
    "race": ("lapwright.cli.race", "Start, first lap, stints, pit stops; gap to another car."),
    "track": ("lapwright.cli.track", "The circuit of a log: name its corners, draw it, keep it."),
    "check": ("lapwright.cli.check", "How a log was read, and what is odd in it."),
    "align": ("lapwright.cli.align", "Two logs of one car (phone and logger) on one clock."),
    "report": ("lapwright.cli.report", "The coach's report: one HTML file, a PDF, tables."),
    "captions": ("lapwright.cli.captions", "Captions for an on-board video: lap, delta, speed."),
    "live": ("lapwright.cli.live.command", "How this lap is going, while it is driven; records."),
    "weekend": ("lapwright.cli.weekend", "Every log of a folder, in one table of all laps."),
}

EPILOG = (
    "Not official timing. For closed circuits only; the event's regulations, the scrutineers and "
    "your own judgement come first."
)


class Commands(click.Group):
    """Commands that are imported when called, and errors that fit on one line."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names, in the order in which a racer needs them."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a command."""
        if cmd_name not in COMMANDS:
            return None
        # The matrices here are small: several threads of linear algebra cost more than they give.
        # Read when numpy is loaded, so it has to be said before.
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        command = import_module(COMMANDS[cmd_name][0]).command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])

    def make_context(self, *args: Any, **options: Any) -> click.Context:
        """Read the arguments before the command."""
        with safe_errors():
            return super().make_context(*args, **options)

    def invoke(self, ctx: click.Context) -> object:
        """Run a command; what cannot be used is one line on stderr and exit status 1."""
        shows_any_name()
        try:
            with safe_errors():
                return super().invoke(ctx)
        except BrokenPipeError:
            raise
        except (LapwrightError, OSError, MemoryError) as error:
            write_err(f"lapwright: {one_line(error)}")
            ctx.exit(1)
        except (KeyboardInterrupt, click.Abort):
            # What a terminal shows of the keys stands on a line of its own.
            new_line = "\n" if sys.stderr is not None and sys.stderr.isatty() else ""
            write_err("lapwright: stopped", new_line)
            ctx.exit(INTERRUPTED)


@click.group(cls=Commands, epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="lapwright")
def cli() -> None:
    """Laps, delta, corner speeds and a coach's report from the log of a car on a circuit."""


def main() -> None:
    """Run the command line."""
    # What is imported stays: looked through for garbage time and again, it costs a tenth of it.
    gc.set_threshold(50_000, 20, 20)
    with stops_cleanly():
        cli(prog_name="lapwright")
