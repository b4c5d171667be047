"""From a source to its recording and on: a thread of its own, so that nothing waits for a view."""

import queue
import threading
import time

from lapwright.live_session.receiving.recording import Recording
from lapwright.live_session.receiving.sources import Source, SourceEndedError

# A view that is stuck for minutes loses the oldest pieces; the recording never does.
_MOST_PIECES = 20_000


class Intake:
    """
    Reads a source, records what comes, and hands it on.

    Parameters
    ----------
    source : Source
    recording : Recording or None

    Attributes
    ----------
    ended : bool
        Whether nothing more will come.
    skipped : int
        Pieces that the view was too slow for.
    """

    def __init__(self, source: Source, recording: Recording | None) -> None:
        self._source, self._recording = source, recording
        self._pieces: queue.Queue[tuple[float, bytes]] = queue.Queue(_MOST_PIECES)
        self._stop = threading.Event()
        self.ended = False
        self.skipped = 0
        self._thread = threading.Thread(target=self._run, name="intake", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def take(self, wait_s: float) -> tuple[float, bytes] | None:
        """Return when a piece came [s, monotonic] and what it is; None where none came."""
        try:
            return self._pieces.get(timeout=wait_s)
        except queue.Empty:
            return None

    @property
    def over(self) -> bool:
        """Whether all is taken and nothing more will come."""
        return self.ended and self.taken

    @property
    def taken(self) -> bool:
        """Whether all that has come is taken."""
        return self._pieces.empty()

    @property
    def why(self) -> str:
        """Why nothing comes, in words; empty where it is not known."""
        return self._source.why

    @property
    def recorded(self) -> str:
        """Where the recording goes, and what is wrong with it."""
        recording = self._recording
        if recording is None:
            return ""
        if recording.why:
            return f"NOT RECORDING: {recording.why} ({recording.path.name})"
        return f"recording to {recording.path.name}"

    def stop(self) -> None:
        """End, and close source and recording; what was received is in the file by then."""
        self._stop.set()
        self._thread.join(timeout=2.0)
        self._source.close()
        if self._recording is not None:
            self._recording.close()

    def _run(self) -> None:
        try:
            while not self._stop.is_set():
                data = self._source.read()
                if not data:
                    continue
                if self._recording is not None:
                    self._recording.write(data)
                self._hand_on(data)
        except (SourceEndedError, ValueError):
            # A closed source: the end, whoever closed it.
            pass
        finally:
            self.ended = True

    def _hand_on(self, data: bytes) -> None:
        piece = time.monotonic(), data
        while True:
            try:
                self._pieces.put_nowait(piece)
            except queue.Full:
                self.skipped += 1
                try:
                    self._pieces.get_nowait()
                except queue.Empty:
                    continue
            else:
                return
