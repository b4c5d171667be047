"""Two laps' ways through the corners side by side, corner by corner."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.corners.pass_table import corner_table
from lapwright.geometry import Track
from lapwright.motion import Motion
from lapwright.session.shared_errors import shared_errors

Floats = npt.NDArray[np.float64]

# The error bar of a quantity, where its passes have one, and what the bar is called beside it.
_BARS = {
    **{
        f"{name}_mps": (f"{name}_sd_mps", f"{name}_sd_mps")
        for name in ("entry_speed", "min_speed", "exit_speed")
    },
    "min_speed_station_m": ("min_speed_station_sd_m", "min_speed_station_sd_m"),
    "peak_decel_mps2": ("peak_decel_sd_mps2", "peak_decel_sd_mps2"),
    "time_s": ("time_sd_s", "time_sd_s"),
    "brake_station_m": ("brake_sd_m", "brake_station_sd_m"),
    "brake_to_corner_m": ("brake_sd_m", "brake_to_corner_sd_m"),
    "throttle_station_m": ("throttle_sd_m", "throttle_station_sd_m"),
    # Those to a session's usual line: what all its laps share, a comparison shares as well.
    **{
        f"{place}_offset_m": (f"{place}_aside_sd_m", f"{place}_offset_sd_m")
        for place in ("turn_in", "apex", "exit")
    },
}
# Moments of a log: those of two laps have no difference that means anything.
_MOMENTS = ("min_speed_s", "lift_s", "brake_s", "throttle_s", "entry_s", "exit_s")
# What is said of a run in a word or by yes and no.
_SAID = ("flat", "brake_source", "throttle_source")


def passes_compared(
    track: Track, mine: pd.DataFrame, reference: pd.DataFrame,
    place_cov_m2: Floats | None = None, motion: Motion | None = None,
) -> pd.DataFrame:  # fmt: skip
    """
    Put the passes of two laps side by side.

    Parameters
    ----------
    track : Track
    mine, reference : DataFrame
        The passes of one lap each, see `lapwright.corners.pass_table`.
    place_cov_m2 : ndarray, shape (2, 2), optional
        Covariance (east, north) of how one session lies to the other, where there are two. [m²]
    motion : Motion, optional
        Of both laps, where they are of one session.

    Returns
    -------
    DataFrame
        One row a corner: ``corner``, ``name``, and for each quantity ``q`` of the passes ``q``,
        ``reference_q`` and ``difference_q`` (lap minus reference); NaN where one of the laps has
        no such pass or thing.  A quantity with an error bar has ``_sd`` before the unit in the
        bar's name, and the three bars stand behind the three values.  The bar of a difference
        knows what two laps of one session have in common of their errors, and of two sessions how
        unsure it is where they lie to each other on the track.  Those of the hardest braking and
        of the slowest place are as if the laps erred on their own, so a little wide; those of the
        line are a little narrow where a session has few clean laps (of three, by a fifth).
    """
    corners = corner_table(track)
    a, b = (one.set_index("corner").reindex(corners["corner"]) for one in (mine, reference))
    same = motion is not None and set(mine["lap"]) == set(reference["lap"])
    shared = {} if motion is None else shared_errors(track, motion, a, b)
    out: dict[str, object] = {
        "corner": corners["corner"].to_numpy(), "name": corners["name"].to_numpy()
    }  # fmt: skip
    for name in map(str, mine.columns):
        if name in _SAID:
            out |= {name: a[name].to_numpy(), f"reference_{name}": b[name].to_numpy()}
        elif _compares(name):
            out |= _beside(name, _numbers(a, name), _numbers(b, name))
        if name in _BARS:
            bar, called = _BARS[name]
            sds = _numbers(a, bar), _numbers(b, bar)
            var = sds[0] ** 2 + sds[1] ** 2 - 2.0 * shared.get(name, np.zeros(len(a)))
            if place_cov_m2 is not None:
                var = var + _place_var(track, name, b, place_cov_m2)
            out |= _beside(called, *sds)
            # A lap against itself: nothing is unsure about no difference.
            out[f"difference_{called}"] = 0.0 * var if same else np.sqrt(np.maximum(var, 0.0))
    return pd.DataFrame(out)


def _compares(name: str) -> bool:
    return name not in ("lap", "corner", *_MOMENTS) and "_sd_" not in name and "_deg" not in name


def _numbers(table: pd.DataFrame, name: str) -> Floats:
    return table[name].to_numpy(dtype=np.float64)


def _beside(name: str, mine: Floats, reference: Floats) -> dict[str, object]:
    return {name: mine, f"reference_{name}": reference, f"difference_{name}": mine - reference}


def _place_var(track: Track, name: str, passes: pd.DataFrame, cov_m2: Floats) -> Floats:
    """How a shift of one session against the other moves a quantity: its variance."""
    path = track.path
    assert path is not None

    def along(station_m: Floats, turned_rad: float = 0.0) -> Floats:
        heading = path.at(np.mod(np.nan_to_num(station_m), track.length_m)).heading_rad
        return np.stack([np.cos(heading + turned_rad), np.sin(heading + turned_rad)], axis=-1)

    corners = {one.order: one for one in track.corners}
    here = [corners[int(k)] for k in passes.index]
    entry_m, apex_m, exit_m = (
        np.array([getattr(one, f"{end}_m") for one in here]) for end in ("entry", "apex", "exit")
    )
    if name in ("peak_decel_mps2", "entry_speed_mps", "min_speed_mps", "exit_speed_mps"):
        return np.zeros(len(passes))
    if name == "time_s":
        # The gates at the corner's two ends are met earlier or later, each by its own speed.
        weights = along(exit_m) / _numbers(passes, "exit_speed_mps")[:, None]
        weights = weights - along(entry_m) / _numbers(passes, "entry_speed_mps")[:, None]
    elif name.endswith("_offset_m"):
        turn_in_m = _numbers(passes, "turn_in_station_m")
        at = {"turn_in": turn_in_m, "apex": apex_m, "exit": exit_m}
        weights = along(at[name.removesuffix("_offset_m")], 0.5 * np.pi)
    else:
        weights = along(_numbers(passes, name.replace("to_corner", "station")))
    return np.asarray(np.einsum("ki,ij,kj->k", weights, cov_m2, weights))
