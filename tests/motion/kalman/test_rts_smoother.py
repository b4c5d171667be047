"""The smoother against plain recursions, printed figures, closed forms and other libraries."""

import numpy as np
import numpy.typing as npt
import pytest
from motion_oracles import ORDINARY, plain_recursion, uneven_times
from scipy.interpolate import make_smoothing_spline
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

from lapwright.motion.kalman.blocks import StateSpace
from lapwright.motion.kalman.model import axis_start_cov, axis_step
from lapwright.motion.kalman.rts_smoother import SmoothedStates, smooth
from lapwright.numerics.batched_systems import Entries

Floats = npt.NDArray[np.float64]


def repeated(matrix: list[list[float]] | Floats, count: int) -> Entries:
    """The same matrix at every node."""
    return Entries.of(np.tile(np.asarray(matrix, dtype=float), (count, 1, 1)))


def steady(
    f: list[list[float]], q: Floats, var: float, y: Floats, start_cov: Floats,
    start_mean: Floats | None = None,
) -> SmoothedStates:  # fmt: skip
    """Smooth evenly sampled values of the first state; NaN is no measurement."""
    n, k = len(y), len(f)
    columns = y[:, None, None] if y.ndim == 1 else y[:, None, :]
    seen = np.isfinite(columns[:, :, 0])
    mean = np.zeros((k, columns.shape[2])) if start_mean is None else start_mean
    return alone(
        StateSpace(
            repeated(f, n - 1), repeated(q, n - 1), repeated([[1.0] + [0.0] * (k - 1)], n),
            np.where(seen, var, np.inf), columns, mean, start_cov,
        )
    )  # fmt: skip


def alone(model: StateSpace) -> SmoothedStates:
    return smooth([model])[0]


@pytest.fixture(scope="module")
def five_rates() -> list[tuple[StateSpace, Floats, Floats]]:
    """Car models at 1, 10, 25, 50 and 100 Hz, with the plain recursion in long double."""
    rng = np.random.default_rng(1)
    rates, n, k = (1.0, 10.0, 25.0, 50.0, 100.0), 2000, 5
    h = np.zeros((2, k))
    h[0, [0, 3]] = h[1, [1, 4]] = 1.0
    models, f, q, y = [], [], [], []
    var = np.tile([ORDINARY.white_m**2, ORDINARY.speed_mps**2], (n, 1))
    var[::7] *= 4.0
    start_cov = axis_start_cov(ORDINARY)
    for rate in rates:
        time = uneven_times(rng, n, rate)
        # A circle of 100 m with a lap in 20 s, and drift: thousands of metres a second squared
        # are not needed to lose digits, small steps are.
        angle = 2.0 * np.pi * time / 20.0
        place = 100.0 * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
        speed = np.gradient(place, time, axis=0)
        value = np.stack([place, speed], axis=1)
        value += np.array([0.3, 0.05])[:, None] * rng.standard_normal(value.shape)
        step_f, step_q = axis_step(np.diff(time), ORDINARY)
        start = np.zeros((k, 2))
        models.append(StateSpace(step_f, step_q, repeated(h, n), var, value, start, start_cov))
        f.append(step_f.dense(n - 1))
        q.append(step_q.dense(n - 1))
        y.append(value)
    means, covs = plain_recursion(
        np.stack(f, axis=1), np.stack(q, axis=1), h, var, np.stack(y, axis=1),
        np.zeros((5, k, 2)), np.tile(start_cov, (5, 1, 1)),
    )  # fmt: skip
    return [(m, means[:, i], covs[:, i]) for i, m in enumerate(models)]


@pytest.mark.parametrize("rate", range(5), ids=["1 Hz", "10 Hz", "25 Hz", "50 Hz", "100 Hz"])
def test_smoother_equals_a_plain_recursion_in_long_double(
    five_rates: list[tuple[StateSpace, Floats, Floats]], rate: int
) -> None:
    model, mean, cov = five_rates[rate]
    states = alone(model)
    off = states.mean - mean
    assert np.abs(off[:, 0]).max() < 1e-6  # m, position
    # Every state against its own standard deviation.
    sds = np.sqrt(np.einsum("nii->ni", cov)).astype(float)
    assert (np.abs(off) / sds[:, :, None]).max() < 1e-6
    every = states.cov[np.arange(len(mean))]
    off_cov = np.abs(every - cov) / (sds[:, :, None] * sds[:, None, :])
    assert off_cov.max() < 1e-6
    diagonal = np.stack([states.cov.diagonal(i) for i in range(5)], axis=-1)
    np.testing.assert_allclose(diagonal, sds**2, rtol=1e-6)


def test_likelihood_and_result_do_not_depend_on_where_the_blocks_end(
    five_rates: list[tuple[StateSpace, Floats, Floats]],
) -> None:
    # The filtered covariance at a node knows nothing of later ones, nor of the blocks.
    model, *_ = five_rates[2]
    whole = alone(model)
    for n in (1, 2, 3, 50, 51, 301):
        cut = alone(
            StateSpace(
                Entries((5, 5), {p: v[: n - 1] for p, v in model.transition.values.items()}),
                Entries((5, 5), {p: v[: n - 1] for p, v in model.process_cov.values.items()}),
                Entries((2, 5), {p: v[:n] for p, v in model.observation.values.items()}),
                model.observation_var[:n], model.value[:n], model.start_mean, model.start_cov,
            )
        )  # fmt: skip
        last = np.array([n - 1])
        np.testing.assert_allclose(
            cut.cov[last][0], whole.filtered_cov[last][0], rtol=1e-9, atol=1e-13
        )


def test_several_models_at_once_are_each_by_itself(
    five_rates: list[tuple[StateSpace, Floats, Floats]],
) -> None:
    # Other noises and starts, and a number of fixes that does not fill the last block.
    base, *_ = five_rates[1]
    n = 1003
    assert n % int(np.sqrt(n * 5 / 15.0))
    of_noise = []
    for accel, white in ((1.0, 1.0), (3.0, 0.2), (0.5, 9.0)):
        f, q = (
            {p: v[: n - 1] for p, v in e.values.items()}
            for e in (base.transition, base.process_cov)
        )
        q = {p: accel * v for p, v in q.items()}
        of_noise.append(
            StateSpace(
                Entries((5, 5), f), Entries((5, 5), q),
                Entries((2, 5), {p: v[:n] for p, v in base.observation.values.items()}),
                white * base.observation_var[:n], base.value[:n], white * base.start_mean,
                accel * base.start_cov,
            )
        )  # fmt: skip
    every = np.arange(n)
    for model, found in zip(of_noise, smooth(of_noise), strict=True):
        expected = alone(model)
        np.testing.assert_allclose(found.mean, expected.mean, rtol=1e-9, atol=1e-9)
        for name in ("cov", "filtered_cov", "gain"):
            np.testing.assert_allclose(
                getattr(found, name)[every], getattr(expected, name)[every], rtol=1e-7, atol=1e-11
            )
        np.testing.assert_allclose(found.block_gain, expected.block_gain, rtol=1e-7, atol=1e-11)
        assert found.log_likelihood == pytest.approx(expected.log_likelihood, rel=1e-12)


def test_agrees_with_statsmodels_on_a_short_uneven_session() -> None:
    # An independent general state-space library, with time-varying matrices.
    rng = np.random.default_rng(4)
    n, k = 60, 5
    time = uneven_times(rng, n, 5.0)
    f, q = axis_step(np.diff(time), ORDINARY)
    value = np.stack([30.0 * time, np.full(n, 30.0)], axis=-1) + rng.standard_normal((n, 2))
    var = np.tile([0.09, 0.0025], (n, 1))
    var[10:14] = np.inf
    h = np.zeros((2, k))
    h[0, [0, 3]] = h[1, [1, 4]] = 1.0
    start = np.zeros((k, 1))
    cov = axis_start_cov(ORDINARY)
    ours = alone(StateSpace(f, q, repeated(h, n), var, value[:, :, None], start, cov))
    theirs = KalmanSmoother(k_endog=2, k_states=k)
    observed = np.where(np.isfinite(var), value, np.nan)
    theirs.bind(observed)
    still = np.zeros((k, k, 1))
    theirs["design"], theirs["selection"] = h, np.eye(k)
    theirs["transition"] = np.concatenate(
        [np.moveaxis(f.dense(n - 1), 0, -1), np.eye(k)[:, :, None]], axis=-1
    )
    theirs["state_cov"] = np.concatenate([np.moveaxis(q.dense(n - 1), 0, -1), still], axis=-1)
    theirs["obs_cov"] = np.diag([0.09, 0.0025])
    theirs.initialize_known(start[:, 0], cov)
    result = theirs.smooth()
    np.testing.assert_allclose(ours.mean[:, :, 0], result.smoothed_state.T, atol=1e-6)
    # The library's own error on the drift's covariance is 1e-10 m2 here.
    np.testing.assert_allclose(
        ours.cov[np.arange(n)], np.moveaxis(result.smoothed_state_cov, -1, 0), rtol=1e-6, atol=1e-9
    )
    assert ours.log_likelihood == pytest.approx(result.llf_obs.sum(), abs=1e-6)


# Annual volume of the Nile at Aswan 1871 to 1970, a public data set (in statsmodels), and figures
# of the local level model with variances 15099 and 1469.1: J. Durbin and S. J. Koopman, "Time
# Series Analysis by State Space Methods", section 2.  Recomputed with statsmodels 0.15.0.
NILE = [
    1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180,
    799, 958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833,
    701, 916, 692, 1020, 1050, 969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845,
    864, 862, 698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897, 822, 1010, 771, 676,
    649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923,
    975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
]  # fmt: skip
NILE_NOISE, NILE_STEP = 15099.0, 1469.1


def nile(volume: Floats) -> SmoothedStates:
    # A diffuse start knows after the first year exactly that year.
    known = volume.astype(float)
    known[0] = np.nan
    cov, mean = np.array([[NILE_NOISE]]), np.array([[float(NILE[0])]])
    return steady([[1.0]], np.array([[NILE_STEP]]), NILE_NOISE, known, cov, mean)


def test_nile_local_level() -> None:
    states = nile(np.array(NILE))
    # Year, smoothed mean, smoothed variance.
    for year, mean, var in (
        (1871, 1111.6683, 4032.1579),
        (1872, 1110.8577, 3242.9301),
        (1873, 1105.2656, 2818.9422),
        (1880, 1097.7216, 2333.1129),
        (1899, 950.930, 2326.757),
        (1970, 798.370, 4032.158),
    ):
        assert states.mean[year - 1871, 0, 0] == pytest.approx(mean, abs=1e-3)
        assert states.cov.diagonal(0)[year - 1871] == pytest.approx(var, abs=1e-3)
    # Filtered: the state of the last year of a record cut there.
    for years, mean, var in ((2, 1140.9278, 7899.7364), (9, 1171.3012, 4067.8219)):
        cut = nile(np.array(NILE[:years]))
        assert cut.mean[-1, 0, 0] == pytest.approx(mean, abs=1e-3)
        assert states.filtered_cov.diagonal(0)[years - 1] == pytest.approx(var, abs=1e-3)
    # 99 terms in log 2 pi, as the book counts.
    assert states.log_likelihood == pytest.approx(-632.5456, abs=1e-4)


def test_nile_steady_state() -> None:
    # Closed forms of the local level model: filtered 4032.158, smoothed s2 sqrt(q / (q + 4)).
    states = nile(np.array(NILE))
    assert states.filtered_cov.diagonal(0)[-1] == pytest.approx(4032.158, abs=1e-3)
    q = NILE_STEP / NILE_NOISE
    assert states.cov.diagonal(0)[50] == pytest.approx(
        NILE_NOISE * np.sqrt(q / (q + 4.0)), rel=1e-9
    )


def test_variance_grows_by_the_same_amount_every_step_of_a_gap() -> None:
    # Durbin & Koopman section 2.7: no news, so the level's variance is added each year.
    volume = np.array(NILE, dtype=float)
    volume[80:] = np.nan
    var = nile(volume).filtered_cov.diagonal(0)
    np.testing.assert_allclose(np.diff(var[79:]), NILE_STEP, rtol=1e-9)


def integrated_noise(order: int, q: float, step_s: float) -> tuple[list[list[float]], Floats]:
    """White noise of spectral density q integrated ``order`` times (Bar-Shalom et al. 2001)."""
    factorial = [1.0, 1.0, 2.0]
    f = [
        [step_s ** (j - i) / factorial[j - i] if j >= i else 0.0 for j in range(order)]
        for i in range(order)
    ]
    cov = np.empty((order, order))
    for i in range(order):
        for j in range(order):
            a, b = order - 1 - i, order - 1 - j
            cov[i, j] = q * step_s ** (a + b + 1) / (a + b + 1) / factorial[a] / factorial[b]
    return f, cov


@pytest.mark.parametrize(("order", "factor"), [(2, 2**0.5), (3, 2.0)])
def test_steady_state_variances_of_integrated_white_noise(order: int, factor: float) -> None:
    # Wiener filter; Y. Bar-Shalom, X. R. Li and T. Kirubarajan, "Estimation with Applications to
    # Tracking and Navigation", Wiley 2001: variance of the position filtered, and 1 / (2 n) of it
    # smoothed.  Sampled at 100 Hz the smoothed variance is that of continuous time to 0.1 %;
    # the filtered one lies between those before and after a fix, half a step apart.
    q, rate, n = 4.0, 100.0, 6001
    f, cov = integrated_noise(order, q, 1.0 / rate)
    states = steady(f, cov, 1.0, np.zeros(n), 100.0 * np.eye(order))
    # n = 2: sqrt 2 q^1/4 R^3/4; n = 3: 2 q^1/6 R^5/6.
    expected = factor * q ** (0.5 / order) / rate ** (1.0 - 0.5 / order)
    after = states.filtered_cov[np.array([n // 2])][0]
    before = (np.array(f) @ after @ np.array(f).T + cov)[0, 0]
    assert np.sqrt(after[0, 0] * before) == pytest.approx(expected, rel=1e-3)
    assert states.cov.diagonal(0)[n // 2] == pytest.approx(expected / (2 * order), rel=1e-3)
    if order == 2:
        # The same source: 0.015811 m2, and q^3/4 R^1/4 / (2 sqrt 2) = 0.316228 of the velocity.
        assert states.cov.diagonal(0)[n // 2] == pytest.approx(0.015811, rel=1e-3)
        assert states.cov.diagonal(1)[n // 2] == pytest.approx(0.316228, rel=1e-3)


def test_smoother_is_the_cubic_smoothing_spline() -> None:
    # G. Wahba, "Improper priors, spline smoothing and the problem of guarding against model
    # errors", JRSS B 40 (1978) 364-372: lambda = sigma2 / q with a diffuse start.
    rng = np.random.default_rng(7)
    n, q, var = 80, 4.0, 0.25
    x = np.cumsum(rng.uniform(0.2, 1.0, n))
    y = np.sin(x) + 0.5 * rng.standard_normal(n)
    f = np.stack([np.array(integrated_noise(2, q, d)[0]) for d in np.diff(x)])
    cov = np.stack([integrated_noise(2, q, d)[1] for d in np.diff(x)])
    states = alone(
        StateSpace(
            Entries.of(f), Entries.of(cov), repeated([[1.0, 0.0]], n), np.full((n, 1), var),
            y[:, None, None], np.zeros((2, 1)), 1e8 * np.eye(2),
        )
    )  # fmt: skip
    spline = make_smoothing_spline(x, y, lam=var / q)
    np.testing.assert_allclose(states.mean[:, 0, 0], spline(x), atol=1e-6)
    np.testing.assert_allclose(states.mean[:, 1, 0], spline.derivative()(x), atol=1e-6)


@pytest.mark.parametrize(
    ("weight", "y", "expected"),
    [
        (1.0, [0, 0, 1, 0, 0], [1 / 24, 1 / 4, 5 / 12, 1 / 4, 1 / 24]),
        (10.0, [1, 3, 2, 5, 4, 6],
         [4691 / 3661, 7983 / 3661, 1596 / 523, 2065 / 523, 17644 / 3661, 20936 / 3661]),
        (1600.0, [2, 4, 6, 8, 10, 12, 14], [2, 4, 6, 8, 10, 12, 14]),
    ],
)  # fmt: skip
def test_whittaker_and_hodrick_prescott_filter(
    weight: float, y: list[float], expected: list[float]
) -> None:
    # E. T. Whittaker 1923, order 2: exact algebra (sympy), equal to statsmodels' hpfilter; a
    # straight line is unchanged.  As a state space: second differences of variance 1 / weight.
    # The diffuse start of 1e8 is felt at 1e-7.
    f = [[2.0, -1.0], [1.0, 0.0]]
    cov = np.diag([1.0 / weight, 0.0])
    states = steady(f, cov, 1.0, np.array(y, dtype=float), 1e8 * np.eye(2))
    np.testing.assert_allclose(states.mean[:, 0, 0], expected, atol=1e-6)


@pytest.mark.parametrize(("index", "alpha", "beta"), [(1.0, 0.75, 0.5), (0.1, 0.36, 0.08)])
def test_alpha_beta_filter(index: float, alpha: float, beta: float) -> None:
    # P. R. Kalata, "The tracking index", IEEE Trans. AES-20 (1984) 174-182: r = (4 + L - sqrt(8 L
    # + L2)) / 4, alpha = 1 - r2, beta = 2 (2 - alpha) - 4 sqrt(1 - alpha); confirmed by solving
    # the Riccati equation.  Gains from the filtered covariance: K = P h / R, with T = 1, R = 1.
    kick = np.array([0.5, 1.0]) * index
    states = steady(
        [[1.0, 1.0], [0.0, 1.0]], np.outer(kick, kick), 1.0, np.zeros(400), 100.0 * np.eye(2)
    )
    gain = states.filtered_cov[np.array([399])][0][:, 0]
    np.testing.assert_allclose(gain, [alpha, beta], atol=1e-9)


def test_integrated_doppler_and_position() -> None:
    # White position (1 m) and white Doppler (0.05 m/s) at 10 Hz: position minus integrated speed
    # is the case n = 1, smoothed to sqrt(sigma sigma_v / 2 f) = 0.0500 m, within 1 %.
    rng = np.random.default_rng(3)
    n, sessions = 20_000, 40
    speed_error = 0.05 * rng.standard_normal((n, sessions))
    walked = np.cumsum(speed_error, axis=0) / 10.0
    y = walked + rng.standard_normal((n, sessions))
    start = np.array([[100.0**2]])
    states = steady([[1.0]], np.array([[(0.05 / 10.0) ** 2]]), 1.0, y, start)
    assert np.sqrt(states.cov.diagonal(0)[n // 2]) == pytest.approx(0.05, rel=0.01)
    # The errors too: 40 sessions of 2000 s hold some 40 x 2000 / 40 independent ones: 1.6 %.
    middle = (states.mean[:, 0] - walked)[2000:-2000]
    assert np.sqrt((middle**2).mean()) == pytest.approx(0.05, rel=0.05)


# Cramer-Rao bound of the time at which a car of unknown constant speed v crosses a line, from N
# fixes at rate f with white error sigma: (sigma / v) sqrt(1 / N + (tbar - t)2 / sum (tk - tbar)2);
# S. M. Kay, "Fundamentals of Statistical Signal Processing: Estimation Theory", 1993, ch. 3 and 4
# (line fitting); figures recomputed and checked by 400 000 draws each.
@pytest.mark.parametrize(
    ("speed", "sigma", "rate", "fixes", "crossing", "bound_ms"),
    [
        (40, 1.0, 10, 10, "centre", 7.9057),
        (40, 1.0, 10, 20, "centre", 5.5902),
        (20, 1.0, 10, 10, "centre", 15.8114),
        (55, 0.02, 10, 10, "centre", 0.1150),
        (40, 0.5, 25, 25, "centre", 2.5000),
        (40, 1.0, 1, 4, "centre", 12.5000),
        (40, 1.0, 10, 10, "end", 14.6938),
    ],
)
def test_crossing_time_meets_the_bound(
    speed: float, sigma: float, rate: float, fixes: int, crossing: str, bound_ms: float
) -> None:
    time = np.arange(fixes) / rate
    cross_s = time.mean() if crossing == "centre" else time[-1]
    rng = np.random.default_rng(fixes)
    draws = 20_000
    y = (speed * (time - cross_s))[:, None] + sigma * rng.standard_normal((fixes, draws))
    f, cov = integrated_noise(2, 0.0, 1.0 / rate)
    states = steady(f, cov, sigma**2, y, np.diag([100.0**2, 60.0**2]))
    # Place at the crossing, by the last fix's state carried there.
    back = np.array([1.0, cross_s - time[-1]])
    place = back @ states.mean[-1]
    found = cross_s - place / states.mean[-1, 1]
    claimed = np.sqrt(back @ states.cov[np.array([fixes - 1])][0] @ back) / speed
    assert 1e3 * claimed == pytest.approx(bound_ms, rel=0.02)
    # 20 000 draws give a standard deviation to 0.5 %.
    assert 1e3 * np.sqrt(np.mean((found - cross_s) ** 2)) == pytest.approx(bound_ms, rel=0.02)
