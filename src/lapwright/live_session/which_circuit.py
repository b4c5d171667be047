"""Which circuit a session is driven on, and what its laps are compared with."""

from pathlib import Path

import numpy as np

from lapwright.discovery.library.track_fit import same_circuit
from lapwright.discovery.library.track_folders import files_beside, library_files, read_if_track
from lapwright.errors import LapError, TrackError
from lapwright.geometry import Track, read_track
from lapwright.kept import USUAL, CacheChoice
from lapwright.live_session.forward.known_noise import carried_over
from lapwright.live_session.learning import Setting
from lapwright.session import open_session

# A car on a circuit is not farther from its path than the paddock is. [m]
_NEAR_M = 1500.0
# Nor from its start/finish line than half of a long one. [m]
_FAR_FROM_LINE_M = 4000.0


def setting_of(
    track: str | Path | Track | None, tracks: Path | None, reference: str | Path | None,
    reference_lap: int | None, noise_from: str | Path | None, cache: CacheChoice = USUAL,
) -> Setting | None:  # fmt: skip
    """
    Return what is known before the first fix; None where that is nothing.

    Raises
    ------
    LogError, TrackError, LapError
        If something that was given cannot be used.
    """
    given = track if isinstance(track, Track) or track is None else read_track(track)
    other = None
    if reference is not None:
        other = open_session(reference, track=given, tracks=tracks, cache=cache)
        reference_lap = other.best_lap if reference_lap is None else reference_lap
        if reference_lap is None:
            msg = f"{reference}: no lap of it counts, so there is none to compare with"
            raise LapError(msg)
        # An unknown lap is an error now, not when the car is on the circuit.
        _ = other.trace(reference_lap)
        given = other.shared_track
    elif given is not None and given.path is None:
        what = "has only the lines; a lap is followed along a path"
        hint = "Give --reference with a log of this circuit, or a file saved by 'lapwright track'"
        raise TrackError(what, track if isinstance(track, str | Path) else given.name, hint=hint)
    carried = None
    if noise_from is not None:
        same = other if noise_from == reference else None
        earlier = same or open_session(noise_from, track=given, tracks=tracks, cache=cache)
        carried = carried_over(earlier.motion_without_road)
    if given is None and carried is None:
        return None
    if given is None:
        return Setting(earlier.shared_track, carried)
    return Setting(given, carried, other, reference_lap)


def nearest_track(lat_deg: float, lon_deg: float, tracks: Path | None) -> tuple[Track | None, str]:
    """
    Find the circuit a car is on by its place.

    Parameters
    ----------
    lat_deg, lon_deg : float
    tracks : Path or None
        The library; the user's own where None.

    Returns
    -------
    track : Track or None
    why : str
        Why there is none, in words.
    """
    library = library_files(tracks)
    files = [*files_beside(Path.cwd()), *library]
    near: list[tuple[Path, Track]] = []
    bare: list[str] = []
    for file in dict.fromkeys(file.resolve() for file in files):
        try:
            track = read_if_track(file, in_library=file in library)
        except TrackError:
            continue
        if track is None or not _is_near(track, lat_deg, lon_deg):
            continue
        if track.path is None:
            bare.append(file.name)
        else:
            near.append((file, track))
    # The same circuit saved twice is one circuit; what lies in this folder comes first.
    if near and all(same_circuit(near[0][1], other) for _, other in near[1:]):
        return near[0][1], ""
    if near:
        names = ", ".join(file.name for file, _ in near)
        return None, f"more than one circuit is known here ({names}): give --track"
    if bare:
        return None, f"{bare[0]} has only the lines: give --reference with a log of this circuit"
    return None, "no circuit is known here: give --track or --reference"


def _is_near(track: Track, lat_deg: float, lon_deg: float) -> bool:
    here = np.array(track.plane.point_m((lat_deg, lon_deg)))
    if not np.isfinite(here).all():
        return False
    if track.path is None:
        return bool(np.hypot(*(np.array(track.start_finish.centre_m) - here)) < _FAR_FROM_LINE_M)
    return bool(np.hypot(*(track.path.samples()[1] - here).T).min() < _NEAR_M)
