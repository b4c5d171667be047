"""
What the last live session found out of the receiver behind a source.

The next one begins with it rather than with bars that fit any receiver, and looks again at its own
laps: another receiver at the same port has wrong bars for a lap or two, not for a session.
"""

from lapwright.kept.codec import fingerprint
from lapwright.kept.store import MISSING, Store
from lapwright.live_session.forward.known_noise import KnownNoise

LAST_TIME = "last time"


def of_last_time(store: Store | None, source: str) -> KnownNoise | None:
    """
    Return what was found out the last time.

    Parameters
    ----------
    store : Store or None
    source : str
        A port or an address, as it was given.

    Returns
    -------
    KnownNoise or None
        None where nothing is known of it.
    """
    found = MISSING if store is None else store.get_lasting(_key(source))
    if not isinstance(found, KnownNoise):
        return None
    return KnownNoise(found.noise, found.latency_s, LAST_TIME)


def keep_for_next_time(store: Store | None, source: str, known: KnownNoise) -> None:
    """Keep what was found out; where that cannot be done, it is not."""
    if store is not None:
        store.put_lasting(_key(source), known)


def _key(source: str) -> str:
    return fingerprint("the receiver of a live session", source)
