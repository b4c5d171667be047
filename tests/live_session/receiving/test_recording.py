import errno
import os
import re
from pathlib import Path

import pytest

import lapwright as lw
from lapwright.live_session.receiving.recording import Recording

SAMPLE = Path("sample_sessions/friday_test_ivo.nmea").resolve()


def test_every_piece_is_in_the_file_as_soon_as_it_is_written(tmp_path: Path) -> None:
    recording = Recording(tmp_path / "r.nmea")
    recording.write(b"\x00\xff$GP")
    assert (tmp_path / "r.nmea").read_bytes() == b"\x00\xff$GP"
    recording.write(b"RMC")
    recording.close()
    assert (tmp_path / "r.nmea").read_bytes() == b"\x00\xff$GPRMC"
    assert (recording.written, recording.lost) == (8, 0)
    recording.write(b"after the end")
    recording.close()
    assert (tmp_path / "r.nmea").stat().st_size == 8


def test_a_file_that_is_there_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / "r.nmea").write_bytes(b"before")
    with pytest.raises(lw.OutputError, match="is there already and is not overwritten"):
        Recording(tmp_path / "r.nmea")
    assert (tmp_path / "r.nmea").read_bytes() == b"before"
    with pytest.raises(lw.OutputError, match="cannot be written"):
        Recording(tmp_path / "nowhere" / "r.nmea")


def test_without_a_name_each_gets_one_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    made = [Recording() for _ in range(3)]
    for one in made:
        one.close()
    names = {one.path.name for one in made}
    assert len(names) == 3
    assert all(re.fullmatch(r"live_\d{4}-\d\d-\d\d_\d{6}(_\d)?\.nmea", name) for name in names)


def test_a_full_disk_is_said_and_what_came_meanwhile_is_written_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    recording = Recording(tmp_path / "r.nmea")
    recording.write(b"one")
    write = os.write

    def full(file: int, data: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    recording.write(b"two")
    assert recording.why == "No space left on device"
    monkeypatch.setattr(os, "write", write)
    recording.write(b"three")
    assert recording.why == ""
    recording.close()
    assert (tmp_path / "r.nmea").read_bytes() == b"onetwothree"


def test_what_is_recorded_is_a_log(tmp_path: Path) -> None:
    # From the middle of a sentence on, and cut in the middle of another: as a plug is pulled.
    data = SAMPLE.read_bytes()[40_011:120_005]
    recording = Recording(tmp_path / "r.nmea")
    for at in range(0, len(data), 313):
        recording.write(data[at : at + 313])
    recording.close()
    log = lw.read_log(tmp_path / "r.nmea")
    assert log.reader == "nmea"
    assert len(log.fixes) > 500
