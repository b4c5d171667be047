"""
A command that is stopped: it tidies up, says so on one line and ends with the status of the signal.

By default a process that is told to end does so on the spot, and the file it was writing is left
behind half done.  Here both Ctrl-C and the signals of a system that shuts down, or of a terminal
that is closed, unwind what is under way.
"""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

# As shells count: 128 and the number of the signal.
INTERRUPTED = 128 + signal.SIGINT
# Not all systems have them all.
_ENDING = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name))


@contextmanager
def stops_cleanly() -> Iterator[None]:
    """Answer signals by unwinding, and once that is done by ending on the spot."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    # What was ignored on purpose, as by `nohup`, stays ignored.
    ours = [one for one in _ENDING if signal.getsignal(one) is signal.SIG_DFL]
    for one in ours:
        signal.signal(one, _end)
    if signal.getsignal(signal.SIGINT) is signal.SIG_DFL:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        ours.append(signal.SIGINT)
    elif signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        ours.append(signal.SIGINT)
    try:
        yield
    finally:
        # What is left is keeping results for the next run: nothing of it needs to be finished.
        for one in ours:
            signal.signal(one, signal.SIG_DFL)


def _end(number: int, _frame: FrameType | None) -> None:
    # A second one, of a shell that is impatient, would break off the tidying up.
    signal.signal(number, signal.SIG_IGN)
    raise SystemExit(128 + number)
