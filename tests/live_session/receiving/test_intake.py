from pathlib import Path

import pytest

from lapwright.live_session.receiving import intake as module
from lapwright.live_session.receiving.intake import Intake
from lapwright.live_session.receiving.recording import Recording
from lapwright.live_session.receiving.sources import SourceEndedError


class Given:
    """A source that gives some pieces and ends."""

    why = ""

    def __init__(self, pieces: list[bytes]) -> None:
        self.pieces = iter(pieces)
        self.closed = False

    def read(self) -> bytes:
        for piece in self.pieces:
            return piece
        raise SourceEndedError

    def close(self) -> None:
        self.closed = True


def wait(intake: Intake) -> None:
    intake._thread.join(timeout=10.0)
    assert intake.ended


def test_what_comes_is_recorded_and_handed_on_in_order(tmp_path: Path) -> None:
    pieces = [bytes([i]) * (i + 1) for i in range(20)]
    source, recording = Given(pieces), Recording(tmp_path / "r.nmea")
    intake = Intake(source, recording)
    intake.start()
    wait(intake)
    got = [intake.take(0.1) for _ in pieces]
    assert [piece[1] for piece in got if piece is not None] == pieces
    assert intake.over
    intake.stop()
    assert source.closed
    assert (tmp_path / "r.nmea").read_bytes() == b"".join(pieces)


def test_a_view_that_is_stuck_costs_the_recording_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pieces = [f"{i};".encode() for i in range(500)]
    monkeypatch.setattr(module, "_MOST_PIECES", 10)
    intake = Intake(Given(pieces), Recording(tmp_path / "r.nmea"))
    intake.start()
    wait(intake)
    assert intake.skipped == 490
    first = intake.take(0.1)
    assert first is not None
    assert first[1] == b"490;"
    intake.stop()
    assert (tmp_path / "r.nmea").read_bytes() == b"".join(pieces)
