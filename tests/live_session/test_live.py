"""From a source to the laps: bytes over a loopback address, recorded and timed."""

import socket
import threading
from collections.abc import Iterator
from itertools import takewhile
from pathlib import Path

import pytest

import lapwright as lw
from lapwright.live_session.events import Event, LapGoing, LapTimed, Receiving

SAMPLES = Path("sample_sessions").resolve()
NMEA = SAMPLES / "friday_test_ivo.nmea"


@pytest.fixture(scope="module")
def track() -> lw.Track:
    file = SAMPLES / "wren_hollow.geojson"
    return lw.open_session(SAMPLES / "saturday_qualifying.gpx", track=file).shared_track


def sent(data: bytes) -> Iterator[str]:
    """Send some bytes to whoever connects, once."""
    with socket.create_server(("127.0.0.1", 0)) as server:

        def send() -> None:
            other, _ = server.accept()
            # Nobody is there for a second try, so that the end is seen.
            server.close()
            with other:
                other.sendall(data)

        thread = threading.Thread(target=send, daemon=True)
        thread.start()
        yield f"tcp://127.0.0.1:{server.getsockname()[1]}"
        thread.join(timeout=10.0)


def until_lost(session: lw.LiveSession) -> list[Event]:
    """What happens until the other side has hung up."""
    events = []
    for event in session:
        events.append(event)
        if isinstance(event, Receiving) and "trying again" in event.why:
            break
    session.close()
    return events


def test_rubbish_between_the_sentences_leaves_recording_and_laps_whole(
    track: lw.Track, tmp_path: Path
) -> None:
    lines = NMEA.read_bytes().splitlines(keepends=True)[2200:7000]
    lines.insert(1000, b"\x00\xff\xfe rubbish $GP\r\n" * 50)
    lines.insert(2000, lines[1999])
    lines.insert(3000, lines[2500])
    data = b"".join(lines)
    for address in sent(data):
        record = tmp_path / "r.nmea"
        session = lw.live(address, track=track, record=record)
        events = until_lost(session)
    assert record.read_bytes() == data
    assert session.recording == record
    going = [e for e in events if isinstance(e, LapGoing)]
    assert len(going) > 2300
    times = [e.time_s for e in going]
    assert times == sorted(times)
    after = lw.Session(lw.read_log(record), track, repeat_line=False)
    timed = {lap.lap: lap for lap in session.laps if lap.kind == "timed"}
    theirs = after.laps.loc[after.laps["kind"] == "timed", "time_s"].tolist()
    assert [lap.time_s for lap in timed.values()] == pytest.approx(theirs, abs=0.06)


def test_without_a_circuit_it_is_said_and_recorded_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    data = NMEA.read_bytes()[100_000:160_000]
    for address in sent(data):
        events = until_lost(lw.live(address))
    states = {e.state for e in events if isinstance(e, Receiving)}
    assert "no circuit" in states
    (record,) = tmp_path.glob("live_*.nmea")
    assert record.read_bytes() == data


def test_the_circuit_is_found_by_where_the_car_is(
    track: lw.Track, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    lw.write_track(track, tmp_path / "here.geojson")
    for address in sent(NMEA.read_bytes()[100_000:160_000]):
        events = until_lost(lw.live(address))
    assert sum(isinstance(e, LapGoing) for e in events) > 200


@pytest.mark.usefixtures("cached")
def test_against_a_lap_of_another_log(track: lw.Track) -> None:
    with lw.live(
        NMEA, replay=0, track=track, reference=SAMPLES / "saturday_qualifying.gpx", noise_from=NMEA
    ) as session:
        events = list(takewhile(lambda event: getattr(event, "lap", 0) < 4, session))
    other = lw.open_session(SAMPLES / "saturday_qualifying.gpx", track=track)
    mine = lw.open_session(NMEA, track=other.shared_track, repeat_line=False)
    comparison = mine.compare(2, other.best_lap, other)
    delta = comparison.delta.set_index("station_m")
    off = [
        (e.delta_s - float(delta["delta_s"].iloc[delta.index.searchsorted(e.station_m) - 1]))
        / e.delta_sd_s
        for e in events
        if isinstance(e, LapGoing) and e.lap == 2 and e.station_m > 100.0 and e.delta_sd_s > 0.0
    ]
    assert len(off) > 500
    assert max(abs(x) for x in off) < 3.0
    assert {e.reference for e in events if isinstance(e, LapGoing)} == {
        f"lap {other.best_lap} of saturday_qualifying.gpx"
    }
    assert any(isinstance(e, LapTimed) for e in events)


def test_lines_alone_need_a_reference(tmp_path: Path) -> None:
    with pytest.raises(lw.TrackError, match=r"has only the lines.*Give --reference"):
        lw.live("tcp://127.0.0.1:9", track=SAMPLES / "wren_hollow.geojson")


def test_what_cannot_be_is_refused_before_anything_is_recorded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(lw.LogError, match="there is no such file"):
        lw.live("tcp://127.0.0.1:9", reference="nowhere.csv")
    with pytest.raises(lw.LogError, match="a replay is not recorded"):
        lw.live(NMEA, replay=1.0, record="r.nmea")
    with pytest.raises(ValueError, match="or more, not -1"):
        lw.live(NMEA, replay=-1.0)
    assert list(tmp_path.iterdir()) == []
