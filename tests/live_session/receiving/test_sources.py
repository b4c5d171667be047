"""Sources on this machine: loopback addresses and a pseudo-terminal; nothing leaves it."""

import builtins
import os
import socket
import sys
import time
from pathlib import Path
from typing import Any

import pytest

import lapwright as lw
from lapwright.live_session.receiving.sources import (
    Source,
    SourceEndedError,
    StandardInput,
    source_of,
)


def read(source: Source, count: int, within_s: float = 10.0) -> bytes:
    """Read until so many bytes have come."""
    data, end = b"", time.monotonic() + within_s
    while len(data) < count and time.monotonic() < end:
        data += source.read()
    return data


def test_tcp_is_made_again_when_the_other_side_hangs_up() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        source = source_of(f"tcp://127.0.0.1:{port}")
        for words in (b"first", b"again"):
            assert source.read() == b"" or words == b"first"
            end = time.monotonic() + 10.0
            server.settimeout(0.05)
            while time.monotonic() < end:
                source.read()
                try:
                    other, _ = server.accept()
                    break
                except TimeoutError:
                    continue
            other.sendall(words)
            assert read(source, len(words)) == words
            assert source.why == ""
            other.close()
            end = time.monotonic() + 5.0
            while not source.why and time.monotonic() < end:
                source.read()
            assert "hung up; trying again" in source.why
        source.close()


def test_a_box_that_is_not_on_yet_is_waited_for() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    source = source_of(f"tcp://127.0.0.1:{port}")
    assert source.read() == b""
    assert source.why.startswith(f"tcp://127.0.0.1:{port}: ")
    with socket.create_server(("127.0.0.1", port)) as server:
        end = time.monotonic() + 10.0
        while source.why and time.monotonic() < end:
            source.read()
        assert source.why == ""
        source.close()


def test_udp_takes_what_is_sent_to_its_port() -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    source = source_of(f"udp://127.0.0.1:{port}")
    assert source.read() == b""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        sender.sendto(b"$GPRMC", ("127.0.0.1", port))
    assert read(source, 6) == b"$GPRMC"
    source.close()


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="no pseudo-terminals here")
def test_a_serial_port_is_read_and_opened_again() -> None:
    pytest.importorskip("serial", reason="pyserial is not installed")
    ours, theirs = os.openpty()
    source = source_of(os.ttyname(theirs), baud=9600)
    assert source.read() == b""
    os.write(ours, b"$GPGGA,1")
    assert read(source, 8) == b"$GPGGA,1"
    assert source.why == ""
    # The cable comes loose.
    os.close(ours)
    os.close(theirs)
    end = time.monotonic() + 10.0
    while not source.why and time.monotonic() < end:
        source.read()
    assert "trying again" in source.why
    source.close()


def test_without_its_package_a_serial_port_is_one_clear_error(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    there = builtins.__import__

    def without(name: str, *rest: Any, **more: Any) -> Any:
        if name == "serial":
            raise ImportError(name)
        return there(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    monkeypatch.delitem(sys.modules, "serial", raising=False)
    with pytest.raises(lw.LogError, match=r'needs the package pyserial. Run: pip install "lapwri'):
        source_of("/dev/ttyUSB9")


def test_standard_input_ends_when_its_writer_does(monkeypatch: pytest.MonkeyPatch) -> None:
    out, into = os.pipe()
    with os.fdopen(out) as file:
        monkeypatch.setattr(sys, "stdin", file)
        source = source_of("-")
        assert isinstance(source, StandardInput)
        assert source.read() == b""
        os.write(into, b"$GP")
        assert source.read() == b"$GP"
        os.close(into)
        with pytest.raises(SourceEndedError):
            source.read()


NO_SOURCES = (
    "tcp://", "tcp://host", "tcp://host:99999", "udp://:7", "http://host:80", "tcp://h:1/x",
    "nonsense",
)  # fmt: skip


@pytest.mark.parametrize("text", NO_SOURCES)
def test_what_is_no_source_is_one_clear_error(text: str) -> None:
    with pytest.raises(lw.LogError, match="Give - for standard input"):
        source_of(text)


def test_a_log_is_pointed_to_the_replay(tmp_path: Path) -> None:
    (tmp_path / "friday.csv").write_text("a,b\n")
    with pytest.raises(lw.LogError, match="give --replay 1"):
        source_of(str(tmp_path / "friday.csv"))
