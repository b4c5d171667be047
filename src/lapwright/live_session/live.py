"""`live`: a lap while it is being driven, from a receiver or from a log that is replayed."""

import math
import time
from collections.abc import Generator, Iterator
from dataclasses import replace
from pathlib import Path
from types import TracebackType

from lapwright.arguments import checked
from lapwright.errors import LogError
from lapwright.geometry import Track
from lapwright.ingest.map_beside import read_with_map
from lapwright.kept import USUAL, CacheChoice, store_of
from lapwright.kept.store import Store
from lapwright.live_session.events import Event, LapTimed, Learned, Receiving
from lapwright.live_session.forward.known_noise import KnownNoise
from lapwright.live_session.last_time import keep_for_next_time, of_last_time
from lapwright.live_session.learning import Setting
from lapwright.live_session.receiving.epochs import Epochs
from lapwright.live_session.receiving.fixes import Fix, InOrder, fixes_of
from lapwright.live_session.receiving.health import Health
from lapwright.live_session.receiving.intake import Intake
from lapwright.live_session.receiving.recording import Recording
from lapwright.live_session.receiving.sources import source_of
from lapwright.live_session.running import Running
from lapwright.live_session.which_circuit import nearest_track, setting_of
from lapwright.session import open_session

# Sentences of one epoch come in one go; after so long without more it is whole. [s]
_EPOCH_IDLE_S = 0.05
_LOOK_S = 0.25


class LiveSession:
    """
    A session while it is driven; going through it gives what happens, as it happens.

    Attributes
    ----------
    laps : list of LapTimed
        The laps so far, as last known.
    recording : Path or None
        The file in which everything received is kept; None for a replay.
    knows_receiver : bool
        Whether the error bars go by what the last session found out of the same port or address,
        until the laps of this one have shown more.

    Examples
    --------
    >>> import lapwright as lw
    >>> with lw.live("sample_sessions/saturday_qualifying.gpx", replay=0) as session:
    ...     first = next(event for event in session if getattr(event, "best", False))
    >>> first.lap, f"{first.time_s:.1f} s", first.refined
    (1, '95.4 s', False)
    """

    def __init__(
        self, setting: Setting | None, *, intake: Intake | None = None,
        fixes: Iterator[Fix] | None = None, speed: float = 0.0, tracks: Path | None = None,
        recording: Path | None = None, source: str = "", store: Store | None = None,
    ) -> None:  # fmt: skip
        self.recording = recording
        self._source, self._store = source, store
        self._intake, self._replayed, self._speed = intake, fixes, speed
        self._tracks = tracks
        self._at_once = intake is None and speed == 0.0
        self._last_time: KnownNoise | None = None
        if intake is not None and (setting is None or setting.carried is None):
            self._last_time = of_last_time(store, source)
        self.knows_receiver = self._last_time is not None
        self._setting = setting
        self._running = None
        if setting is not None and setting.track.path is not None:
            self._running = self._on(setting)
        self._no_circuit = ""
        self._events: Generator[Event, None, None] = self._go()

    def __iter__(self) -> Iterator[Event]:
        """Go through what happens; each happening is given once."""
        return self._events

    def __enter__(self) -> "LiveSession":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        self.close()

    @property
    def laps(self) -> list[LapTimed]:
        """
        The laps so far, as last known.

        Examples
        --------
        >>> with lw.live("sample_sessions/saturday_qualifying.gpx", replay=0) as live:
        ...     second = next(event for event in live if getattr(event, "lap", 0) == 2)
        >>> [lap.kind for lap in live.laps]
        ['out', 'timed']
        """
        return [] if self._running is None else self._running.laps

    def close(self) -> None:
        """
        End: nothing more is received, and the recording is on the disk.

        Examples
        --------
        >>> live = lw.live("sample_sessions/saturday_qualifying.gpx", replay=0)
        >>> live.close()
        >>> list(live)
        []
        """
        self._events.close()
        if self._intake is not None:
            self._intake.stop()

    def _go(self) -> Generator[Event, None, None]:
        yield from self._replay() if self._intake is None else self._receive(self._intake)
        recorded = "" if self._intake is None else self._intake.recorded
        why = "end of the log" if self._intake is None else "end of the input"
        yield Receiving("ended", why, math.nan, recorded)

    def _replay(self) -> Iterator[Event]:
        begun_s, first_s = time.monotonic(), math.nan
        for fix in self._replayed or ():
            if math.isnan(first_s):
                first_s = fix.time_s
            if self._speed > 0.0:
                due_s = begun_s + (fix.time_s - first_s) / self._speed
                while (wait_s := due_s - time.monotonic()) > 0.0:
                    time.sleep(min(wait_s, _LOOK_S))
                    if wait_s > 2.0 * _LOOK_S:
                        # A hole in the log: the view must see time go by.
                        yield Receiving("nothing", "no fix in the log here", math.nan)
            yield from self._take(fix, again=False)

    def _receive(self, intake: Intake) -> Iterator[Event]:
        epochs, order = Epochs(), InOrder()
        health = Health(epochs, order)
        intake.start()
        while not intake.over:
            piece = intake.take(_EPOCH_IDLE_S if epochs.waiting else _LOOK_S)
            if piece is None:
                fixes = epochs.flush()
                now_s = time.monotonic()
            else:
                now_s = piece[0]
                health.got_bytes(now_s)
                fixes = epochs.feed(piece[1])
            for fix in fixes:
                health.got_fix(fix, now_s, time.monotonic())
                for one, again in order.take(fix):
                    yield from self._take(one, again=again)
                # A long piece is told of on the way too.
                yield from self._tell(health, intake, "")
            # That the source is lost is told when what had come before is taken.
            yield from self._tell(health, intake, intake.why if intake.taken else "")
        for fix in epochs.flush():
            for one, again in order.take(fix):
                yield from self._take(one, again=again)

    def _tell(self, health: Health, intake: Intake, why: str) -> Iterator[Event]:
        told = health.tell(time.monotonic(), why, intake.recorded)
        if told is not None:
            yield self._with_circuit(told)

    def _take(self, fix: Fix, *, again: bool) -> Iterator[Event]:
        if not fix.usable:
            return
        if self._running is None and not self._no_circuit:
            self._look_for_circuit(fix)
        if self._running is None:
            return
        for event in self._running.take(fix, again=again):
            if isinstance(event, Learned) and self._intake is not None:
                keep_for_next_time(self._store, self._source, self._running.engine.known)
            yield event

    def _on(self, setting: Setting) -> Running:
        return Running(replace(setting, last_time=self._last_time), at_once=self._at_once)

    def _look_for_circuit(self, fix: Fix) -> None:
        """Find the circuit by where the car is; what cannot be timed is recorded all the same."""
        track, self._no_circuit = nearest_track(fix.lat_deg, fix.lon_deg, self._tracks)
        if track is not None:
            self._running = self._on(replace(self._setting or Setting(track), track=track))

    def _with_circuit(self, told: Receiving) -> Receiving:
        if self._running is None and self._no_circuit and told.state in ("fixes", "late", "poor"):
            return replace(told, state="no circuit", why=self._no_circuit)
        return told


@checked
def live(
    source: str | Path, *, replay: float | None = None, track: str | Path | Track | None = None,
    tracks: str | Path | None = None, columns: str | Path | None = None,
    reference: str | Path | None = None, reference_lap: int | None = None,
    noise_from: str | Path | None = None, record: str | Path | None = None,
    baud: int | None = None, cache: CacheChoice = USUAL,
) -> LiveSession:  # fmt: skip
    """
    Follow a session while it is driven: lap and sector times, delta, predicted lap time.

    For the crew and for passengers, never for a driver at speed; not official timing.

    Parameters
    ----------
    source : str or path
        ``-`` for standard input, ``tcp://HOST:PORT``, ``udp://HOST:PORT`` or a serial port, each
        with NMEA 0183 sentences; or a log, with ``replay``.
    replay : float, optional
        How many times as fast as it was driven a log is replayed; 0 for as fast as it goes.
    track : path or Track, optional
        The circuit, with its path; else the one of the reference, or the one file beside (in the
        current folder, or the log's) or in the library whose circuit the car is on.
    tracks : path, optional
        The folder of the track library.
    columns : path, optional
        A column map, for a log that is replayed.
    reference : path, optional
        A log of the same circuit whose lap is compared with; else the best lap so far.
    reference_lap : int, optional
        Which lap of it; its best where not given.
    noise_from : path, optional
        A log of the same receiver: its error bars are known from the first lap.  Else they are
        those of the last session from the same port or address, or wide where there was none, and
        found out from the first laps.
    record : path, optional
        Where everything received is written, byte for byte; a name with date and time in the
        current folder where not given.  Never an existing file.  A replay is not recorded.
    baud : int, optional
        Of a serial port; 115200 where not given.
    cache : Store, path or None, optional
        As for `open_session`, of the logs that are read whole; and what is found out of a receiver
        is kept there for the next session.

    Returns
    -------
    LiveSession

    Raises
    ------
    LogError
        If the source is none, or a log cannot be used.
    TrackError
        If the track cannot be used, or has no path and there is no reference to take it from.
    OutputError
        If the recording is there already or cannot be made.
    LapError
        If there is no such reference lap.
    ValueError
        If the replay's speed is negative.

    References
    ----------
    1. R. E. Kalman, "A new approach to linear filtering and prediction problems", Journal of Basic
       Engineering 82 (1960) 35-45: the filter; the model is that of `Session.motion`.
    2. B. D. O. Anderson and J. B. Moore, "Optimal Filtering", Prentice-Hall, 1979, sec. 7.2: how
       the moments at the lines are smoothed by the fixes that follow (from memory).

    Examples
    --------
    >>> import lapwright as lw
    >>> with lw.live("sample_sessions/saturday_qualifying.gpx", replay=0) as session:
    ...     sectors = (one for one in session if type(one).__name__ == "SectorTimed")
    ...     first = next(sector for sector in sectors if sector.lap == 1)
    >>> first.sector, f"{first.time_s:.1f} s", first.refined
    (1, '24.9 s', False)
    """
    library = None if tracks is None else Path(tracks)
    if replay is not None:
        if not replay >= 0.0:
            msg = f"a replay's speed is 0 (as fast as it goes) or more, not {replay}"
            raise ValueError(msg)
        if record is not None:
            what = "a replay is not recorded: the log is there"
            raise LogError(what, source, hint="Leave the recording out")
        if track is None and reference is None:
            opened = open_session(source, tracks=library, columns=columns, cache=cache)
            track, log = opened.shared_track, opened.log
        else:
            log, _ = read_with_map(source, columns, store_of(cache))
        setting = setting_of(track, library, reference, reference_lap, noise_from, cache)
        return LiveSession(setting, fixes=fixes_of(log), speed=replay, tracks=library)
    opened_source = source_of(str(source), baud)
    setting = setting_of(track, library, reference, reference_lap, noise_from, cache)
    recording = Recording(None if record is None else Path(record))
    return LiveSession(
        setting, intake=Intake(opened_source, recording), tracks=library,
        recording=recording.path, source=str(source), store=store_of(cache),
    )  # fmt: skip
