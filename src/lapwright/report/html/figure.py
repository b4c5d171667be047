"""
Figures as drawn on the page: scales, ticks and paths, for the templates to put into SVG.

Not matplotlib's SVG: that fixes the size of letters and the colours, while these pages must be read
on a phone, in the dark and on paper.  Here the lines live in a stretched inner frame (x in metres
along the lap, y from 0 at the top to 1000 at the bottom) and the letters outside of it, placed in
percent, so that they keep their size at any width.
"""

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

FRAME = 1000
# With fewer, a step of 5 in place of 2 can leave one number on an axis, which gives no scale.
MAX_Y_TICKS = 5


@dataclass(frozen=True, slots=True)
class Tick:
    """A place on an axis, as a share of it, and what is written there."""

    share: float
    text: str

    @property
    def percent(self) -> str:
        """The place in percent."""
        return f"{100.0 * self.share:.3f}%"


@dataclass(frozen=True, slots=True)
class Curve:
    """A line: which role it plays (``best``, ``usual``, ``other``, ``band``) and its path."""

    role: str
    path: str
    lap: int | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """A marked place: its kind (``brake``, ``slowest``, ``throttle``), role and place."""

    kind: str
    role: str
    share: float
    level: float
    text: str

    @property
    def percent(self) -> str:
        """The place along the axis in percent."""
        return f"{100.0 * self.share:.3f}%"


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the axis, such as a corner."""

    start: float
    end: float
    middle: float
    text: str

    @property
    def percent(self) -> str:
        """The middle in percent."""
        return f"{100.0 * self.middle:.3f}%"


@dataclass(frozen=True)
class Along:
    """
    One figure along the lap.

    Attributes
    ----------
    kind : {"speed", "delta", "throttle", "brake", "steering", "rpm"}
        What its y axis is.
    label : str
        What it shows, in words.
    unit : str
    start_m, end_m : float
        Stations at its ends. [m]
    low, high : float
        Ends of the y axis, in its unit.
    height : int
        Of the plot without letters. [px]
    """

    kind: str
    label: str
    unit: str
    start_m: float
    end_m: float
    low: float
    high: float
    height: int
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    curves: tuple[Curve, ...]
    corners: tuple[Span, ...]
    marks: tuple[Mark, ...] = ()
    zero: float | None = None
    linked: bool = True
    extra: dict[str, str] = field(default_factory=dict)

    @property
    def view_box(self) -> str:
        """Of the inner frame."""
        return f"{self.start_m:.1f} 0 {self.end_m - self.start_m:.1f} {FRAME}"


def nice_step(span: float, most: int) -> float:
    """
    Step of an axis: 1, 2 or 5 times a power of ten, so that at most so many fit.

    Examples
    --------
    >>> nice_step(3109.0, 7), nice_step(0.3, 4), nice_step(0.0, 4)
    (500.0, 0.1, 1.0)
    """
    if not span > 0.0:
        return 1.0
    rough = span / most
    power = 10.0 ** math.floor(math.log10(rough))
    for factor in (1.0, 2.0, 5.0, 10.0):
        if factor * power >= rough * (1.0 - 1e-9):
            return factor * power
    return 10.0 * power


def ticks(low: float, high: float, most: int, decimals: int | None = None) -> tuple[Tick, ...]:
    """Ticks between two values, as shares counted from the low end."""
    step = nice_step(high - low, most)
    if decimals is None:
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    out = []
    for k in range(first, last + 1):
        text = f"{k * step:.{decimals}f}".replace("-", "\N{MINUS SIGN}")
        out.append(Tick((k * step - low) / (high - low), text))
    return tuple(out)


def frame_y(values: npt.ArrayLike, low: float, high: float) -> Floats:
    """Place in the inner frame: 0 at the high end, 1000 at the low one."""
    return FRAME * (1.0 - (np.asarray(values, dtype=np.float64) - low) / (high - low))


def path(x: Floats, y: Floats) -> str:
    """
    Write a line as an SVG path in whole units, each point from the one before.

    Examples
    --------
    >>> path(np.array([0.0, 5.0, 10.2]), np.array([1.0, 3.0, 2.0]))
    'M0 1l5 2 5-1'
    """
    keep = np.isfinite(x) & np.isfinite(y)
    if not keep.any():
        return ""
    px, py = np.rint(x[keep]).astype(np.int64), np.rint(y[keep]).astype(np.int64)
    dx, dy = np.diff(px), np.diff(py)
    steps = [f"{a}{'' if b < 0 else ' '}{b}" for a, b in zip(dx, dy, strict=True)]
    joined = ""
    for step in steps:
        joined += step if not joined or step.startswith("-") else " " + step
    return f"M{px[0]} {py[0]}" + (f"l{joined}" if joined else "")


def band(x: Floats, low: Floats, high: Floats) -> str:
    """Write the area between two lines as an SVG path."""
    return path(np.concatenate([x, x[::-1]]), np.concatenate([high, low[::-1]])) + "z"


def padded(low: float, high: float, share: float, least: float) -> tuple[float, float]:
    """Widen a range by a share of itself, and at least so much."""
    room = max(share * (high - low), 0.5 * max(least - (high - low), 0.0))
    return low - room, high + room
