"""The whole lap in pictures: delta, speed and plan with one cursor, for a page or a notebook."""

from dataclasses import dataclass

from lapwright.report.html.along import channel_figure, delta_figure, speed_figure
from lapwright.report.html.figure import Along
from lapwright.report.html.plan import Plan, circuit_plan
from lapwright.report.two_laps import TwoLaps
from lapwright.units import Units
from lapwright.wording.driver import channel_name

# A channel is looked at for when it moves, not for its values: lower than the speed.
_CHANNEL_PX = 90


@dataclass(frozen=True)
class WholeLap:
    """
    What `whole_lap.jinja` draws.

    Attributes
    ----------
    figures : tuple of Along
    names : tuple of str
        What their y axes are, in words.
    distance_name : str
        The same of their common x axis.
    plan : Plan
    best, usual : str
        Names of the laps for the legend; the latter may be empty.
    """

    figures: tuple[Along, ...]
    names: tuple[str, ...]
    distance_name: str
    plan: Plan
    best: str
    usual: str


def whole_lap(material: TwoLaps, units: Units) -> WholeLap | None:
    """
    Draw delta and speed of the usual lap against the best, over the whole lap.

    Parameters
    ----------
    material : TwoLaps
    units : Units

    Returns
    -------
    WholeLap or None
        None where no lap counts as the best.
    """
    best, usual = material.best, material.usual
    if best is None:
        return None
    window = (0.0, material.length_m)
    laps = [(best, "best")]
    figures, names = [], []
    if material.comparison is not None and usual is not None:
        laps.insert(0, (usual, "usual"))
        to = f"lap {material.named(best)}"
        label = f"Delta of lap {material.named(usual)} to {to} along the lap"
        figures.append(
            delta_figure(material.comparison, material.corners, window, units, 150, label)
        )
        base = material.best_is if material.best_is == "the best" else to
        names.append(f"delta to {base} [s], slower is up; band: ±")
    figures.append(speed_figure(material, laps, window, units, 240, "Speed along the lap"))
    names.append(f"speed [{units.speed}]")
    for role, channel in material.channels.items():
        figures.append(channel_figure(material, role, laps, window, units, _CHANNEL_PX))
        names.append(channel_name(role, channel.unit))
    return WholeLap(
        tuple(figures), tuple(names), f"distance after the start line [{units.distance}]",
        circuit_plan(material, units), f"lap {material.named(best)}, {material.best_is}",
        "" if usual is None else _with(f"lap {material.named(usual)}", material.usual_is),
    )  # fmt: skip


def _with(lap: str, what: str) -> str:
    return f"{lap}, {what}" if what else lap
