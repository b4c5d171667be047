import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import lapwright as lw
from lapwright.live_session.forward.known_noise import default_noise
from lapwright.live_session.receiving.fixes import Fix, fixes_of
from lapwright.live_session.what_fixes_show import as_log, in_another_process, what_fixes_show

SAMPLES = Path("sample_sessions").resolve()


@pytest.fixture(scope="module")
def track() -> lw.Track:
    file = SAMPLES / "wren_hollow.geojson"
    return lw.open_session(SAMPLES / "saturday_qualifying.gpx", track=file).shared_track


@pytest.fixture(scope="module")
def fixes() -> list[Fix]:
    """A lap and a half at one fix a second."""
    log = lw.read_log(SAMPLES / "friday_test_ivo.nmea")
    return list(fixes_of(log))[1500:3000:10]


def test_another_process_comes_to_the_same_to_the_last_bit(
    track: lw.Track, fixes: list[Fix], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, place = what_fixes_show(track, None, fixes)
    # What lies in the folder of the logs is not imported.
    (tmp_path / "numpy.py").write_text("raise SystemExit(3)")
    monkeypatch.chdir(tmp_path)
    there, other = in_another_process(track, None, fixes)
    assert there == here
    assert here.source == "this session"
    assert np.array_equal(other.offset_m, place.offset_m)


def test_noise_that_is_known_is_left_as_it_is(track: lw.Track, fixes: list[Fix]) -> None:
    known = default_noise()
    assert what_fixes_show(track, known, fixes)[0] is known


def test_a_child_that_fails_is_an_error_that_can_be_lived_with(
    track: lw.Track, fixes: list[Fix], monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed(*words: Any, **more: Any) -> subprocess.CompletedProcess[bytes]:
        return subprocess.CompletedProcess(words, -9, b"")

    monkeypatch.setattr(subprocess, "run", killed)
    with pytest.raises(ValueError, match="could not be looked at"):
        in_another_process(track, None, fixes)


def test_fixes_as_a_log(fixes: list[Fix]) -> None:
    stuck = [*fixes, replace(fixes[-1], time_s=fixes[-1].time_s + 1.0)]
    log = as_log(stuck)
    assert log.fixes["frozen"].tolist() == [False] * len(fixes) + [True]
    assert log.fixes["speed_mps"].iloc[0] == fixes[0].speed_mps
    assert log.fixes["time_s"].iloc[0] == 0.0
