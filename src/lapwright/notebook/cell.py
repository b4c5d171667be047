"""What the cells of a notebook have in common: their templates, and the frame of the picture."""

import math
from functools import cache
from importlib.resources import files

import jinja2

from lapwright.plots.drawing.palette import LIGHT
from lapwright.report.html.alone import frame_document, picture_address
from lapwright.report.html.along import STEP_M, lap_arrays
from lapwright.report.html.resources import templates
from lapwright.report.html.whole_lap import whole_lap
from lapwright.report.two_laps import TwoLaps
from lapwright.units import Units
from lapwright.wording.cautions import NOT_OFFICIAL
from lapwright.wording.terms import PLUS_MINUS

# Each lap of which the script knows the numbers is some kB in every notebook that is saved: so many
# to choose from, and fewer on a long circuit.
MAX_LAPS = 8
_MAX_STATIONS = 10_000
# What is written above and below a trace. [px]
_LETTERS_PX = 66


@cache
def _templates() -> jinja2.Environment:
    own = jinja2.PackageLoader("lapwright.notebook", ".")
    page = templates()
    assert page.loader is not None
    return page.overlay(loader=jinja2.ChoiceLoader([own, page.loader]))


def cell(template: str, **values: object) -> str:
    """
    Write a cell.

    Parameters
    ----------
    template : str
        Name of the template.
    **values
        What it writes; all of it is escaped.

    Returns
    -------
    str
    """
    style = (files("lapwright.notebook") / "cell.css").read_text(encoding="utf-8")
    # Of the light palette also in the dark: which one the notebook has cannot be asked.
    lost, gained = f"rect.lost{{fill:{LIGHT.lost}}}", f"rect.gained{{stroke:{LIGHT.gained}}}"
    style += f".lapwright {lost}.lapwright {gained}"
    return _templates().get_template(template).render(
        style=style, plus_minus=PLUS_MINUS, not_official=NOT_OFFICIAL, **values
    )  # fmt: skip


def framed(material: TwoLaps, units: Units, others: "list[int] | None" = None) -> dict[str, str]:
    """
    Draw the whole lap for a cell.

    Parameters
    ----------
    material : TwoLaps
    units : Units
    others : list of int, optional
        Further laps to choose from, the most wanted first.

    Returns
    -------
    dict
        ``title`` of the frame, its ``document``, and the ``picture`` to show without it; how high
        its ``traces`` are [px] and how ``tall`` the plan for its width, because a frame cannot ask
        for its own height.  Empty where no lap counts as the best.
    """
    lap = whole_lap(material, units)
    if lap is None:
        return {}
    most = min(MAX_LAPS, int(_MAX_STATIONS // math.ceil(material.length_m / STEP_M)))
    needed = [n for n in (material.best, material.usual) if n is not None]
    more = [n for n in others or [] if n not in needed]
    laps = sorted([*needed, *more[: max(most - len(needed), 0)]])
    return {
        "title": lap.plan.label,
        "document": frame_document(lap, lap_arrays(material, units, laps)),
        "picture": picture_address(lap),
        "traces": f"{sum(figure.height + _LETTERS_PX for figure in lap.figures)}px",
        "tall": f"{lap.plan.height / lap.plan.width:.2f}",
    }
