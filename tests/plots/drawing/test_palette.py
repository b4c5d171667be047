"""Every colour of text and lines against its ground, by the formula of WCAG 2.2."""

import re
from dataclasses import fields
from importlib.resources import files

import pytest
from matplotlib import rcParamsDefault
from matplotlib.style import context

from lapwright.plots.drawing.palette import DARK, LIGHT, Palette
from lapwright.plots.drawing.style import COLOURS, DASHES, SHEET

# WCAG 2.2, success criteria 1.4.3 (text) and 1.4.11 (lines and marks).
TEXT, LINE = 4.5, 3.0


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2, section 'Terms'."""
    parts = [int(colour.lstrip("#")[k : k + 2], 16) / 255.0 for k in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, two: str) -> float:
    """Contrast ratio, WCAG 2.2, section 'Terms'."""
    light, dark = sorted((luminance(one), luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("colour", "on_white", "on_black"),
    [
        # Okabe and Ito 2008, as 8-bit sRGB in matplotlib's "okabe_ito"; ratios from the WCAG 2.2
        # formula, worked out apart from this test to three digits.
        ("#000000", 21.000, 1.000),
        ("#e69f00", 2.252, 9.324),
        ("#56b4e9", 2.307, 9.101),
        ("#009e73", 3.421, 6.138),
        ("#f0e442", 1.322, 15.881),
        ("#0072b2", 5.185, 4.050),
        ("#d55e00", 3.867, 5.430),
        ("#cc79a7", 3.061, 6.860),
        # Greys: lightest with 4.5 : 1, 3 : 1 and 7 : 1 on white.
        ("#767676", 4.542, 4.623),
        ("#949494", 3.033, 6.923),
        ("#595959", 7.005, 2.998),
    ],
)
def test_formula_gives_the_known_ratios(colour: str, on_white: float, on_black: float) -> None:
    # Half a unit of the last digit given.
    assert contrast(colour, "#ffffff") == pytest.approx(on_white, abs=5e-4)
    assert contrast(colour, "#000000") == pytest.approx(on_black, abs=5e-4)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("role", ["ink", "quiet", "best"])
@pytest.mark.parametrize("ground", ["page", "panel"])
def test_text_can_be_read(palette: Palette, role: str, ground: str) -> None:
    assert contrast(getattr(palette, role), getattr(palette, ground)) >= TEXT


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("role", ["axis", "best", "usual", "other", "gained", "lost", "mark"])
def test_lines_can_be_seen(palette: Palette, role: str) -> None:
    assert contrast(getattr(palette, role), palette.panel) >= LINE


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_caution_bar_can_be_seen_on_its_panel(palette: Palette) -> None:
    assert contrast(palette.usual, palette.panel) >= LINE


def test_lines_of_several_laps_differ_in_dash_as_well_as_colour() -> None:
    assert len(set(COLOURS)) == len(COLOURS) == len({str(d) for d in DASHES})
    assert all(contrast(colour, LIGHT.panel) >= LINE for colour in COLOURS)


def test_the_style_sheet_has_the_same_colours_and_dashes() -> None:
    with context(SHEET) as _:
        from matplotlib import rcParams

        cycle = rcParams["axes.prop_cycle"].by_key()
        assert [f"#{c.lower().lstrip('#')}" for c in cycle["color"]] == list(COLOURS)
        assert [str(d) for d in cycle["linestyle"]] == [str(d) for d in DASHES]
        texts = ("text.color", "axes.labelcolor", "xtick.labelcolor", "ytick.labelcolor")
        for name in texts:
            value = rcParams[name]
            value = value if str(value).startswith("#") else f"#{value}"
            assert contrast(value, LIGHT.panel) >= TEXT, name
    assert rcParamsDefault["axes.prop_cycle"] is not None


def test_the_page_takes_every_colour_from_the_palette() -> None:
    css = (files("lapwright.report.html") / "page.css").read_text(encoding="utf-8")
    # In a declaration, so that the name of an element is not taken for one.
    assert re.findall(r":[^;{}]*#[0-9a-fA-F]{3,8}", css) == []
    assert "rgb(" not in css
    names = {f.name for f in fields(Palette)}
    used = {part.split(")")[0] for part in css.split("var(--")[1:]}
    assert used <= names
