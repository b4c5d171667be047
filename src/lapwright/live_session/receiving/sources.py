"""
Where bytes come from: standard input, a serial port, TCP or UDP.

A source is opened again for as long as it takes: a cable comes loose, a box is switched on late.
What cannot ever work - an address that is none, a missing package - is an error at once.
"""

import contextlib
import os
import re
import select
import socket
import sys
import time
from abc import ABC, abstractmethod
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import urlsplit

from lapwright.errors import LogError

_AT_ONCE = 65_536
# So long a read waits; the end of a session is noticed as late as that. [s]
WAIT_S = 0.2
# Between two tries to open a source. [s]
RETRY_S = 1.0
# A connection that is made within this is not going to be made. [s]
_CONNECT_S = 3.0
_SERIAL_NAME = re.compile(r"COM\d+$", re.IGNORECASE)
_BAUD = 115_200
_HELP = (
    "Give - for standard input, tcp://HOST:PORT, udp://HOST:PORT, a serial port such as "
    "/dev/ttyUSB0 or COM3, or a log with --replay 1"
)


class SourceEndedError(Exception):
    """Nothing more will ever come; not an error for a person."""


class Source(Protocol):
    """Bytes as they come."""

    @property
    def why(self) -> str:
        """Why nothing comes, in words; empty while it is open."""

    def read(self) -> bytes:
        """Whatever has come; empty after a short wait in which nothing did."""

    def close(self) -> None:
        """Let go of it."""


class StandardInput:
    """Standard input; its end is the end."""

    why = ""

    def __init__(self) -> None:
        self._file = sys.stdin.fileno()

    def read(self) -> bytes:
        """Read what has come."""
        # Windows waits for sockets only; there a read lasts until something comes.
        if os.name == "posix" and not select.select([self._file], [], [], WAIT_S)[0]:
            return b""
        data = os.read(self._file, _AT_ONCE)
        if not data:
            raise SourceEndedError
        return data

    def close(self) -> None:
        """Leave it to whoever gave it."""


@dataclass(eq=False)
class Reopened(ABC):
    """
    A source that is opened again whenever it is lost.

    Attributes
    ----------
    name : str
        For people.
    why : str
        Why it is not open; empty while it is.
    """

    name: str
    why: str = "not opened yet"
    _open: Any = None
    _tried_s: float = field(default=-RETRY_S)

    def read(self) -> bytes:
        """Read what has come, after opening it where it is not open."""
        if self._open is None and not self._opened():
            time.sleep(WAIT_S)
            return b""
        try:
            return self._take()
        except TimeoutError:
            return b""
        except OSError as error:
            self._lost(str(error.strerror or error))
            return b""

    def close(self) -> None:
        """Let go of it."""
        if self._open is not None:
            with contextlib.suppress(OSError):
                self._open.close()
            self._open = None

    def _lost(self, why: str) -> None:
        self.close()
        self.why = f"{self.name}: {why}; trying again"

    def _opened(self) -> bool:
        if time.monotonic() - self._tried_s < RETRY_S:
            return False
        self._tried_s = time.monotonic()
        try:
            self._open = self.open_it()
        except OSError as error:
            self._lost(str(error.strerror or error))
            return False
        self.why = ""
        return True

    @abstractmethod
    def open_it(self) -> Any:
        """Open it once."""

    @abstractmethod
    def _take(self) -> bytes:
        """Read what has come."""


@dataclass(eq=False)
class Tcp(Reopened):
    """A TCP connection that is made from here."""

    host: str = ""
    port: int = 0

    def open_it(self) -> socket.socket:
        """Connect."""
        connected = socket.create_connection((self.host, self.port), timeout=_CONNECT_S)
        connected.settimeout(WAIT_S)
        connected.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        return connected

    def _take(self) -> bytes:
        data: bytes = self._open.recv(_AT_ONCE)
        if not data:
            self._lost("the other side hung up")
        return data


@dataclass(eq=False)
class Udp(Reopened):
    """Datagrams that are sent to a port here."""

    host: str = ""
    port: int = 0

    def open_it(self) -> socket.socket:
        """Listen."""
        family = socket.AF_INET6 if ":" in self.host else socket.AF_INET
        listening = socket.socket(family, socket.SOCK_DGRAM)
        try:
            listening.bind((self.host, self.port))
        except OSError:
            listening.close()
            raise
        listening.settimeout(WAIT_S)
        return listening

    def _take(self) -> bytes:
        data: bytes = self._open.recv(_AT_ONCE)
        return data


@dataclass(eq=False)
class Serial(Reopened):
    """A serial port."""

    baud: int = _BAUD
    serial: Any = None

    def open_it(self) -> Any:
        """Open the port."""
        return self.serial.Serial(self.name, self.baud, timeout=WAIT_S, exclusive=None)

    def _take(self) -> bytes:
        # One byte is waited for, and what came with it is taken along.
        first: bytes = self._open.read(1)
        rest: bytes = self._open.read(self._open.in_waiting) if first else b""
        return first + rest


def source_of(text: str, baud: int | None = None) -> Source:
    """
    Return the source that a text names; it is opened when it is first read.

    Parameters
    ----------
    text : str
        ``-``, ``tcp://HOST:PORT``, ``udp://HOST:PORT``, or a serial port.
    baud : int, optional
        Of a serial port; 115200 where not given.

    Returns
    -------
    Source

    Raises
    ------
    LogError
        If it names none, or a serial port's package is not installed.
    """
    if text == "-":
        return StandardInput()
    scheme, there, _ = text.partition("://")
    if there:
        return _by_network(text, scheme.lower())
    path = Path(text)
    if _SERIAL_NAME.match(text) or text.startswith("/dev/") or path.is_char_device():
        return Serial(text, baud=baud or _BAUD, serial=_serial_package(text))
    if path.exists():
        what = "is a file, not a source of fixes that come now"
        raise LogError(what, text, hint="To replay it give --replay 1 (real time) or --replay max")
    what = "is not a known source"
    raise LogError(what, text, hint=_HELP)


def _by_network(text: str, scheme: str) -> Source:
    try:
        parts = urlsplit(text)
        host, port = parts.hostname, parts.port
    except ValueError:
        host = port = None
    if scheme not in ("tcp", "udp") or not host or not port or parts.path.strip("/"):
        what = "is not the address of a source"
        raise LogError(what, text, hint=_HELP)
    kind = Tcp if scheme == "tcp" else Udp
    return kind(text, host=host, port=port)


def _serial_package(text: str) -> Any:
    try:
        import serial
    except ImportError as error:
        what = "a serial port needs the package pyserial"
        hint = 'Run: pip install "lapwright[live]"'
        raise LogError(what, text, hint=hint) from error
    return serial
