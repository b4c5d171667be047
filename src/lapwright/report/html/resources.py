"""Templates, style and script that everything made as HTML shares."""

import base64
import hashlib
from dataclasses import fields
from functools import cache
from importlib.resources import files

import jinja2

from lapwright.escaping.json_text import json_to_show
from lapwright.escaping.unseen import visible
from lapwright.plots.drawing.palette import DARK, LIGHT, Palette
from lapwright.report.html.template_code import TemplateCode


def palette_css() -> str:
    """Colours of both themes as CSS variables; print is always on white."""
    light, dark = _variables(LIGHT), _variables(DARK)
    return (
        f":root{{{light}}}\n@media (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
        f"@media print{{:root{{{light}--page:#ffffff;}}}}\n"
    )


def _variables(palette: Palette) -> str:
    return "".join(f"--{f.name}:{getattr(palette, f.name)};" for f in fields(palette))


@cache
def templates() -> jinja2.Environment:
    """
    Templates of the page and of its parts; what is put into them is escaped.

    Mark-up is escaped by jinja2, in texts, attributes and SVG; what cannot be seen is made visible
    by us, in the numbers for the script too.
    """
    made = jinja2.Environment(
        loader=jinja2.PackageLoader("lapwright.report.html", "."),
        autoescape=True,
        finalize=_seen,
        undefined=jinja2.StrictUndefined,
        bytecode_cache=TemplateCode(),
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.policies["json.dumps_function"] = json_to_show
    return made


def _seen(value: object) -> object:
    """Make visible what is put into a page, unless it is a part of the page itself."""
    return visible(value) if isinstance(value, str) and not hasattr(value, "__html__") else value


def page_style() -> str:
    """Style of the page, with its colours."""
    return palette_css() + resource("page.css")


def page_script() -> str:
    """Script of the page."""
    return resource("page.js")


@cache
def resource(name: str) -> str:
    """Text of a file beside this one."""
    return (files("lapwright.report.html") / name).read_text(encoding="utf-8")


def digest(text: str) -> str:
    """Digest of an inline element's text, as a Content-Security-Policy names it."""
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
