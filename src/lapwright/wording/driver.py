"""What is said of the driver's own channels: names, and a sentence or two for a corner's card."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from lapwright.columns import records
from lapwright.units import decimals_for

WORDS = {"throttle": "throttle", "brake": "brake", "steering": "steering", "rpm": "engine speed"}
# Coasting shorter than this on the usual lap is a foot going from one pedal to the other (common
# practice, no source), and is not worth a sentence.
_MIN_COAST_S = 0.25
# Of fewer clean laps nothing is usual.
_MIN_LAPS = 3
# What is done on so many of them is a habit worth a sentence.
_OFTEN = 1 / 3


def channel_name(role: str, unit: str) -> str:
    """
    Name a channel for an axis.

    Examples
    --------
    >>> channel_name("brake", "bar"), channel_name("steering", "")
    ('brake [bar]', 'steering')
    """
    if role not in WORDS:
        msg = f"{role!r} is not a channel that is drawn; use {', '.join(WORDS)}"
        raise ValueError(msg)
    return f"{WORDS[role]} [{unit}]" if unit else WORDS[role]


def driver_words(
    driver: pd.DataFrame, coasting: pd.DataFrame, corner: int, clean: Sequence[int],
    best: int | None,
) -> list[str]:  # fmt: skip
    """
    Say what the driver's channels show in one corner.

    Parameters
    ----------
    driver, coasting : DataFrame
        As in `lapwright.Session`.
    corner : int
    clean : sequence of int
        Clean laps.
    best : int or None

    Returns
    -------
    list of str
        Two sentences at most; none where the log has no such channels, or nothing stands out.
    """
    if driver.empty and coasting.empty:
        return []
    here = driver[driver["corner"] == corner]
    usual = here[here["lap"].isin(clean)]
    said = [*_coasting(usual, here[here["lap"] == best]), *_cost(coasting, corner)]
    return [*said, *_hesitations(usual)][:2]


def _coasting(usual: pd.DataFrame, best: pd.DataFrame) -> list[str]:
    known = usual.dropna(subset=["coast_s"])
    if len(known) < _MIN_LAPS or known["coast_s"].median() < _MIN_COAST_S:
        return []
    sd = float(known["coast_sd_s"].median())
    most = decimals_for(sd, 2)
    text = f"You usually coast {known['coast_s'].median():.{most}f} s between brakes and throttle"
    own = float(best["coast_s"].iloc[0]) if len(best) else np.nan
    beside = f", {own:.{most}f} s on the best lap" if np.isfinite(own) else ""
    return [f"{text} here{beside} (each lap \N{PLUS-MINUS SIGN} {sd:.{most}f} s)."]


def _cost(coasting: pd.DataFrame, corner: int) -> list[str]:
    """Only a difference that luck alone does not explain, whichever way it went."""
    for row in records(coasting[coasting["corner"] == corner]):
        if row["cost_low95_s"] <= 0.0 <= row["cost_high95_s"]:
            return []
        most = decimals_for(row["cost_sd_s"], 3)
        word = "slower" if row["cost_s"] > 0.0 else "quicker"
        return [
            f"The {row['more_laps']} clean laps with more coasting here were "
            f"{abs(row['cost_s']):.{most}f} \N{PLUS-MINUS SIGN} {row['cost_sd_s']:.{most}f} s "
            f"{word} from this braking zone to the next than the {row['less_laps']} with less. "
            "Coasting need not be the reason."
        ]
    return []


def _hesitations(usual: pd.DataFrame) -> list[str]:
    known = usual.dropna(subset=["hesitations"])
    with_any = known[known["hesitations"] > 0]
    if len(known) < _MIN_LAPS or len(with_any) <= _OFTEN * len(known):
        return []
    took, sd = (float(with_any[f"hesitation_{name}"].median()) for name in ("s", "sd_s"))
    most = decimals_for(sd, 2)
    return [
        f"You closed the throttle again before it was fully open on {len(with_any)} of "
        f"{len(known)} clean laps, for {took:.{most}f} \N{PLUS-MINUS SIGN} {sd:.{most}f} s."
    ]
