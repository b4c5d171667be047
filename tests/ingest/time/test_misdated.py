"""Stretches of wrong times: put back or left out where the lines around say so, else left alone."""

import numpy as np
import pytest

from lapwright.ingest.log import Finding
from lapwright.ingest.recording import Recording
from lapwright.ingest.time.misdated import put_back
from lapwright.ingest.time.scales import NANO, NO_TIME

HOUR_NS = 3600 * NANO


@pytest.fixture
def recording(make_drive) -> Recording:
    """Thirty seconds at 10 Hz and 25 m/s, the first on line 2."""
    drive = make_drive(count=300)
    line = np.arange(2, 302)
    return Recording("csv", line, drive.time_ns, "utc", drive.lat_deg, drive.lon_deg, True)


def put(recording: Recording) -> tuple[np.ndarray, dict[str, Finding]]:
    notes: list[Finding] = []
    usable = put_back(recording, np.ones(len(recording.line), np.bool_), notes)
    return usable, {note.code: note for note in notes}


@pytest.mark.parametrize("off_ns", [HOUR_NS, -HOUR_NS, 24 * HOUR_NS, 3 * NANO, -NANO])
def test_a_stretch_off_by_whole_seconds_is_put_back(recording, off_ns) -> None:
    true_ns = recording.time_ns.copy()
    recording.time_ns[100:160] += off_ns
    usable, found = put(recording)
    assert usable.all()
    assert np.array_equal(recording.time_ns, true_ns)
    # Row 100 stands on line 102.
    assert found["time_put_back"].lines == ((102, 161),)
    assert ("ahead" in found["time_put_back"].message) == (off_ns > 0)


def test_layers_are_put_back(recording) -> None:
    true_ns = recording.time_ns.copy()
    recording.time_ns[50:150] += HOUR_NS
    recording.time_ns[90:110] -= 2 * HOUR_NS
    usable, found = put(recording)
    assert usable.all()
    assert np.array_equal(recording.time_ns, true_ns)
    assert found["time_put_back"].lines == ((52, 151),)


def test_single_lines_and_odd_shifts_are_left_out(recording) -> None:
    true_ns = recording.time_ns.copy()
    recording.time_ns[40] += 7 * NANO
    recording.time_ns[100:130] -= 2_450_000_000
    usable, found = put(recording)
    assert np.flatnonzero(~usable).tolist() == [40, *range(100, 130)]
    assert found["stray_time"].lines == ((42, 42), (102, 131))
    # What has lost its fix has lost its time: it is on no axis any more.
    assert (recording.time_ns[~usable] == NO_TIME).all()
    assert np.array_equal(recording.time_ns[usable], true_ns[usable])


def test_lines_without_a_position_move_with_the_fixes_around(recording) -> None:
    true_ns = recording.time_ns.copy()
    usable = np.arange(300) % 2 == 0
    recording.time_ns[100:160] += HOUR_NS
    notes: list[Finding] = []
    assert np.array_equal(put_back(recording, usable, notes), usable)
    assert np.array_equal(recording.time_ns, true_ns)


@pytest.mark.parametrize("seed", range(8))
def test_uneven_times_are_left_to_be_sorted(recording, seed) -> None:
    # Ten times as long, with a jitter of half a step: no stretch of it is plainly off.
    rng = np.random.default_rng(seed)
    for name in ("lat_deg", "lon_deg"):
        setattr(recording, name, np.tile(getattr(recording, name), 20))
    recording.line = np.arange(2, 6002)
    start_ns = int(recording.time_ns[0])
    jitter_s = rng.normal(0.0, 0.05, 6000)
    recording.time_ns = start_ns + ((np.arange(6000) / 10.0 + jitter_s) * NANO).astype(np.int64)
    usable, found = put(recording)
    assert (~usable).sum() <= 10
    assert "time_put_back" not in found


def swapped(recording: Recording) -> None:
    """Put two blocks of lines in each other's place."""
    order = np.r_[0:50, 200:220, 70:200, 50:70, 220:300]
    for name in ("time_ns", "lat_deg", "lon_deg"):
        setattr(recording, name, getattr(recording, name)[order])


def a_gap(recording: Recording) -> None:
    recording.time_ns[150:] += HOUR_NS


def parts(recording: Recording) -> None:
    for name in ("time_ns", "lat_deg", "lon_deg"):
        setattr(recording, name, np.roll(getattr(recording, name), 150))


def late_line(recording: Recording) -> None:
    order = np.r_[0:20, 21:250, 20, 250:300]
    for name in ("time_ns", "lat_deg", "lon_deg"):
        setattr(recording, name, getattr(recording, name)[order])


def nothing(recording: Recording) -> None:
    """Leave it as it is."""


@pytest.mark.parametrize("change", [swapped, a_gap, parts, late_line, nothing])
def test_what_is_only_out_of_order_is_left_alone(recording, change) -> None:
    change(recording)
    before = recording.time_ns.copy()
    usable, found = put(recording)
    assert usable.all()
    assert found == {}
    assert np.array_equal(recording.time_ns, before)


def test_lines_swapped_by_just_a_lap_are_left_alone(recording) -> None:
    """At the same place of the next lap the car seems to drive on: the free times decide."""
    # The circle of 120 m at 25 m/s takes 30.16 s; here the blocks are 10 s apart at one place.
    for name in ("lat_deg", "lon_deg"):
        values = getattr(recording, name)
        setattr(recording, name, np.tile(values[:100], 3))
    swapped_by = np.r_[0:50, 150:170, 70:150, 50:70, 170:300]
    for name in ("time_ns", "lat_deg", "lon_deg"):
        setattr(recording, name, getattr(recording, name)[swapped_by])
    before = recording.time_ns.copy()
    _, found = put(recording)
    assert found == {}
    assert np.array_equal(recording.time_ns, before)


def test_rounded_times_are_put_back_too(recording) -> None:
    # 12.5 Hz written to a tenth of a second: some times stand there twice.
    k = np.arange(len(recording.line))
    recording.time_ns = recording.time_ns[0] + np.rint(k * 0.8).astype(np.int64) * (NANO // 10)
    true_ns = recording.time_ns.copy()
    assert put(recording)[1] == {}
    recording.time_ns[100:160] -= HOUR_NS
    usable, found = put(recording)
    assert usable.all()
    assert np.array_equal(recording.time_ns, true_ns)
    assert found["time_put_back"].lines == ((102, 161),)
