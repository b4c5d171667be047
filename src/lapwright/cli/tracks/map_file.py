"""A circuit's map as a file: SVG, whose names stay text, or PNG."""

import warnings
from pathlib import Path
from typing import Any

from lapwright.geometry import Track
from lapwright.outputs import whole_file
from lapwright.plots import track_preview
from lapwright.plots.drawing.style import SHEET
from lapwright.units import Units

ENDINGS = (".svg", ".png")


def write_map(track: Track, file: Path, units: Units) -> tuple[str, ...]:
    """
    Draw a circuit to a file, whole or not at all.

    Parameters
    ----------
    track : Track
        With a path.
    file : Path
        Its ending says whether it is SVG or PNG.
    units : Units

    Returns
    -------
    tuple of str
        What is not as it should be on it, a sentence each.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    # Drawn twice, an SVG is the same to the byte.
    style: list[str | Path | dict[str, Any]] = [SHEET, {"svg.hashsalt": "lapwright"}]
    with warnings.catch_warnings(record=True) as caught, plt.style.context(style):
        warnings.simplefilter("always")
        figure = track_preview(track, units=units).get_figure(root=True)
        assert figure is not None
        try:
            with whole_file(file) as part:
                plain = {"Date": None} if file.suffix.lower() == ".svg" else None
                figure.savefig(
                    part, format=file.suffix[1:].lower(), dpi=200, bbox_inches="tight",
                    metadata=plain,
                )  # fmt: skip
        finally:
            plt.close("all")
    glyphs = any("missing from font" in str(one.message) for one in caught)
    if glyphs and file.suffix.lower() == ".png":
        # An SVG is drawn with the fonts of whoever looks at it.
        return ("map: the font of the PNG lacks some letters; write an .svg instead",)
    return ()
