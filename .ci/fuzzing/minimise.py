"""Make an input that breaks a promise as short as it stays broken in the same way."""

import time
from collections.abc import Callable
from pathlib import Path

from damage.promises import outcome
from damage.targets import Target

from fuzzing.signature import signature


def failure_of(target: Target, data: bytes, path: Path) -> str:
    """Say how an input fails; nothing where it keeps all promises."""
    path.write_bytes(data)
    try:
        outcome(target.run, path)
    except Exception as error:
        return signature(error)
    return ""


def minimised(data: bytes, still: Callable[[bytes], bool], seconds: float) -> bytes:
    """
    Leave out what can be left out: lines first, then bytes, halves before single ones.

    Parameters
    ----------
    data : bytes
        An input for which `still` holds.
    still : callable
    seconds : float
        How long it may take.
    """
    end = time.monotonic() + seconds
    for sign in (b"\n", b",", b""):
        parts = data.split(sign) if sign else [data[k : k + 1] for k in range(len(data))]
        size = max(1, len(parts) // 2)
        while size and time.monotonic() < end:
            at = 0
            while at < len(parts) and time.monotonic() < end:
                fewer = parts[:at] + parts[at + size :]
                if fewer and still(sign.join(fewer)):
                    parts = fewer
                else:
                    at += size
            size //= 2
        data = sign.join(parts)
    return data
