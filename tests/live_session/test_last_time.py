"""What is found out of a receiver serves the next session from the same port or address."""

import socket
import threading
import time
from itertools import islice
from pathlib import Path

import pytest

import lapwright as lw
from lapwright.kept.store import Store
from lapwright.live_session.events import Event, LapGoing, Learned
from lapwright.live_session.forward.known_noise import KnownNoise, default_noise
from lapwright.live_session.last_time import keep_for_next_time, of_last_time

SAMPLES = Path("sample_sessions").resolve()
NMEA = SAMPLES / "friday_test_ivo.nmea"
SOURCE = "tcp://127.0.0.1:2000"
# Two laps at once; the rest as a receiver would send it, only quicker.
AT_ONCE, PIECE, PAUSE_S = 4200, 6, 0.1


def test_what_is_kept_is_given_for_the_same_source_only(tmp_path: Path) -> None:
    store, known = Store(tmp_path), KnownNoise(default_noise().noise, 0.1, "this session")
    assert of_last_time(store, SOURCE) is None
    keep_for_next_time(store, SOURCE, known)
    assert of_last_time(Store(tmp_path), SOURCE) == KnownNoise(known.noise, 0.1, "last time")
    assert of_last_time(store, "/dev/ttyUSB0") is None


def test_without_a_store_nothing_is_known_and_damage_is_nothing_known(tmp_path: Path) -> None:
    keep_for_next_time(None, SOURCE, default_noise())
    assert of_last_time(None, SOURCE) is None
    store = Store(tmp_path)
    keep_for_next_time(store, SOURCE, default_noise())
    (file,) = tmp_path.iterdir()
    file.write_bytes(file.read_bytes()[:-7])
    assert of_last_time(store, SOURCE) is None


@pytest.mark.slow
def test_the_next_session_begins_with_it(tmp_path: Path) -> None:
    reference = lw.open_session(
        SAMPLES / "saturday_qualifying.gpx", track=SAMPLES / "wren_hollow.geojson"
    )
    track = reference.shared_track
    lines = NMEA.read_bytes().splitlines(keepends=True)[2200:]
    with socket.create_server(("127.0.0.1", 0)) as server:
        threading.Thread(target=_serve, args=(server, lines), daemon=True).start()
        address = f"tcp://127.0.0.1:{server.getsockname()[1]}"

        def first_until(kind: type[Event]) -> tuple[bool, Event]:
            place = tmp_path / f"{time.monotonic_ns()}.nmea"
            live = lw.live(address, track=track, record=place, cache=tmp_path / "cache")
            with live:
                some = islice(live, 20_000)
                return live.knows_receiver, next(e for e in some if isinstance(e, kind))

        knew, learned = first_until(Learned)
        assert not knew
        knew, _ = first_until(LapGoing)
        assert knew
    known = of_last_time(Store(tmp_path / "cache"), address)
    assert known is not None
    assert isinstance(learned, Learned)
    assert known.noise.white_m == learned.position_sd_m != default_noise().noise.white_m


def _serve(server: socket.socket, lines: list[bytes]) -> None:
    """Send the same to each that connects, until it hangs up."""
    while True:
        try:
            other, _ = server.accept()
        except OSError:
            return
        with other:
            try:
                other.sendall(b"".join(lines[:AT_ONCE]))
                for at in range(AT_ONCE, len(lines), PIECE):
                    other.sendall(b"".join(lines[at : at + PIECE]))
                    time.sleep(PAUSE_S)
            except OSError:
                continue
