"""One log's channels on another's time axis, so that they stand on its laps."""

from dataclasses import replace

import numpy as np
import pandas as pd

from lapwright.arguments import checked
from lapwright.ingest.log import Log
from lapwright.two_logs.align import Alignment, align_logs

_OWN = ("line", "time_s")


@checked
def with_channels_of(log: Log, other: Log, alignment: Alignment | None = None) -> Log:
    """
    Return a log with the channels of another one of the same car besides its own.

    Parameters
    ----------
    log : Log
        Its fixes stay as they are.
    other : Log
        Its channels are taken over, on the log's clock, as often as they were logged.
    alignment : Alignment, optional
        `align_logs` of the two, in this order; made where not given.

    Returns
    -------
    Log
        Of channels of the same name the other's gets its file's name behind it.  Rows of the other
        log have line 0, for they stand on no line of this one's file.

    Raises
    ------
    LogError
        If the two are not of the same car at the same time.

    Examples
    --------
    >>> import lapwright as lw
    >>> phone = lw.read_log("sample_sessions/saturday_practice.csv")
    >>> logger = lw.read_log("sample_sessions/saturday_practice.csv")
    >>> joined = lw.with_channels_of(phone, logger)
    >>> [name for name in joined.channels if name.startswith("rpm")]
    ['rpm', 'rpm (saturday_practice)']
    """
    found = align_logs(log, other) if alignment is None else alignment
    names = {
        name: name if name not in log.channels else f"{name} ({other.path.stem})"
        for name in map(str, other.channels.columns)
        if name not in _OWN
    }
    if not names:
        return log
    mine = other.channels[list(names)].rename(columns=names)
    time_s = found.own_time(other.channels["time_s"].to_numpy(np.float64))
    mine = mine.assign(line=0, time_s=time_s)[[*_OWN, *names.values()]]
    if set(log.channels) <= set(_OWN):
        joined = mine
    else:
        joined = pd.concat([log.channels, mine], ignore_index=True)
        joined = joined.sort_values("time_s", kind="stable", ignore_index=True)
    units = {names[n]: unit for n, unit in other.channel_units.items() if n in names}
    roles = {role: names[n] for role, n in other.roles.items() if n in names}
    return replace(
        log, channels=joined, channel_units=log.channel_units | units, roles=roles | log.roles
    )
