"""
Equations as MathML, turned from TeX when the pages are built.

Browsers draw MathML by themselves, so the pages need neither a script nor a network for it.
"""

import re

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx
from sphinx.writers.html5 import HTML5Translator

# MathML Core knows no bold letters by attribute, only the bold letters of Unicode.
_BOLD = re.compile(r'<mi mathvariant="bold">([A-Za-z])</mi>')
_BOLD_CAPITAL_A, _BOLD_SMALL_A = 0x1D400, 0x1D41A


def _bold(match: re.Match[str]) -> str:
    letter = match[1]
    first, start = (_BOLD_SMALL_A, "a") if letter.islower() else (_BOLD_CAPITAL_A, "A")
    return f"<mi>&#x{first + ord(letter) - ord(start):X};</mi>"


def _mathml(tex: str, display: str) -> str:
    return _BOLD.sub(_bold, convert(tex, display=display))


def _inline(self: HTML5Translator, node: nodes.math) -> None:
    self.body.append(_mathml(node.astext(), "inline"))
    raise nodes.SkipNode


def _block(self: HTML5Translator, node: nodes.math_block) -> None:
    self.body.append(f'<div class="equation">{_mathml(node.astext(), "block")}</div>\n')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, bool]:
    """Register the renderer under the name ``mathml``."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
