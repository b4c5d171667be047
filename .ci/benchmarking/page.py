"""The page of the docs that shows the figures: the part between two marks is written here."""

from pathlib import Path

from benchmarking.figures import FIGURES, MEGABYTES, Figure

BEGIN = "<!-- written by .ci/benchmark.py: begin -->"
END = "<!-- written by .ci/benchmark.py: end -->"


def table(machine: str, reached: dict[str, float]) -> str:
    """Return machine and figures as they stand between the marks."""
    rows = [
        "| what | measured | target | a change fails |",
        "|---|---|---|---|",
        *(_row(FIGURES[key], reached[key]) for key in FIGURES if key in reached),
    ]
    return "\n".join([f"{BEGIN}\n", f"Measured on: {machine}.", "", *rows, f"\n{END}"])


def written(page: Path, machine: str, reached: dict[str, float]) -> str:
    """Return a page with the figures in it."""
    before, begin, rest = page.read_text(encoding="utf-8").partition(BEGIN)
    _, end, after = rest.partition(END)
    if not (begin and end):
        msg = f"{page}: the marks are not in it: {BEGIN} and {END}"
        raise SystemExit(msg)
    return before + table(machine, reached) + after


def shown(figure: Figure, value: float) -> str:
    """Write one value with its unit."""
    digits = 0 if figure.unit == MEGABYTES else 2
    return f"{value:.{digits}f} {figure.unit}"


def _row(figure: Figure, value: float) -> str:
    than, most = ("below", "at least") if figure.more_is_better else ("above", "at most")
    target = "" if figure.target is None else f"{most} {figure.target:g}"
    fails = f"{than} {shown(figure, figure.limit(value))}" if figure.quick else ""
    return f"| {figure.label} | {shown(figure, value)} | {target} | {fails} |"
