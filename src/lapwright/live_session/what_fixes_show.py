"""
The noise of a receiver and a session's place on the circuit, from its fixes so far.

Worked out in a process of its own where a lap is being driven: in a thread, seconds of arithmetic
make every fix wait its turn.  A plain child, not one of `multiprocessing`: that would run the
user's own script again, which may open the source a second time.
"""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright.geometry import Track
from lapwright.ingest.log import Log
from lapwright.kept.codec import decode, encode
from lapwright.laps.session_offset import (
    SessionOffset,
    estimate_session_offset,
    placed,
    rough_motion,
)
from lapwright.live_session.forward.known_noise import KnownNoise, default_noise, found_out
from lapwright.live_session.receiving.fixes import Fix
from lapwright.motion.measurements import measurements

# The lap that is being driven comes first.
_NICE = 10


def what_fixes_show(
    track: Track, carried: KnownNoise | None, fixes: list[Fix]
) -> tuple[KnownNoise, SessionOffset]:
    """
    Work out noise and place.

    Parameters
    ----------
    track : Track
        With a path, as its file has it.
    carried : KnownNoise or None
        Noise that is known already; then only the place is worked out.
    fixes : list of Fix

    Returns
    -------
    known : KnownNoise
    placing : SessionOffset
    """
    log = as_log(fixes)
    placing = estimate_session_offset(track, *rough_motion(log, track.plane))
    if carried is not None:
        return carried, placing
    there = placed(track, placing)
    assert there.path is not None
    return found_out(measurements(log, there.plane), there.path, default_noise()), placing


def in_another_process(
    track: Track, carried: KnownNoise | None, fixes: list[Fix]
) -> tuple[KnownNoise, SessionOffset]:
    """
    Work out the same in a child.

    Raises
    ------
    ValueError
        If nothing came of it.
    """
    # Found as it was found here, whatever the path was changed to since.
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    child = subprocess.run(
        # -P: nothing is imported from the current folder, where only logs are expected.
        [sys.executable, "-P", "-m", __name__], input=encode((track, carried, fixes)),
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=environment, check=False,
    )  # fmt: skip
    if child.returncode != 0:
        msg = f"the fixes so far could not be looked at (exit {child.returncode})"
        raise ValueError(msg)
    known, placing = decode(child.stdout)
    return known, placing


def as_log(fixes: list[Fix]) -> Log:
    """Return fixes as a log, for what is worked out from a whole one."""
    time_s = np.array([fix.time_s for fix in fixes])
    columns = {
        "line": np.arange(1, len(fixes) + 1),
        "time_s": time_s - time_s[0],
        "lat_deg": np.array([fix.lat_deg for fix in fixes]),
        "lon_deg": np.array([fix.lon_deg for fix in fixes]),
    }
    for name in ("speed_mps", "course_deg", "position_sd_m"):
        values = np.array([getattr(fix, name) for fix in fixes])
        if np.isfinite(values).any():
            columns[name] = values
    table = pd.DataFrame(columns)
    same = (table[["lat_deg", "lon_deg"]].diff() == 0.0).all(axis=1)
    moving = table["speed_mps"] > 2.0 if "speed_mps" in table else same & False
    table["frozen"] = same & moving
    # Only what time it is does not matter here.
    return Log(
        Path(), "live", table, pd.DataFrame(), "utc", float(time_s[0]), None,
        float(1.0 / np.median(np.diff(time_s))),
    )  # fmt: skip


def main() -> None:
    """Answer the parent: what was asked for on standard input, what came of it on its output."""
    if hasattr(os, "nice"):
        os.nice(_NICE)
    # Without its parent it ends by itself, seconds later, when nobody takes the answer.
    asked = decode(sys.stdin.buffer.read())
    sys.stdout.buffer.write(encode(what_fixes_show(*asked)))


if __name__ == "__main__":
    main()
