"""Make circuits: from any closed line, by name, or at random from a seed."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from lapwright.simulate.circuit import shapes
from lapwright.simulate.circuit.circuits import Circuit, PitLane

Floats = npt.NDArray[np.float64]

# Smoothing of a line drawn on a map, vertices some 5 m apart. [m]
MAP_SMOOTHING_M = 5.0


def from_arrays(
    name: str,
    east_m: Floats,
    north_m: Floats,
    *,
    half_width_m: float = 5.0,
    reach_m: float = 10.0,
    smooth_sd_m: float | None = None,
    start_m: float | None = None,
    place: tuple[float, float, float] = (-41.0, 172.0, 0.0),
    pit: bool = True,
    box_m: float = -45.0,
    pit_side: str = "right",
) -> Circuit:
    """
    Make a circuit of a closed centre line.

    Parameters
    ----------
    name : str
    east_m, north_m : ndarray, shape (n,)
        Closed, in driving order, the first vertex not repeated, any spacing up to
        some 10 m. [m]
    half_width_m, reach_m : float
        From the centre line to either edge, and to the ends of the lines. [m]
    smooth_sd_m : float or None
        Gaussian smoothing along the line, for lines drawn on a map: between their vertices
        a spline bends too sharply to drive.  None smooths by `MAP_SMOOTHING_M` where the
        vertices are more than 2.5 m apart, and not at all where they are closer. [m]
    start_m : float or None
        Where the start/finish line lies, metres from the first vertex; None puts it on
        the longest straight. [m]
    place : (lat, lon, height)
        Where on earth the middle of the circuit lies. [degrees, m]
    pit : bool
        Whether there is a pit lane beside the straight that holds the line.
    box_m : float
        Station of the box, negative before the line. [m]
    pit_side : {"left", "right"}
        The side of the track on which the pit lane lies.

    Returns
    -------
    circuit : Circuit
        With two sector lines at a third and two thirds of the lap, moved to the
        nearest quiet place.
    """
    if pit_side not in ("left", "right"):
        msg = f"pit_side must be 'left' or 'right', not {pit_side!r}"
        raise ValueError(msg)
    if smooth_sd_m is None:
        apart = np.hypot(np.roll(east_m, -1) - east_m, np.roll(north_m, -1) - north_m)
        smooth_sd_m = MAP_SMOOTHING_M if float(np.median(apart)) > 2.5 else 0.0
    east, north = shapes.even(np.asarray(east_m, float), np.asarray(north_m, float))
    if smooth_sd_m > 0:
        east, north = shapes.smoothed(east, north, smooth_sd_m)
    east, north = east - east.mean(), north - north.mean()
    curvature = np.abs(Circuit(name, east, north).usual_curvature()[1])
    first, before_m, after_m = _straight(curvature, start_m)
    east, north, curvature = (np.roll(a, -first) for a in (east, north, curvature))
    lane = None
    if pit:
        reach = half_width_m + 9.0
        lane = PitLane(
            entry_m=-max(before_m, abs(box_m) + 110.0, 160.0),
            exit_m=max(after_m, abs(box_m) + 110.0, 160.0),
            offset_m=-reach if pit_side == "right" else reach,
            box_m=box_m,
        )
    return Circuit(
        name=name,
        east_m=east,
        north_m=north,
        half_width_m=half_width_m,
        lat0_deg=place[0],
        lon0_deg=place[1],
        height_m=place[2],
        sector_stations_m=_sector_stations(curvature),
        pit=lane,
        reach_m=reach_m,
    )


def _straight(curvature_abs: Floats, start_m: float | None) -> tuple[int, float, float]:
    """Index of the line and how many metres (vertices) are straight before and after it."""
    count = len(curvature_abs)
    quiet = np.tile(curvature_abs < 1 / 400, 3)
    edges = np.flatnonzero(np.diff(np.r_[False, quiet, False].astype(int)))
    begins, ends = edges[::2], edges[1::2]
    if len(begins) == 0 or start_m is not None or ends[0] - begins[0] == 3 * count:
        first = round(start_m or 0.0) % count
        around = [(b, e) for b, e in zip(begins, ends, strict=True) if b <= first + count < e]
        if not around:
            return first, 0.0, 0.0
        return (
            first,
            min(400.0, first + count - around[0][0]),
            min(400.0, around[0][1] - first - count),
        )
    longest = int(np.argmax(np.where(begins < 2 * count, ends - begins, 0)))
    size = int(ends[longest] - begins[longest])
    line = int(begins[longest]) + round(0.45 * size)
    return line % count, min(400.0, 0.45 * size), min(400.0, 0.55 * size)


def _sector_stations(curvature_abs: Floats) -> tuple[float, ...]:
    """A third and two thirds of the lap, each moved to where its neighbourhood bends least."""
    count = len(curvature_abs)
    around = np.convolve(np.tile(curvature_abs, 3), np.ones(61) / 61, "same")[count : 2 * count]
    found = []
    for third in (1, 2):
        near = np.arange(round((third / 3 - 0.1) * count), round((third / 3 + 0.1) * count))
        found.append(float(near[int(np.argmin(around[near]))]))
    return tuple(found)


def invented(name: str | int) -> Circuit:
    """
    Make an invented circuit by name, or a random one by seed.

    Parameters
    ----------
    name : str or int
        ``"wren_hollow"``, the circuit of the sample sessions; the paper circuits
        ``"oval"``, ``"eight"`` (crosses over itself), ``"parallel"`` (two straights 8 m
        apart) and ``"circle"``; or an int, the seed of a random circuit.
    """
    if isinstance(name, int):
        rng = np.random.default_rng([7402, name])
        length = float(rng.uniform(1400, 4200))
        place = (
            float(rng.uniform(-50, 60)),
            float(rng.uniform(-179, 179)),
            float(rng.uniform(0, 600)),
        )
        return from_arrays(
            f"invented {name}",
            *shapes.random_shape(name, length),
            place=place,
            box_m=float(rng.choice([-45.0, 35.0])),
            pit_side=str(rng.choice(["left", "right"])),
        )
    paper: dict[str, Callable[[], tuple[Floats, Floats]]] = {
        "oval": shapes.clothoid_oval,
        "eight": shapes.figure_of_eight,
        "parallel": shapes.parallel_straights,
    }
    if name == "wren_hollow":
        return wren_hollow()
    if name == "circle":
        return from_arrays("circle", *shapes.circle(100.0), start_m=0.0, pit=False)
    if name not in paper:
        msg = (
            f"no circuit {name!r}; there are 'wren_hollow', 'circle', {', '.join(map(repr, paper))}"
        )
        raise ValueError(msg)
    if name == "parallel":
        return from_arrays(name, *paper[name](), half_width_m=3.5, reach_m=3.9)
    return from_arrays(name, *paper[name]())


def wren_hollow() -> Circuit:
    """
    Wren Hollow, the circuit of the sample sessions.

    It is invented: about 3 km, clockwise, with a hairpin, a chicane, two straights
    close together and a fast sweep, put in open farmland at a southern latitude.
    """
    corners = [
        (330.0, 0.0, 32.0),
        (372.0, -190.0, 45.0),
        (-150.0, -232.0, 12.5),
        (-150.0, -258.0, 12.5),
        (255.0, -240.0, 38.0),
        (300.0, -400.0, 55.0),
        (40.0, -415.0, 24.0),
        (8.0, -386.0, 24.0),
        (-400.0, -400.0, 150.0),
        (-560.0, -190.0, 110.0),
        (-430.0, 0.0, 48.0),
    ]
    east, north = shapes.rounded_polygon(corners, sd_m=7.0)
    return from_arrays(
        "Wren Hollow",
        east,
        north,
        half_width_m=5.0,
        place=(-43.0, 144.0, 85.0),
        box_m=-38.0,
    )
