"""What is said of two logs on one clock."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pandas as pd

from lapwright.cli.printing.alignment_text import alignment_lines
from lapwright.two_logs import Alignment

FOUND = Alignment(400.0, 12.0, 0.003, 40e-6, 4e-6, 0.0, 731.0, 1.13, 0.21, 0.9)


def _log(name: str, start: str | None = None) -> Any:
    utc = None if start is None else pd.Timestamp(start)
    return SimpleNamespace(path=Path("a", name), start_utc=utc)


def _said(found: Alignment, *starts: str | None) -> list[str]:
    starts = starts or (None, None)
    logs = [_log(n, s) for n, s in zip(("phone.csv", "logger.csv"), starts, strict=True)]
    return alignment_lines(logs[0], logs[1], found, "km/h")


def test_offset_rate_and_what_is_left() -> None:
    # 40 ppm of 400 s are 0.016 s: 11.984 s at the begin; sd sqrt(0.003^2 + 0.0016^2) = 0.0034.
    assert _said(FOUND) == [
        "phone.csv and logger.csv: the same car, for 12:11 that both have.",
        "The first fix of phone.csv is 11.984 ± 0.003 s into logger.csv.",
        "The clock of logger.csv runs 40 ± 4 ppm faster than that of phone.csv: 0.144 ± 0.014 s "
        "in an hour.",
        "They differ by 1.1 m along the way and by 0.8 km/h (rms).",
    ]


def test_a_log_that_began_later_is_said_the_other_way_round() -> None:
    said = _said(replace(FOUND, offset_s=-12.0, rate=-40e-6))
    # -12 + 0.016 = -11.984 s at 0; 0 of the other is 11.984 s of the one, and a bit of the rate.
    assert said[1].startswith("The first fix of logger.csv is 11.984 ± 0.003 s into phone.csv")
    assert "ppm slower" in said[2]


def test_two_clocks_with_dates() -> None:
    said = _said(FOUND, "2026-02-06T10:00:00Z", "2026-02-06T10:00:05Z")
    # It began 5 s later by its own clock, and shows 12 s more: 17 s ahead.
    assert said[3] == "Its time of day is 17.000 ± 0.003 s ahead of that of phone.csv."
    said = _said(FOUND, "2026-02-06T10:00:30Z", "2026-02-06T10:00:05Z")
    assert said[3] == "Its time of day is 13.000 ± 0.003 s behind that of phone.csv."


def test_a_poor_fit_is_said() -> None:
    assert "allow for it" in _said(replace(FOUND, misfit=5.0))[-1]
