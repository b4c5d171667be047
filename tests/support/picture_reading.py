"""Pictures of the page, read back through their own axes to the numbers they stand for."""

import re
from dataclasses import dataclass
from typing import Any

import numpy as np
from page_reading import only, path_points, percent
from session_truth import DISTANCE
from shown import read

# Pixels are written with one decimal, shares with three decimals of a percent.
PIXEL, SHARE = 0.051, 0.6e-5


@dataclass(frozen=True)
class Along:
    """A picture along the lap: its axes, and what stands in it."""

    kind: str
    start_m: float
    end_m: float
    low: float
    high: float
    height: float
    element: Any

    def value(self, y: "np.ndarray | float", frame: float) -> "np.ndarray | float":
        """Number at a height that is counted from the top in a frame of that height."""
        return self.high - y / frame * (self.high - self.low)

    @property
    def unit(self) -> float:
        """The number that half a step of the inner frame stands for."""
        return 0.5 * (self.high - self.low) / 1000.0

    @property
    def pixel(self) -> float:
        """The number that a rounded pixel stands for."""
        return PIXEL / self.height * (self.high - self.low)

    def curves(self) -> list[tuple[str, np.ndarray]]:
        """Roles and points, as station and number, of every curve in drawing order."""
        out = []
        for one in self.element.xpath(".//*[local-name()='path' and contains(@class, 'curve')]"):
            points = path_points(one.get("d"))
            known = np.stack([points[:, 0], self.value(points[:, 1], 1000.0)], axis=-1)
            out.append((one.get("class").split()[1], known))
        return out

    def marks(self) -> list[tuple[str, str, str, float, float]]:
        """Kind, role, what is said, station and number of every mark."""
        out = []
        for one in self.element.xpath(".//*[@class='marks']/*"):
            _, role, kind = one.get("class").split()
            station = self.start_m + percent(one.get("x")) * (self.end_m - self.start_m)
            level = float(self.value(float(one.get("y")), self.height))
            said = one.xpath("./*[local-name()='title']")[0].text
            out.append((kind, role, said, station, level))
        return out


def along_in(element: Any, kind: str) -> list[Along]:
    """Pictures of a kind, speed or delta, in an element."""
    found = element.xpath(f".//*[@data-kind='{kind}']")
    return [
        Along(
            kind, *(float(one.get(f"data-{k}")) for k in ("start", "end", "low", "high")),
            float(one.get("height")), one,
        )
        for one in found
    ]  # fmt: skip


def axes_wrong(picture: Along, far: str) -> list[str]:
    """Say which letters of the axes do not stand where their numbers are."""
    out = []
    for text in _letters(picture.element, "letters y"):
        height = float(text.get("y")) - 4.0
        true = float(picture.value(height, picture.height))
        out += _tick_wrong(text.text, true, 2.0 * picture.pixel)
    span = picture.end_m - picture.start_m
    for text in _letters(picture.element, "letters x"):
        station = picture.start_m + percent(text.get("x")) * span
        # The ends are written with two decimals of a metre.
        out += _tick_wrong(text.text, station * DISTANCE[far], (SHARE * span + 0.01) * 4.0)
    box = [float(v) for v in only(picture.element, "./*[@class='frame']").get("viewbox").split()]
    if abs(box[0] - picture.start_m) > 0.051 or abs(box[0] + box[2] - picture.end_m) > 0.11:
        out.append(f"{box} for {picture.start_m} to {picture.end_m}")
    assert len(_letters(picture.element, "letters y")) > 1
    assert len(_letters(picture.element, "letters x")) > 1
    return out


def _letters(element: Any, kind: str) -> list[Any]:
    return element.xpath(f"./*[@class='{kind}']/*")


def _tick_wrong(text: str, true: float, tolerance: float) -> list[str]:
    shown = read(text)
    assert shown is not None
    return [] if abs(shown.value - true) <= tolerance else [f"{text} stands at {true}"]


@dataclass(frozen=True)
class PlanView:
    """A picture from above: its scale, and what stands in it, in metres east and north."""

    scale: float
    east_m: float
    north_m: float
    element: Any

    def place(self, x: "np.ndarray | float", y: "np.ndarray | float") -> np.ndarray:
        """From a place in the picture to metres."""
        return np.stack([self.east_m + x / self.scale, self.north_m - y / self.scale], axis=-1)

    @property
    def dot_m(self) -> float:
        """Metres that a rounded place stands for, with the rounding of the corner's own place."""
        return PIXEL / self.scale + 0.006

    def curves(self) -> dict[str, np.ndarray]:
        """Points of the curves by role; they are drawn ten times as large."""
        found = self.element.xpath(".//*[local-name()='path' and starts-with(@class, 'curve')]")
        out = {}
        for one in found:
            points = path_points(one.get("d")) / 10.0
            out[one.get("class").split()[1]] = self.place(points[:, 0], points[:, 1])
        assert len(out) == len(found)
        return out

    def marks(self) -> list[tuple[str, str, str, np.ndarray]]:
        """Kind, role, what is said and place of every mark."""
        out = []
        for one in self.element.xpath("./*[starts-with(@class, 'mark ')]"):
            _, role, kind = one.get("class").split()
            said = one.xpath("./*[local-name()='title']")[0].text
            out.append((kind, role, said, self.place(float(one.get("x")), float(one.get("y")))))
        return out

    def gates(self) -> dict[str, np.ndarray]:
        """Places of the lines by what is said of them."""
        return {
            one.xpath("./*[local-name()='title']")[0].text: self._moved(one)
            for one in self.element.xpath("./*[*[contains(@class, 'gate')]]")
        }

    def arrows(self) -> list[np.ndarray]:
        """Places of the arrows."""
        return [self._moved(one) for one in self.element.xpath("./*[@class='arrow']")]

    def _moved(self, element: Any) -> np.ndarray:
        found = re.match(r"translate\(([\d.-]+) ([\d.-]+)\)", element.get("transform"))
        assert found is not None
        return self.place(float(found[1]), float(found[2]))

    def numbers(self) -> dict[int, np.ndarray]:
        """Places of the corners' numbers."""
        return {
            int(one.xpath("./*[local-name()='text']")[0].text): self.place(
                *(float(one.xpath("./*[local-name()='circle']")[0].get(k)) for k in ("cx", "cy"))
            )
            for one in self.element.xpath("./*[@class='number']")
        }

    def bar(self) -> tuple[float, float, str]:
        """Length of the scale bar [m], and its number and unit."""
        bar = self.element.xpath("./*[@class='scale-bar']")[0]
        drawn = re.search(r"h([\d.]+)m", bar.xpath("./*[local-name()='path']")[0].get("d"))
        number, unit = bar.xpath("./*[local-name()='text']")[0].text.split()
        assert drawn is not None
        return float(drawn[1]) / self.scale, float(number), unit


def plan_in(element: Any, name: str) -> PlanView | None:
    """The plan of that name in an element; None where there is none."""
    found = element.xpath(f".//*[@class='plan {name}']")
    assert len(found) <= 1
    if not found:
        return None
    one = found[0]
    return PlanView(*(float(one.get(f"data-{k}")) for k in ("scale", "east", "north")), one)
