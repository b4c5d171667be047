"""`lapwright live SOURCE`: how this lap is going, for the crew, while it is being driven."""

import math
import os
import sys
import time
from pathlib import Path
from typing import Any

import click

from lapwright.cli.live.board import Board
from lapwright.cli.live.event_text import EventText
from lapwright.cli.live.json_events import event_object
from lapwright.cli.live.page import DEFAULT, Page
from lapwright.cli.live.terminal import Terminal, is_screen
from lapwright.cli.options import UnitsType
from lapwright.cli.printing import say
from lapwright.cli.printing.terminal import write_out, write_out_json
from lapwright.kept import USUAL
from lapwright.live_session.events import Event, LapGoing
from lapwright.live_session.live import LiveSession, live
from lapwright.wording.cautions import NOT_OFFICIAL
from lapwright.wording.live import CREW_ONLY

# Redrawn no more often: an eye at two metres reads no quicker. [s]
_DRAW_S, _PAGE_S = 0.2, 0.2


class ReplaySpeed(click.ParamType):  # type: ignore[type-arg]  # not generic in 8.2
    """How many times as fast as it was driven."""

    name = "speed"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read a number, or ``max``."""
        if str(value).lower() == "max":
            return 0.0
        try:
            speed = float(value)
        except ValueError:
            speed = math.nan
        if not 0.0 <= speed < math.inf:
            self.fail("give a number, 1 for real time, or max for as fast as it goes", param, ctx)
        return speed


@click.command("live")
@click.argument("source")
@click.option(
    "--replay", type=ReplaySpeed(), metavar="SPEED",
    help="SOURCE is a log: replay it, 1 in real time, max as fast as it goes.",
)  # fmt: skip
@click.option(
    "--track", type=click.Path(path_type=Path), metavar="FILE",
    help="The track file, with its path (default: that of the reference, or the one in this "
    "folder or the library whose circuit the car is on).",
)  # fmt: skip
@click.option(
    "--tracks", type=click.Path(path_type=Path), metavar="DIR",
    help="A folder of track files to look the circuit up in.",
)  # fmt: skip
@click.option(
    "--columns", type=click.Path(path_type=Path), metavar="FILE",
    help="With --replay: a column map for a CSV log.",
)  # fmt: skip
@click.option(
    "--reference", type=click.Path(path_type=Path), metavar="LOG",
    help="Compare with the best lap of LOG (default: the best lap so far).",
)  # fmt: skip
@click.option("--reference-lap", type=int, metavar="LAP", help="With --reference: this lap of it.")
@click.option(
    "--noise-from", type=click.Path(path_type=Path), metavar="LOG",
    help="A log of the same receiver; the error bars are right from the first lap on. Without it "
    "they are those of the last time from the same port or address, or wide, until a lap or two "
    "show them.",
)  # fmt: skip
@click.option(
    "--record", type=click.Path(path_type=Path), metavar="FILE",
    help="Where everything received is kept (default: a new name with date and time, in the "
    "current folder). Never overwrites.",
)  # fmt: skip
@click.option(
    "--baud", type=click.IntRange(min=1), metavar="RATE",
    help="Of a serial port (default: 115200).",
)  # fmt: skip
@click.option(
    "--page", is_flag=False, flag_value=DEFAULT, metavar="[ADDRESS:PORT]",
    help=f"Also a page for a phone at the wall (default: {DEFAULT}, this computer alone). For "
    "another address the link holds a random token.",
)  # fmt: skip
@click.option(
    "--json", "as_json", is_flag=True, help="One JSON object a line on stdout, in SI units."
)
@click.option(
    "--no-cache", is_flag=True,
    help="Read reference and noise log again: neither use nor keep results of earlier runs.",
)  # fmt: skip
@click.option("--units", type=UnitsType(), metavar="UNITS", help="km/h, mph or m/s.")
def command(
    source: str, replay: float | None, page: str | None, as_json: bool, units: Any,
    no_cache: bool, **options: Any,
) -> None:  # fmt: skip
    """
    Follow the lap that is being driven: lap and sector times, delta, predicted lap time.

    SOURCE is - (standard input), tcp://HOST:PORT, udp://HOST:PORT or a serial port, with NMEA 0183
    sentences; or a log, with --replay. For the crew and for passengers, only where the event allows
    it; never for the driver at speed.
    """
    folder = Path(source).parent if replay is not None else Path()
    chosen = say.units_for(units, folder, as_json=as_json)
    # The page first: a port that is taken must not cost a recording.
    shown = None if page is None else Page(page)
    try:
        cache = None if no_cache else USUAL
        session = live(source, replay=replay, cache=cache, **options)
    except BaseException:
        if shown is not None:
            shown.stop()
        raise
    if not as_json:
        say.note(f"{CREW_ONLY} {NOT_OFFICIAL}")
    if session.recording is not None:
        say.note(f"recording to {session.recording}")
    if session.knows_receiver:
        say.note(f"error bars as last time on {source}, until the laps of this session show more")
    if shown is not None:
        say.note(f"page: {shown.link}")
    views = Views(Board(chosen), shown, as_json=as_json)
    with session:
        try:
            views.follow(session)
        except KeyboardInterrupt:
            # How a session ends: the car is in.
            session.close()
        finally:
            views.end()
    if session.recording is not None:
        say.note(f"recorded: {session.recording}")


class Views:
    """All that shows what happens; one that fails does not stop the rest, nor the recording."""

    def __init__(self, board: Board, page: Page | None, *, as_json: bool) -> None:
        self._board, self._page, self._as_json = board, page, as_json
        self._screen = Terminal(sys.stdout) if is_screen() and not as_json else None
        self._text = EventText()
        self._drawn_s = self._paged_s = -math.inf
        self._broken = False

    def follow(self, session: LiveSession) -> None:
        """Show what happens until it ends."""
        for event in session:
            now_s = time.monotonic()
            self._board.take(event, now_s)
            if not self._broken:
                try:
                    self._show(event, now_s)
                except OSError:
                    self._give_up()
                    if session.recording is None:
                        return
            if self._page is not None and now_s - self._paged_s >= _PAGE_S:
                self._paged_s = now_s
                self._page.show(self._board.shown(now_s))

    def end(self) -> None:
        """Leave terminal and page as they should be left."""
        if self._page is not None:
            self._page.show(self._board.shown(time.monotonic()))
            self._page.stop()
        if self._screen is not None and not self._broken:
            self._screen.draw(self._board.shown(time.monotonic()))
            self._screen.end()

    def _show(self, event: Event, now_s: float) -> None:
        if self._as_json:
            write_out_json(event_object(event))
        elif self._screen is None:
            line = self._text.line(event)
            if line is not None:
                write_out(line)
        elif now_s - self._drawn_s >= _DRAW_S or not isinstance(event, LapGoing):
            self._drawn_s = now_s
            self._screen.draw(self._board.shown(now_s))

    def _give_up(self) -> None:
        """Whoever read stdout is gone; the car is still being driven."""
        self._broken = True
        say.note("nothing reads the output any more; the recording goes on")
        # Python writes what is left at its end, and would fail again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
