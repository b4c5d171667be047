"""`lapwright race`: JSON as promised, every line as the session's tables have it, clear errors."""

from dataclasses import replace
from pathlib import Path

import pytest
from cli_runs import Run, RunJson
from json_schemas import RACE
from jsonschema import Draft202012Validator
from race_worlds import HELD_UP_LAP, STOP_S, mine, theirs
from shown import True_, all_wrong, exact, numbers_in, pair

from lapwright.cli.race import _gap_lines, _lines
from lapwright.session import Session, first_lap
from lapwright.units import Units
from lapwright.wording.event.race import ANTENNAS, ONE_CAR

SAMPLES = Path(__file__).parents[2] / "sample_sessions"


def _open(monkeypatch: pytest.MonkeyPatch, *sessions: Session) -> None:
    """Let the command have sessions that are open already; opening them has tests of its own."""
    ready = list(sessions)
    monkeypatch.setattr("lapwright.cli.race.open_aloud", lambda *_, **__: ready.pop(0))


def test_json(monkeypatch: pytest.MonkeyPatch, run_json: RunJson) -> None:
    _open(monkeypatch, mine().session, theirs().session)
    document = run_json("race", "mine.csv", "--against", "theirs.csv")
    problems = sorted(Draft202012Validator(RACE).iter_errors(document), key=str)
    assert [f"{p.json_path}: {p.message}" for p in problems] == []
    # The plan of the race: one start, one stop of 22 s, seven laps and one, lap 4 held up.
    (launch,) = document["launches"]
    assert (launch["lap"], document["against"]) == (1, "theirs.csv")
    (stop,) = document["pit_stops"]
    assert stop["standing_s"] == pytest.approx(STOP_S, abs=0.1)
    laps = [(s["first_lap"], s["last_lap"]) for s in document["stints"]]
    assert laps == [(1, 7), (10, 10)]
    # One lap of the second stint: null is no zero.
    assert document["stints"][1]["fade_s_per_lap"] is None
    assert [row["lap"] for row in document["held_up"]] == [HELD_UP_LAP]
    first = document["first_lap"]
    total = sum(one["lost_s"] for one in first["corners"])
    assert total == pytest.approx(first["time_difference_s"], abs=1e-6)
    assert len(document["gaps"]) == len(mine().session.gaps_to(theirs().session))


def test_json_of_one_log_has_no_gaps(monkeypatch: pytest.MonkeyPatch, run_json: RunJson) -> None:
    _open(monkeypatch, mine().session)
    document = run_json("race", "mine.csv")
    assert (document["against"], document["gaps"]) == (None, [])


@pytest.mark.parametrize("units", [Units(), Units("mph", "ft")])
def test_lines_say_what_the_tables_say(units: Units) -> None:
    session = mine().session
    text = " ".join(" ".join(_lines(session, first_lap(session), units)).split())
    launch, stop = session.launches.iloc[0], session.pit_stops.iloc[0]
    start = text[: text.index("First lap")]
    assert all_wrong(
        numbers_in(start),
        [
            exact(1), exact(60), pair(launch["to_60_kmh_s"], launch["to_60_kmh_sd_s"]),
            exact(100), pair(launch["to_100_kmh_s"], launch["to_100_kmh_sd_s"]),
            pair(launch["to_line_s"], launch["to_line_sd_s"]),
        ], start,
    ) == []  # fmt: skip
    row = session.held_up.iloc[0]
    speed = {"km/h": 3.6, "mph": 3600.0 / 1609.344}[units.speed]
    far = {"m": 1.0, "ft": 1.0 / 0.3048}[units.distance]
    assert f"Lap {HELD_UP_LAP} looks held up: {row['lost_s']:.1f} s lost between" in text
    where = f"between {row['start_m'] * far:.0f} and {row['end_m'] * far:.0f} {units.distance}"
    assert where in text
    assert f"{row['lifted_mps'] * speed:.0f} {units.speed} taken off" in text
    assert ONE_CAR in text
    cells = next(line for line in text_lines(session, units) if line.strip().startswith("8  "))
    assert all_wrong(
        numbers_in(cells),
        [
            exact(8), True_(stop["lane_s"], stop["lane_sd_s"], 2), True_(stop["lane_sd_s"], most=2),
            True_(stop["standing_s"], stop["standing_sd_s"], 2),
            True_(stop["standing_sd_s"], most=2),
        ], cells,
    ) == []  # fmt: skip


def text_lines(session: Session, units: Units) -> list[str]:
    """The lines with tables split up."""
    return "\n".join(_lines(session, first_lap(session), units)).splitlines()


def test_every_gap_is_shown_with_its_bar() -> None:
    session = mine().session
    gaps = session.gaps_to(theirs().session)
    lines = "\n".join(_gap_lines(session, Path("theirs.csv"), gaps)).splitlines()
    shown = " ".join(lines)
    assert shown.count("±") == len(gaps)
    for lap, part in gaps.groupby("lap"):
        line = next(one for one in lines if one.split()[:1] == [str(lap)])
        ordered = part.assign(order=part["gate"].replace(0, 9)).sort_values("order")
        wanted = [pair(r.gap_s, r.gap_sd_s, 2) for r in ordered.itertuples()]
        assert all_wrong(numbers_in(line), [exact(int(str(lap))), *wanted], line) == []
    assert shown.count("Place changed") == int(gaps["changed"].sum())
    assert ANTENNAS.split(",")[0] in " ".join(shown.split())


def test_no_line_is_wider_than_a_terminal() -> None:
    session = mine().session
    gaps = session.gaps_to(theirs().session)
    lines = [*text_lines(session, Units()), *_gap_lines(session, Path("theirs.csv"), gaps)]
    assert max(len(line) for text in lines for line in text.splitlines()) <= 80


def test_a_log_without_a_date_is_one_clear_line(monkeypatch: pytest.MonkeyPatch, run: Run) -> None:
    bare = Session(replace(theirs().session.log, start_utc=None), mine().session.shared_track)
    _open(monkeypatch, mine().session, bare)
    result = run("race", "mine.csv", "--against", "theirs.csv")
    assert result.exit_code == 1
    assert result.stderr.splitlines() == [
        "lapwright: car_2.csv has no absolute time, so no gap to another car is known"
    ]


def test_two_samples_of_different_hours(run: Run) -> None:
    # Friday's two tests: 00:12 and 02:40 UTC, of one car.
    track = ("--track", SAMPLES / "wren_hollow.geojson")
    result = run(
        "race", SAMPLES / "friday_test.csv", "--against", SAMPLES / "friday_test_ivo.nmea", *track
    )
    assert result.exit_code == 1
    assert "do not overlap in time" in result.stderr
    assert result.stdout == ""


def test_laps_and_debrief_name_start_and_stop(run: Run, tmp_path: Path) -> None:
    log = tmp_path / "friday.csv"
    log.write_bytes((SAMPLES / "friday_test.csv").read_bytes())
    track = ("--track", SAMPLES / "wren_hollow.geojson", "--repeat-line", "off")
    for command in (("laps", log), ("debrief", log, "--no-notes")):
        lines = run(*command, *track).stdout.splitlines()
        (stop,) = [line for line in lines if line.startswith("Pit stop, lap 7: ")]
        assert "standing for 45.0" in stop
        held = "Looks held up: lap 11; the laps count as before"
        assert (held in lines) == (command[0] == "debrief")
