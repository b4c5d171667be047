"""Receiving: every documented argument of a receiver does what it says."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright import simulate as sim

PERFECT = sim.Receiver(white_m=0.0, drift_m=0.0, doppler_mps=0.0, slow_mps=0.0)


def _error(recording: sim.Recording) -> np.ndarray:
    """Position error on the plane. [m]"""
    fixes = recording.fixes
    found = recording.run.circuit.to_plane(fixes[["lat_deg", "lon_deg"]].to_numpy())
    return np.asarray(found - recording.run.position(fixes["true_time_s"].to_numpy()))


def test_perfect_receiver_returns_the_truth(short_run: sim.TrueRun) -> None:
    recording = sim.receive(short_run, PERFECT, 1)
    assert np.abs(_error(recording)).max() < 1e-6
    fixes = recording.fixes
    time_s = fixes["true_time_s"].to_numpy()
    np.testing.assert_array_equal(fixes["stamp_s"], time_s)
    velocity = short_run.velocity(time_s)
    np.testing.assert_allclose(fixes["speed_mps"], np.hypot(*velocity.T), rtol=0, atol=1e-12)
    course = np.radians(fixes["course_deg"].to_numpy())
    # Clockwise from north.
    np.testing.assert_allclose(
        np.sin(course) * fixes["speed_mps"], velocity[:, 0], rtol=0, atol=1e-9
    )
    np.testing.assert_allclose(
        np.cos(course) * fixes["speed_mps"], velocity[:, 1], rtol=0, atol=1e-9
    )
    assert fixes["course_deg"].between(0, 360, inclusive="left").all()


@pytest.mark.parametrize("rate", [1.0, 5.0, 18.0, 50.0])
def test_rate(short_run: sim.TrueRun, rate: float) -> None:
    recording = sim.receive(short_run, replace(PERFECT, rate_hz=rate), 2)
    assert len(recording.fixes) == pytest.approx(short_run.duration_s * rate, abs=2)
    np.testing.assert_allclose(np.diff(recording.fixes["stamp_s"]), 1 / rate, rtol=0, atol=1e-9)
    assert 0 <= recording.zero_s <= 1 / rate + 1e-3
    assert recording.log().rate_hz == rate


def test_seed_decides_the_errors(short_run: sim.TrueRun) -> None:
    a, b, c = (sim.receive(short_run, seed=s).fixes for s in (1, 1, 2))
    assert a.equals(b)
    assert not np.allclose(a["lat_deg"].iloc[:100], c["lat_deg"].iloc[:100], atol=1e-9, rtol=0)


def test_white_position_error(short_run: sim.TrueRun) -> None:
    error = _error(sim.receive(short_run, replace(PERFECT, white_m=0.3), 3))
    # Some 11 000 fixes: sd to 0.7 %, correlation to 0.01.
    assert error.std(axis=0) == pytest.approx([0.3, 0.3], rel=0.03)
    assert abs(np.corrcoef(error[1:, 0], error[:-1, 0])[0, 1]) < 0.04
    assert abs(np.corrcoef(*error.T)[0, 1]) < 0.04


@pytest.mark.parametrize(("kind", "beyond"), [("normal", 6e-5), ("student", 6e-3)])
def test_tails_of_the_white_error(short_run: sim.TrueRun, kind: str, beyond: float) -> None:
    receiver = replace(PERFECT, rate_hz=50.0, white_m=0.3, white_kind=kind, white_freedom=3.0)
    error = _error(sim.receive(short_run, receiver, 4))
    # Beyond 4 sd: 6.3e-5 (normal) and 6.2e-3 (t with 3 degrees, unit variance).
    assert np.mean(np.abs(error) > 1.2) == pytest.approx(beyond, rel=0.5, abs=1e-4)


def test_coloured_white_error(short_run: sim.TrueRun) -> None:
    receiver = replace(PERFECT, white_m=0.3, white_kind="coloured", white_share=0.6)
    error = _error(sim.receive(short_run, receiver, 5))
    assert error.std() == pytest.approx(0.3, rel=0.05)
    assert np.corrcoef(error[1:, 1], error[:-1, 1])[0, 1] == pytest.approx(0.6, abs=0.04)


def test_drift_with_two_axes(short_run: sim.TrueRun) -> None:
    receiver = replace(PERFECT, rate_hz=1.0, drift_m=(0.5, 2.0), drift_tau_s=(20.0, 5.0))
    errors = [_error(sim.receive(short_run, receiver, s)) for s in range(25)]
    pooled = np.concatenate(errors)
    # 25 sessions of 1100 s: 700 and 2800 independent stretches of 2 tau.
    assert pooled.std(axis=0) == pytest.approx([0.5, 2.0], rel=0.09)
    lag = np.concatenate([e[10:] * e[:-10] for e in errors]).mean(axis=0) / pooled.var(axis=0)
    assert lag == pytest.approx([np.exp(-0.5), np.exp(-2.0)], abs=0.09)


def test_drift_steps(short_run: sim.TrueRun) -> None:
    receiver = replace(PERFECT, drift_steps=2, drift_step_m=5.0, drift_tau_s=1e6)
    error = _error(sim.receive(short_run, receiver, 6))
    jumps = np.flatnonzero(np.hypot(*np.diff(error, axis=0).T) > 0.1)
    assert len(jumps) == 2
    quiet = np.delete(np.diff(error, axis=0), jumps, axis=0)
    assert np.abs(quiet).max() < 1e-3


def test_own_filter_of_the_receiver(short_run: sim.TrueRun) -> None:
    error = _error(sim.receive(short_run, replace(PERFECT, filter_s=0.3), 7))
    # It lags by some tau^2 a: 0.09 s^2 x 10 m/s^2.
    assert 0.5 < np.hypot(*error.T).max() < 1.5
    noisy = replace(PERFECT, filter_s=0.3, white_m=0.5)
    rest = _error(sim.receive(short_run, noisy, 7))[50:500]  # in the garage
    assert rest.std() < 0.35


def test_rounded_degrees(short_run: sim.TrueRun) -> None:
    recording = sim.receive(short_run, replace(PERFECT, degree_decimals=5), 8)
    values = recording.fixes[["lat_deg", "lon_deg"]].to_numpy() * 1e5
    np.testing.assert_allclose(values, np.round(values), rtol=0, atol=1e-6)
    # A step of 1.11 m has a sd of 0.32 m (gpsd, "numbers matter"); a little more or less
    # where a straight runs along a parallel and the rounding is always the same.
    moving = recording.fixes["speed_mps"].to_numpy() > 5
    assert _error(recording)[moving, 1].std() == pytest.approx(0.32, abs=0.03)


def test_velocity_columns_and_their_errors(short_run: sim.TrueRun) -> None:
    none = sim.receive(short_run, replace(PERFECT, velocity="none"), 1).fixes
    assert "speed_mps" not in none
    assert "course_deg" not in none
    speed = sim.receive(short_run, replace(PERFECT, velocity="speed"), 1).fixes
    assert "speed_mps" in speed
    assert "course_deg" not in speed
    receiver = replace(PERFECT, doppler_mps=0.05, slow_mps=0.2, slow_tau_s=10.0)
    fixes = sim.receive(short_run, receiver, 9).fixes
    course, rate = np.radians(fixes["course_deg"].to_numpy()), fixes["speed_mps"].to_numpy()
    logged = np.column_stack([np.sin(course), np.cos(course)]) * rate[:, None]
    error = logged - short_run.velocity(fixes["true_time_s"].to_numpy())
    # 1100 s: 55 independent stretches an axis for the slow part, sd to 7 %.
    assert error.std() == pytest.approx(np.hypot(0.05, 0.2), rel=0.2)
    white = np.diff(error, axis=0).std() / np.sqrt(2)
    # The slow part adds 0.2 sqrt(1 - exp(-0.01)) = 0.02 m/s from fix to fix.
    assert white == pytest.approx(np.hypot(0.05, 0.02), rel=0.05)


def test_latency_of_the_velocity(short_run: sim.TrueRun) -> None:
    fixes = sim.receive(short_run, replace(PERFECT, latency_s=0.25), 1).fixes
    late = np.maximum(fixes["true_time_s"].to_numpy() - 0.25, 0)
    np.testing.assert_allclose(fixes["speed_mps"], short_run.speed(late), rtol=0, atol=1e-12)


def test_jitter_stamps_and_rounding(short_run: sim.TrueRun) -> None:
    shaken = sim.receive(short_run, replace(PERFECT, jitter_s=0.01), 1).fixes
    assert np.diff(shaken["stamp_s"]).std() == pytest.approx(0.01 * np.sqrt(2), rel=0.1)
    np.testing.assert_array_equal(shaken["stamp_s"], shaken["true_time_s"])
    wrong = sim.receive(short_run, replace(PERFECT, stamp_error_s=0.004), 1).fixes
    assert (wrong["stamp_s"] - wrong["true_time_s"]).std() == pytest.approx(0.004, rel=0.1)
    coarse = sim.receive(short_run, replace(PERFECT, rate_hz=18.0, stamp_step_s=0.1), 1)
    tenths = coarse.fixes["stamp_s"].to_numpy() * 10
    np.testing.assert_allclose(tenths, np.round(tenths), rtol=0, atol=1e-6)
    # A log without a file keeps the first of the fixes with one stamp.
    assert (np.diff(coarse.log().fixes["time_s"]) > 0).all()
    assert len(coarse.log().fixes) < len(coarse.fixes)


def test_missing_fixes_dropouts_and_gaps(short_run: sim.TrueRun) -> None:
    whole = len(sim.receive(short_run, PERFECT, 1).fixes)
    few = len(sim.receive(short_run, replace(PERFECT, missing=0.2), 1).fixes)
    assert few / whole == pytest.approx(0.8, abs=0.02)
    torn = sim.receive(short_run, replace(PERFECT, dropouts=(3, 4.0, 6.0)), 1).fixes
    gaps = np.diff(torn["stamp_s"])
    assert (gaps > 3.9).sum() == 3
    assert gaps.max() < 6.2
    line = float(short_run.laps["start_s"].iloc[3])
    bridged = sim.receive(short_run, replace(PERFECT, gaps=((line - 2.0, 4.0),)), 1).fixes
    assert not bridged["true_time_s"].between(line - 1.99, line + 1.99).any()


def test_spikes_and_frozen_fixes(short_run: sim.TrueRun) -> None:
    recording = sim.receive(short_run, replace(PERFECT, spikes=7), 1)
    size = np.hypot(*_error(recording).T)
    assert recording.fixes["spike"].sum() == 7
    assert (size > 19).sum() == 7
    assert size.max() < 81
    stuck = sim.receive(short_run, replace(PERFECT, frozen=(2, 2.0, 3.0)), 1).fixes
    frozen = stuck["frozen"].to_numpy()
    assert 38 <= frozen.sum() <= 62
    same = np.r_[False, (np.diff(stuck["lat_deg"]) == 0) & (np.diff(stuck["lon_deg"]) == 0)]
    assert same[frozen].all()


def test_time_without_a_fix(short_run: sim.TrueRun) -> None:
    recording = sim.receive(short_run, replace(PERFECT, no_fix_s=15.0), 1)
    assert 15.0 <= recording.zero_s < 15.2


def test_accuracy_column(short_run: sim.TrueRun) -> None:
    receiver = replace(PERFECT, white_m=0.3, drift_m=0.4, accuracy_scale=0.5)
    log = sim.receive(short_run, receiver, 1).log()
    assert log.fixes["position_sd_m"].mean() == pytest.approx(0.25, rel=0.15)
    assert "position_sd_m" not in sim.receive(short_run, PERFECT, 1).log().fixes


def test_log_without_a_file(short_run: sim.TrueRun) -> None:
    recording = sim.receive(short_run, sim.ORDINARY, 1, engine=True)
    log = recording.log()
    first = ["line", "time_s", "lat_deg", "lon_deg", "frozen"]
    assert list(log.fixes.columns[:5]) == first
    assert log.fixes["time_s"].iloc[0] == 0.0
    np.testing.assert_allclose(log.fixes["time_s"] + recording.zero_s, recording.fixes["stamp_s"])
    assert log.first_fix_s == recording.zero_s
    assert list(log.channels.columns) == [
        "line",
        "time_s",
        "rpm",
        "throttle_pct",
        "brake_bar",
        "steering_deg",
    ]
    assert log.roles == {
        "rpm": "rpm",
        "throttle": "throttle_pct",
        "brake": "brake_bar",
        "steering": "steering_deg",
    }
    assert log.fixes["frozen"].dtype == bool


def test_noise_kinds_all_work(short_run: sim.TrueRun) -> None:
    for kind, receiver in sim.NOISE_KINDS.items():
        error = _error(sim.receive(short_run, receiver, 1))
        assert 0.1 < error.std() < 5.0, kind


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"velocity": "course"}, "'course' is not one of"),
        ({"white_kind": "pink"}, "'pink' is not one of"),
        ({"rate_hz": 0.0}, "positive rate"),
    ],
)
def test_wrong_settings(wrong: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        sim.Receiver(**wrong)


def test_what_drift_does_to_lap_times(short_run: sim.TrueRun) -> None:
    # Positions only: sd of a lap time = (sigma / v) sqrt(2 (1 - exp(-T / tau))), v the speed at
    # the line (Gauss-Markov error, closed form).
    receiver = replace(PERFECT, drift_m=1.0, drift_tau_s=100.0)
    left, right = short_run.circuit.gates[0]
    along = (right - left) / np.hypot(*(right - left))
    ahead = np.array([-along[1], along[0]])
    laps = short_run.laps.iloc[1:4]
    errors = []
    for seed in range(40):
        recording = sim.receive(short_run, receiver, seed)
        fixes = recording.fixes
        place = short_run.circuit.to_plane(fixes[["lat_deg", "lon_deg"]].to_numpy())
        beyond, stamp = (place - left) @ ahead, fixes["stamp_s"].to_numpy()
        marks = []
        for true_s in [*laps["start_s"], laps["end_s"].iloc[-1]]:
            k = np.searchsorted(stamp, true_s) + np.arange(-3, 3)
            marks.append(np.interp(0.0, beyond[k], stamp[k]))
        errors.append(np.diff(marks) - laps["time_s"].to_numpy())
    speed = float(short_run.speed(laps["start_s"].to_numpy()).mean())
    lap_s = float(laps["time_s"].mean())
    expected = np.sqrt(2 * (1 - np.exp(-lap_s / 100.0))) / speed
    # 120 laps, neighbours correlated by about -0.3: the sd is known to some 8 %.
    assert np.std(errors) == pytest.approx(expected, rel=0.2)
    assert abs(np.mean(errors)) < 0.4 * expected


def test_a_fast_clock_stretches_the_stamps_and_nothing_else(short_run: sim.TrueRun) -> None:
    plain = sim.receive(short_run, sim.ORDINARY, 1)
    fast = sim.receive(short_run, replace(sim.ORDINARY, clock_ppm=50.0), 1)
    ratio = fast.fixes["stamp_s"].to_numpy()[1:] / plain.fixes["stamp_s"].to_numpy()[1:]
    np.testing.assert_allclose(ratio, 1.0 + 50e-6, rtol=1e-12)
    np.testing.assert_array_equal(fast.fixes["lat_deg"], plain.fixes["lat_deg"])
    assert fast.log().own_clock
    assert not plain.log().own_clock
    drawn = replace(sim.ORDINARY, clock_ppm=(20.0, 60.0))
    rates = [
        sim.receive(short_run, drawn, seed).fixes["stamp_s"].iloc[-1]
        / sim.receive(short_run, sim.ORDINARY, seed).fixes["stamp_s"].iloc[-1]
        - 1.0
        for seed in range(12)
    ]
    assert all(20e-6 <= abs(rate) <= 60e-6 for rate in rates)
    assert min(rates) < 0.0 < max(rates)


def test_coloured_errors_last_as_long_as_they_should(short_run: sim.TrueRun) -> None:
    receiver = replace(PERFECT, rate_hz=5.0, coloured_m=2.0, coloured_tau_s=3.0)
    error = np.concatenate([_error(sim.receive(short_run, receiver, seed)) for seed in range(6)])
    assert error.std() == pytest.approx(2.0, rel=0.15)
    lag = 15  # one time constant
    share = (error[lag:] * error[:-lag]).mean() / error.var()
    assert share == pytest.approx(np.exp(-1.0), abs=0.12)


def test_a_filtered_speed_is_late_by_its_time_constant(short_run: sim.TrueRun) -> None:
    receiver = replace(PERFECT, rate_hz=10.0, velocity="speed", speed_filter_s=1.0)
    fixes = sim.receive(short_run, receiver, 1).fixes
    time_s = fixes["true_time_s"].to_numpy()
    true = short_run.speed(np.maximum(time_s - 1.0, 0.0))
    now = short_run.speed(time_s)
    speed = fixes["speed_mps"].to_numpy()
    assert np.std(speed - true) < 0.6 * np.std(speed - now)


def test_a_speed_from_positions_repeats_their_errors(short_run: sim.TrueRun) -> None:
    receiver = replace(
        PERFECT, rate_hz=1.0, velocity="speed", velocity_source="positions", coloured_m=3.0
    )
    recording = sim.receive(short_run, receiver, 1)
    place = short_run.circuit.to_plane(recording.fixes[["lat_deg", "lon_deg"]].to_numpy())
    pace = np.linalg.norm(np.diff(place, axis=0), axis=1) / np.diff(recording.fixes["true_time_s"])
    np.testing.assert_allclose(recording.fixes["speed_mps"].to_numpy()[1:], pace, atol=1e-3)
    with pytest.raises(ValueError, match="'wheel' is not one of"):
        sim.Receiver(velocity_source="wheel")
