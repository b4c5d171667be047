"""
The whole lap outside of a page: a document of its own for a frame, and a picture that stands still.

A notebook's cell lives in a page that is not ours.  In a frame the page's own style and script work
as they are and cannot touch the notebook; where a notebook is not trusted, frames and scripts are
taken out of it, and the picture is what is left.
"""

import base64

from lapwright.report.html.resources import digest, page_script, page_style, templates
from lapwright.report.html.whole_lap import WholeLap

# Of the picture. [px]
_TRACE_PX, _PLAN_PX, _LEFT_PX, _ABOVE_PX, _BELOW_PX = 520, 300, 58, 64, 62


def frame_document(lap: WholeLap, numbers: dict[str, object]) -> str:
    """
    Write the whole lap as an HTML document.

    Parameters
    ----------
    lap : WholeLap
    numbers : dict
        For the script, see `lapwright.report.html.along.lap_arrays`.

    Returns
    -------
    str
        Complete without the script; asks for nothing from elsewhere.
    """
    style, script = page_style(), page_script()
    return templates().get_template("whole_lap_frame.html.jinja").render(
        w=lap, data=numbers, style=style, script=script, style_hash=digest(style),
        script_hash=digest(script),
    )  # fmt: skip


def picture(lap: WholeLap) -> str:
    """
    Write the whole lap as an SVG file that needs nothing else.

    Parameters
    ----------
    lap : WholeLap

    Returns
    -------
    str
    """
    places, below = [], _ABOVE_PX
    for figure in lap.figures:
        places.append((figure, below))
        below += figure.height + _BELOW_PX
    width = _LEFT_PX + _TRACE_PX + 20 + _PLAN_PX
    plan_height = _PLAN_PX * lap.plan.height / lap.plan.width
    at = f'x="{width - _PLAN_PX}" y="{_ABOVE_PX}" width="{_PLAN_PX}" height="{plan_height:.0f}"'
    return templates().get_template("whole_lap_picture.jinja").render(
        w=lap, style=page_style(), places=places, width=width, trace_width=_TRACE_PX,
        height=max(below, round(_ABOVE_PX + plan_height)), plan_place=at,
    )  # fmt: skip


def picture_address(lap: WholeLap) -> str:
    """Write the picture as the address of an image that holds it."""
    text = base64.b64encode(picture(lap).encode()).decode()
    return f"data:image/svg+xml;base64,{text}"
