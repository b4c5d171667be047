"""
Equations as MathML, turned from TeX when the pages are built.

Browsers draw MathML by themselves, so the pages need neither a script nor a network for it.
"""

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx
from sphinx.writers.html5 import HTML5Translator


def _inline(self: HTML5Translator, node: nodes.math) -> None:
    self.body.append(convert(node.astext()))
    raise nodes.SkipNode


def _block(self: HTML5Translator, node: nodes.math_block) -> None:
    self.body.append(f'<div class="equation">{convert(node.astext(), display="block")}</div>\n')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, bool]:
    """Register the renderer under the name ``mathml``."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
