from pathlib import Path

import pytest

import lapwright as lw
from lapwright.live_session.which_circuit import nearest_track

SAMPLES = Path("sample_sessions").resolve()


@pytest.fixture(scope="module")
def track() -> lw.Track:
    file = SAMPLES / "wren_hollow.geojson"
    return lw.open_session(SAMPLES / "saturday_qualifying.gpx", track=file).shared_track


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "here"


def test_the_one_whose_circuit_the_car_is_on(track: lw.Track, here: Path) -> None:
    lw.write_track(track, here / "a.geojson")
    # Saved twice it is still one circuit.
    lw.write_track(track, here / "b.geojson")
    (here / "broken.geojson").write_text('{"role": "start_finish"')
    found, why = nearest_track(track.plane.lat0_deg, track.plane.lon0_deg, None)
    assert why == ""
    assert found is not None
    assert found.length_m == pytest.approx(track.length_m)
    assert nearest_track(track.plane.lat0_deg + 1.0, track.plane.lon0_deg, None)[0] is None


def test_lines_alone_are_said_to_be_that(track: lw.Track, here: Path) -> None:
    (here / "wren_hollow.geojson").write_bytes((SAMPLES / "wren_hollow.geojson").read_bytes())
    found, why = nearest_track(track.plane.lat0_deg, track.plane.lon0_deg, None)
    assert found is None
    assert (
        why == "wren_hollow.geojson has only the lines: give --reference with a log of this circuit"
    )


def test_another_circuit_at_the_same_place_is_asked_about(track: lw.Track, here: Path) -> None:
    lw.write_track(track, here / "a.geojson")
    lw.write_track(lw.Track("", track.plane, track.start_finish.reversed(),
                            path=track.path.reversed()), here / "b.geojson")  # fmt: skip
    found, why = nearest_track(track.plane.lat0_deg, track.plane.lon0_deg, None)
    assert found is None
    assert why == "more than one circuit is known here (a.geojson, b.geojson): give --track"
