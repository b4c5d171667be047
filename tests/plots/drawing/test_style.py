"""Names on a figure are drawn as they are typed."""

import io

import matplotlib as mpl
import matplotlib.pyplot as plt
import pytest
from hypothesis import given, settings
from lxml import etree
from nasty import NASTY, cannot_be_seen, texts

from lapwright.escaping.unseen import visible
from lapwright.plots.drawing.style import SHEET, drawing


def drawn(text: str) -> bytes:
    """Title, label, legend and a note in an SVG, where letters stay letters."""
    file = io.BytesIO()
    with plt.style.context(SHEET):
        with drawing(None) as ax:
            ax.plot([0.0, 1.0], [0.0, 1.0], label=f"n{text}")
            ax.set(title=text, xlabel=text)
            ax.annotate(text, (0.5, 0.5))
            ax.legend()
        ax.figure.savefig(file, format="svg")
    plt.close("all")
    return file.getvalue()


@pytest.mark.filterwarnings("ignore:Glyph .* missing")
@settings(max_examples=10, deadline=None)
@given(texts)
def test_any_text_can_be_drawn(text: str) -> None:
    mpl.use("Agg")
    assert cannot_be_seen(drawn(text).decode()) == []


@pytest.mark.filterwarnings("ignore:Glyph .* missing")
def test_a_picture_says_what_was_typed() -> None:
    for text in (t for t in NASTY if "\n" not in t):
        picture = etree.fromstring(drawn(text), etree.XMLParser(remove_comments=True))
        said = {"".join(e.itertext()).strip() for e in picture.iter("{*}text")}
        assert visible(text).strip() in said, text
        assert f"n{visible(text)}".strip() in said, text
