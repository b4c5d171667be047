r"""
A mixed model of the clean laps of all sessions around a change to the car.

Lap :math:`i` of session :math:`s` takes

.. math::

   y_{si} = \mu + \sum_k \delta_k c_{sk} + \gamma l_{si} + \phi f_{si} + b (s - \bar s) + u_s
   + e_{si}

where :math:`c_{sk}` says whether change :math:`k` was on the car, :math:`l` is the lap within the
session (tyres, fuel), :math:`f` whether it is the first (cold tyres), :math:`b` the trend from
session to session (track and driver), :math:`u_s` each session's own shift and :math:`e` the laps'
scatter, which correlates from lap to lap.

One session on either side cannot tell :math:`b` and :math:`u` from the change, so both have priors:
sessions differ, and drift from one to the next, by a third or so of the driver's scatter from lap
to lap, and by a twentieth of a second even for the steadiest driver (common practice, no source).
A day gets quicker rather than slower, so the trend's prior is about a thousandth of the lap from
one session to the next.  Where there are more sessions they speak for themselves.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from lapwright.coaching.car_change.effect import BeforeAfter, CornerChange, MoreLaps
from lapwright.coaching.car_change.session_laps import SessionLaps
from lapwright.coaching.car_change.slow_laps import LEAST_SD_S, reined_in
from lapwright.numerics.mixed_model import Data, Fit, Prior, fit, nodes
from lapwright.numerics.student_t import t_quantile

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.intp]

# How far sessions lie apart for no known reason, and drift from one to the next, in lap-to-lap
# scatters; both at least so many seconds (common practice, no source).
SESSION_SHARE, TREND_SHARE, PRIOR_FLOOR_S = 0.35, 0.4, 0.05
# What the next session is quicker by, in shares of the lap: rubber goes down, the driver learns
# (common practice, no source).
TREND_MEAN = -0.001
# How far times drift from lap to lap of a session, in scatters (common practice, no source).
LAP_SHARE = 0.1
# How far the first lap of a session is off the others, in scatters (common practice, no source).
FIRST_LAP_SHARE = 2.0
# Laps beyond one for each change: fewer, and Student's t has no standard deviation.
MIN_SPARE = 5
MAX_SESSIONS = 20
SETTLE_S = 0.2
# Columns before the changes': mean, lap within the session, first lap; the trend is the last.
_FIRST = 3
_95 = 0.95


def changes_of(
    sessions: Sequence[SessionLaps], on_car: Flags, settle_s: float = SETTLE_S
) -> list[BeforeAfter]:
    """
    Estimate what each change did.

    Parameters
    ----------
    sessions : sequence of SessionLaps
        In the order they were driven; of one driver, one circuit and one surface.
    on_car : ndarray of bool, shape (sessions, changes)
        Whether a session was driven with the change.
    settle_s : float
        How narrow the interval should become; see `MoreLaps`.

    Returns
    -------
    list of BeforeAfter
        One for each change.
    """
    used = np.array([len(one) > 0 for one in sessions], dtype=bool)
    kept = [one for one in sessions if len(one)]
    state = on_car[used]
    return [_change(kept, state, k, settle_s) for k in range(on_car.shape[1])]


def _change(
    sessions: Sequence[SessionLaps], state: Flags, which: int, settle_s: float
) -> BeforeAfter:
    laps = int(np.median([len(one) for one in sessions])) if sessions else 0
    blank = _without_interval(sessions, state, which, MoreLaps(settle_s, None, laps))
    model = _fitted(sessions, state, _joined([one.time_s for one in sessions]), PRIOR_FLOOR_S)
    if model is None:
        return blank
    own, trend = model.estimate(_FIRST + which), model.estimate(_FIRST + state.shape[1])
    expected_s = TREND_MEAN * float(np.mean(_joined([one.time_s for one in sessions])))
    narrow = 0.5 * (own.high - own.low) <= settle_s
    needed = 0 if narrow else _more_sessions(model, state, which, settle_s, laps)
    return replace(
        blank, change_s=own.value, sd_s=own.sd, low95_s=own.low, high95_s=own.high,
        between_sd_s=model.between_sd, lap_sd_s=model.residual_sd,
        lap_correlation=model.mean_correlation, trend_s=expected_s + trend.value,
        trend_sd_s=trend.sd, more=MoreLaps(settle_s, needed, laps),
        corners=_corners(sessions, state, which),
    )  # fmt: skip


def _without_interval(
    sessions: Sequence[SessionLaps], state: Flags, which: int, more: MoreLaps
) -> BeforeAfter:
    """Say what there is, as if it told nothing."""
    with_it = state[:, which]
    sides = [
        _joined([one.time_s for one, on in zip(sessions, with_it, strict=True) if on == side])
        for side in (False, True)
    ]
    before, after = (float(side.mean()) if len(side) else np.nan for side in sides)
    wide, none = np.inf if min(len(side) for side in sides) else np.nan, np.nan
    return BeforeAfter(
        after - before, wide, -wide, wide, before, after, len(sides[0]), len(sides[1]),
        int((~with_it).sum()), int(with_it.sum()), none, none, none, none, none,
        _told_apart(state), more,
    )  # fmt: skip


def _joined(parts: Sequence[Floats]) -> Floats:
    return np.concatenate([np.zeros(0), *parts])


def _corners(sessions: Sequence[SessionLaps], state: Flags, which: int) -> tuple[CornerChange, ...]:
    """Estimate each corner's part, with intervals for all at once (Bonferroni)."""
    tables = [one.corner_s for one in sessions if one.corner_s is not None]
    if len(tables) < len(sessions):
        return ()
    lap_s = float(np.mean(np.concatenate([one.time_s for one in sessions])))
    columns = list(tables[0].columns)
    out = []
    for corner in columns:
        time = np.concatenate([table[corner].to_numpy(dtype=np.float64) for table in tables])
        if not np.isfinite(time).all():
            return ()
        # Parts of a lap that go their own ways have variances that add up to the lap's.
        floor = PRIOR_FLOOR_S * float(np.sqrt(time.mean() / lap_s))
        model = _fitted(sessions, state, time, floor)
        if model is None:
            return ()
        own = model.estimate(_FIRST + which, 1.0 - (1.0 - _95) / len(columns))
        out.append(CornerChange(int(corner), own.value, own.sd, own.low, own.high))
    return tuple(out)


def _fitted(
    sessions: Sequence[SessionLaps], state: Flags, time_s: Floats, floor_s: float
) -> Fit | None:
    """Fit the model; None where the sessions cannot tell the changes or leave nothing over."""
    if not len(sessions) or _rank(state) < 1 + state.shape[1]:
        return None
    count = np.array([len(one) for one in sessions])
    session = np.repeat(np.arange(len(sessions)), count)
    lap = np.concatenate([one.lap for one in sessions])
    if len(time_s) < state.shape[1] + MIN_SPARE:
        return None
    expected_s = TREND_MEAN * float(time_s.mean())
    time_s, scatter_s = reined_in(time_s, session, lap)
    usual, trend = (
        float(np.hypot(share, floor_s / scatter_s)) for share in (SESSION_SHARE, TREND_SHARE)
    )
    x = _design(session, lap, state)
    precision = np.zeros(x.shape[1])
    precision[[1, 2, -1]] = LAP_SHARE**-2.0, FIRST_LAP_SHARE**-2.0, trend**-2.0
    # From the trend that is expected, about which the fitted one is, and from the mean, so that
    # nothing is lost to rounding.
    time_s = time_s - expected_s * x[:, -1]
    data = Data(time_s - time_s.mean(), x, session, lap, precision, LEAST_SD_S)
    return fit(data, Prior(usual))


def _design(session: Whole, lap: Floats, state: Flags) -> Floats:
    order = np.arange(len(state)) - 0.5 * (len(state) - 1)
    return np.column_stack([
        np.ones(len(lap)), lap - lap.mean(), lap == 0.0, state[session], order[session],
    ]).astype(np.float64)  # fmt: skip


def _rank(state: Flags) -> int:
    return int(np.linalg.matrix_rank(np.column_stack([np.ones(len(state)), state])))


def _told_apart(state: Flags) -> bool:
    """Whether the sessions can tell a straight trend from the changes."""
    order = np.arange(len(state), dtype=np.float64)
    columns = np.column_stack([np.ones(len(state)), state, order])
    return len(state) > 0 and int(np.linalg.matrix_rank(columns)) == columns.shape[1]


def _more_sessions(
    model: Fit, state: Flags, which: int, settle_s: float, laps: int
) -> int | None:  # fmt: skip
    """Count the sessions, with and without the change in turn, that would narrow the interval."""
    spread = np.array([model.weight @ model.spread])
    variance = float(model.weight @ model.variance)

    def half_width(more: int) -> float:
        rows = np.tile(state[-1], (more, 1))
        # Without it first if it is on the car now, then with it, and so on.
        rows[::2, which] = ~state[-1, which]
        grown = np.vstack([state, rows])
        session = np.append(model.data.group, np.repeat(len(state) + np.arange(more), laps))
        lap = np.append(model.data.place, np.tile(np.arange(float(laps)), more))
        x = _design(session, lap, grown)
        data = Data(np.zeros(len(x)), x, session, lap, model.data.precision)
        inverse = nodes(data, spread, model.mean_correlation).inverse[0]
        sd = float(np.sqrt(variance * inverse[_FIRST + which, _FIRST + which]))
        return t_quantile(0.5 + 0.5 * _95, float(data.dof)) * sd

    few = bisect_left(range(MAX_SESSIONS), True, key=lambda n: half_width(n + 1) <= settle_s)
    return few + 1 if few < MAX_SESSIONS else None
