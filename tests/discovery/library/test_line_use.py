"""A line that is passed by, or driven over the other way, is told from a log without laps."""

from dataclasses import replace

import pytest
from circuit_logs import log_of, path_ends, track_of

from lapwright.discovery.library.line_use import check_line_driven, line_use_in, way_driven
from lapwright.errors import TrackError
from lapwright.geometry import Gate
from lapwright.session import Session


def test_a_line_that_is_driven_over(circuits, drive) -> None:
    track, log = track_of(circuits["lark_down"], "", 300.0), log_of(drive(circuits["lark_down"]))
    use = line_use_in(track, log)
    assert use.over >= 5
    assert (use.past, use.against, use.trouble) == (0, 0, "")
    check_line_driven(track, log)
    assert way_driven(track, log) == (track, "")


@pytest.mark.parametrize(("left_m", "right_m"), [(27.0, 7.0), (-7.0, -27.0)])
def test_a_line_beside_the_track(left_m: float, right_m: float, circuits, drive) -> None:
    path, log = circuits["lark_down"], log_of(drive(circuits["lark_down"]))
    gate = Gate(*path_ends(path, 300.0, left_m, right_m))
    track = replace(track_of(path, "", 300.0), start_finish=gate)
    use = line_use_in(track, log)
    assert use.past >= 5
    assert use.beyond_m == pytest.approx(7.0, abs=3.0)
    # A session on it says so instead of showing no laps.
    session = Session(log, track, repeat_line=False)
    with pytest.raises(TrackError, match=r"times, about \d+ m beyond it\. Widen or move it"):
        _ = session.laps


def test_a_track_driven_the_other_way(circuits, drive) -> None:
    path = circuits["lark_down"]
    track, log = track_of(path, "Lark Down", 300.0), log_of(drive(path.reversed()))
    with pytest.raises(TrackError, match=r"only against its direction\. Turn line and path round"):
        _ = Session(log, track, repeat_line=False).laps
    turned, said = way_driven(track, log)
    assert turned.name == "Lark Down (reversed)"
    assert "only against its direction, so the track was turned round" in said
    laps = Session(log, turned, repeat_line=False).laps
    assert (laps["kind"] == "timed").sum() >= 5


def test_a_log_of_half_a_lap_is_no_error(circuits, drive) -> None:
    path = circuits["lark_down"]
    track, log = track_of(path, "", 1700.0), log_of(drive(path, to_laps=0.5))
    check_line_driven(track, log)
