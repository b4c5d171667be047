"""
Closed curves to race on: the shapes of invented and of paper circuits.

Everything here returns plain east and north arrays, evenly spaced along the
curve, the first vertex not repeated.  Most shapes begin as a polygon with
rounded corners, which closes by construction (a chain of arcs and spirals has
to be solved for closure), and is then smoothed so that its curvature has no
steps, as the curvature of a driven line has none.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

Floats = npt.NDArray[np.float64]

# Spacing of the vertices of every centre line. [m]
SPACING_M = 1.0


def even(east_m: Floats, north_m: Floats, spacing_m: float = SPACING_M) -> tuple[Floats, Floats]:
    """
    Vertices at equal distances along the periodic spline through given vertices.

    Parameters
    ----------
    east_m, north_m : ndarray, shape (n,)
        Closed curve, the first vertex not repeated. [m]
    spacing_m : float
        Wanted distance between vertices; the nearest that divides the length. [m]

    Returns
    -------
    east_m, north_m : ndarray, shape (k,)
        Vertices on the same spline. [m]
    """
    for _ in range(2):  # the second turn makes the parameter an arc length to better than 1e-6
        points = np.column_stack([east_m, north_m])
        closed = np.vstack([points, points[:1]])
        chord = np.r_[0.0, np.cumsum(np.hypot(*np.diff(closed, axis=0).T))]
        spline = CubicSpline(chord, closed, bc_type="periodic")
        fine = np.linspace(0.0, chord[-1], 8 * len(chord))
        # Arc length by Simpson's rule on every fine step.
        rate = np.hypot(*spline(fine, 1).T)
        middle = np.hypot(*spline((fine[1:] + fine[:-1]) / 2, 1).T)
        steps = np.diff(fine) / 6 * (rate[1:] + 4 * middle + rate[:-1])
        arc = np.r_[0.0, np.cumsum(steps)]
        count = max(16, round(float(arc[-1]) / spacing_m))
        at = CubicSpline(arc, fine)(np.arange(count) * arc[-1] / count)
        east_m, north_m = spline(at).T
    return np.ascontiguousarray(east_m), np.ascontiguousarray(north_m)


def smoothed(east_m: Floats, north_m: Floats, sd_m: float) -> tuple[Floats, Floats]:
    """
    A closed curve convolved with a Gaussian of standard deviation `sd_m` along it.

    Parameters
    ----------
    east_m, north_m : ndarray, shape (n,)
        Closed curve, evenly spaced, the first vertex not repeated. [m]
    sd_m : float
        Standard deviation of the Gaussian; a corner of radius R shrinks by about
        ``sd_m**2 / (2 R)``. [m]
    """
    curve = east_m + 1j * north_m
    length = float(np.sum(np.abs(np.diff(np.append(curve, curve[0])))))
    wave_number = 2 * np.pi * np.fft.fftfreq(len(curve), length / len(curve))
    curve = np.fft.ifft(np.fft.fft(curve) * np.exp(-0.5 * (wave_number * sd_m) ** 2))
    return even(curve.real, curve.imag)


def rounded_polygon(
    corners_m: Sequence[tuple[float, float, float]], sd_m: float = 7.0
) -> tuple[Floats, Floats]:
    """
    A polygon with an arc at each corner, then smoothed.

    Parameters
    ----------
    corners_m : sequence of (east, north, radius)
        The corners in driving order and the radius of the arc at each. [m]
    sd_m : float
        Smoothing of the result, see `smoothed`. [m]

    Raises
    ------
    ValueError
        If an arc does not fit on the sides beside it.
    """
    tips = np.array([(e, n) for e, n, _ in corners_m], dtype=float)
    pieces: list[Floats] = []
    into = tips - np.roll(tips, 1, axis=0)
    sides = np.hypot(*into.T)
    into /= sides[:, None]
    used = np.zeros(len(tips))
    for i, (_, _, radius) in enumerate(corners_m):
        ahead = into[(i + 1) % len(tips)]
        turn = float(np.arctan2(into[i, 0] * ahead[1] - into[i, 1] * ahead[0], into[i] @ ahead))
        tangent = radius * abs(np.tan(turn / 2))
        used[i] += tangent
        used[(i + 1) % len(tips)] += tangent
        steps = max(3, int(radius * abs(turn) / 2.0))
        angle = np.linspace(0.0, turn, steps + 1)
        left = np.array([-into[i, 1], into[i, 0]]) * np.sign(turn)
        start = tips[i] - tangent * into[i]
        pieces.append(
            start
            + radius * np.outer(np.sin(np.abs(angle)), into[i])
            + radius * np.outer(1 - np.cos(angle), left)
        )
    if np.any(used > sides * (1 + 1e-9)):
        k = int(np.argmax(used - sides))
        msg = f"the arcs beside the side into corner {k} need {used[k]:.1f} m of {sides[k]:.1f} m"
        raise ValueError(msg)
    rough = np.vstack(pieces)
    return smoothed(*_filled(rough), sd_m)


def _filled(points: Floats) -> tuple[Floats, Floats]:
    """A closed polyline with straight pieces filled up to about one vertex a metre."""
    closed = np.vstack([points, points[:1]])
    distance = np.r_[0.0, np.cumsum(np.hypot(*np.diff(closed, axis=0).T))]
    count = round(float(distance[-1]) / SPACING_M)
    at = np.arange(count) * distance[-1] / count
    return np.interp(at, distance, closed[:, 0]), np.interp(at, distance, closed[:, 1])


def circle(radius_m: float, clockwise: bool = False) -> tuple[Floats, Floats]:
    """A circle that begins at its easternmost point."""
    angle = 2 * np.pi * np.arange(round(2 * np.pi * radius_m / SPACING_M)) / 1.0
    angle /= len(angle)
    return radius_m * np.cos(angle), radius_m * np.sin(angle) * (-1 if clockwise else 1)


def clothoid_oval(
    straight_m: float = 300.0, spiral_m: float = 40.0, radius_m: float = 50.0
) -> tuple[Floats, Floats]:
    """
    Two straights joined by two bends, each spiral, arc, spiral; driven anticlockwise.

    The curvature is known everywhere; the curve is integrated from it.
    It begins in the middle of a straight.

    References
    ----------
    .. [1] M. Abramowitz, I. A. Stegun, "Handbook of Mathematical Functions",
       1964, sec. 7.3 (Fresnel integrals).
    """
    arc = radius_m * np.pi - spiral_m
    if arc < 0:
        msg = f"spirals of {spiral_m} m turn more than half a circle at radius {radius_m} m"
        raise ValueError(msg)
    lengths = np.tile([straight_m / 2, spiral_m, arc, spiral_m, straight_m / 2], 2)
    knots = np.r_[0.0, np.cumsum(lengths)]
    curvature = np.r_[0.0, np.tile([0.0, 1.0, 1.0, 0.0, 0.0], 2)] / radius_m
    count = round(float(knots[-1]) / SPACING_M)
    parts = 64  # trapezia per vertex; the position is good to some 1e-9 m
    fine = np.linspace(0.0, knots[-1], count * parts + 1)
    # The heading is exact: the curvature is linear between the knots.
    at_knots = np.r_[0.0, np.cumsum(np.diff(knots) * (curvature[1:] + curvature[:-1]) / 2)]
    piece = np.clip(np.searchsorted(knots, fine, side="right") - 1, 0, len(lengths) - 1)
    along = fine - knots[piece]
    slope = (curvature[piece + 1] - curvature[piece]) / lengths[piece]
    heading = at_knots[piece] + curvature[piece] * along + slope * along**2 / 2
    step = np.exp(1j * heading)
    z = np.r_[0.0, np.cumsum((step[1:] + step[:-1]) / 2)] * (fine[1] - fine[0])
    z = z[:-1:parts]
    return z.real.copy(), z.imag.copy()


def figure_of_eight(radius_m: float = 90.0, arm_m: float = 260.0) -> tuple[Floats, Floats]:
    """Two loops of one radius whose straights cross each other at the origin."""
    # Two circles with centres at (+-arm, 0); the straights are their inner tangents.
    if arm_m <= radius_m:
        msg = f"the centres, {arm_m} m out, must be farther than the radius, {radius_m} m"
        raise ValueError(msg)
    lean = np.arcsin(radius_m / arm_m)
    half_turn = np.pi / 2 + lean
    right = np.linspace(-half_turn, half_turn, 200)
    loop_right = np.column_stack([arm_m + radius_m * np.cos(right), radius_m * np.sin(right)])
    loop_left = np.column_stack([-arm_m - radius_m * np.cos(right), radius_m * np.sin(right)])
    return smoothed(*_filled(np.vstack([loop_right, loop_left])), 7.0)


def parallel_straights(gap_m: float = 8.0, straight_m: float = 420.0) -> tuple[Floats, Floats]:
    """Two long straights side by side, `gap_m` between their middles, bulbs at the ends."""
    g, b = gap_m / 2, 26.0
    return rounded_polygon(
        [
            (straight_m, -g, 30.0),
            (straight_m + 70.0, -b, 22.0),
            (straight_m + 150.0, -b, 22.0),
            (straight_m + 150.0, b, 22.0),
            (straight_m + 70.0, b, 22.0),
            (straight_m, g, 30.0),
            (0.0, g, 30.0),
            (-70.0, b, 22.0),
            (-190.0, b, 22.0),
            (-190.0, -b, 22.0),
            (-70.0, -b, 22.0),
            (0.0, -g, 30.0),
        ],
        sd_m=5.0,
    )


def random_shape(seed: int, length_m: float = 2600.0) -> tuple[Floats, Floats]:
    """
    A closed curve without crossings: a polygon seen whole from its middle, rounded.

    Parameters
    ----------
    seed : int
        The same seed gives the same shape.
    length_m : float
        Wanted length, met to about 1 %. [m]
    """
    rng = np.random.default_rng([7401, seed])
    while True:
        count = int(rng.integers(8, 14))
        angle = 2 * np.pi * (np.arange(count) + rng.uniform(-0.32, 0.32, count)) / count
        reach = rng.uniform(0.45, 1.0, count)
        tips = np.column_stack([reach * np.cos(angle) * 1.35, reach * np.sin(angle)])
        sides = np.hypot(*(np.roll(tips, -1, axis=0) - tips).T)
        tips *= length_m / float(sides.sum())
        if sides.min() * length_m / sides.sum() < 70:
            continue
        wish = np.exp(rng.uniform(np.log(14.0), np.log(110.0), count))
        east, north = rounded_polygon(_fitting(tips, wish), sd_m=6.0)
        scale = length_m / len(east) / SPACING_M
        if 0.8 < scale < 1.25:
            east, north = even(east * scale, north * scale)
            clockwise = rng.random() < 0.5
            return (east[::-1].copy(), north[::-1].copy()) if clockwise else (east, north)


def _fitting(tips: Floats, wish_m: Floats) -> list[tuple[float, float, float]]:
    """Corners with the wished radii, made smaller where the sides are too short for them."""
    into = tips - np.roll(tips, 1, axis=0)
    sides = np.hypot(*into.T)
    heading = np.arctan2(into[:, 1], into[:, 0])
    turn = (np.roll(heading, -1) - heading + np.pi) % (2 * np.pi) - np.pi
    room = 0.46 * np.minimum(sides, np.roll(sides, -1))
    radius = np.minimum(wish_m, room / np.maximum(np.abs(np.tan(turn / 2)), 1e-3))
    return [(float(e), float(n), float(r)) for (e, n), r in zip(tips, radius, strict=True)]
