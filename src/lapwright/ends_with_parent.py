"""
A process that ends with the one that started it, however that one ends.

It holds one end of a pipe whose other end only its parent has: when the parent is gone, the pipe
closes.  This stands apart from all rooms, because a new process imports it before anything else,
and what is imported before it is watched by nobody.
"""

import os
import signal
import threading
from multiprocessing.connection import Connection


def end_with_parent(ends: "Connection[object, object]") -> None:
    """
    Watch a pipe, and end this process when it closes.

    Parameters
    ----------
    ends : Connection
        The end to read from; nothing is ever written to the other.
    """
    # Ctrl-C reaches every process of a terminal; the one that started this one answers it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # The others were put off until somebody watches.
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGTERM, signal.SIGHUP})

    def watch() -> None:
        ends.poll(None)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
