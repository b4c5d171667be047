"""What people read: short tables in plain words, in the units they chose."""

import json
from pathlib import Path

import pytest
from cli_runs import Files, Run, RunJson
from worlds import make_world

from lapwright import simulate as sim
from lapwright.cli.compare import _lines, _odd_lap
from lapwright.cli.debrief import _worth_lines
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.units import Units
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP
from lapwright.wording.coaching.worth_trying import Advice

OFF = ("--repeat-line", "off")


@pytest.fixture
def text(files: Files, run: Run):
    """Run a command on the log and return what it prints."""

    def call(command: str, *arguments: object) -> str:
        result = run(command, files.log, *arguments, "--track", files.track, *OFF)
        assert result.exit_code == 0, result.stderr
        return result.stdout

    return call


def test_laps(text) -> None:
    said = text("laps")
    assert "out lap" in said
    assert "in lap" in said
    assert said.count("best") >= 2
    assert "top km/h" in said
    assert "Not official timing" in said
    assert max(map(len, said.splitlines())) <= 80
    # Clean laps are marked, the out lap and the in lap are not; and the mark is explained.
    lines = said.splitlines()
    head = next(k for k, line in enumerate(lines) if line.startswith("lap  *"))
    rows = lines[head + 1 : lines.index("", head)]
    assert [line[5:6] == "*" for line in rows][:1] == [False]
    assert not next(line for line in rows if "in lap" in line)[5:6].strip()
    count = int(said.partition("Clean laps: ")[2].partition(",")[0])
    assert sum(line[5:6] == "*" for line in rows) == count >= 2
    assert any(line.startswith("*: clean lap") for line in lines)


def test_compare(text) -> None:
    said = text("compare", 2, "--reference", 3)
    assert said.startswith("Lap 2 against lap 3: ")
    assert "braking" in said
    assert "straight" in said
    assert max(map(len, said.splitlines())) <= 80
    titles = "Where the time goes", "Side by side, lap 2 above lap 3:", "What cost the time"
    order = [said.index(part) for part in (*titles, AS_DRIVEN[:20])]
    assert order == sorted(order)


def test_a_lap_against_itself_is_no_difference(text) -> None:
    said = text("compare", 2, "--reference", 2)
    assert said.startswith("Lap 2 against itself: no difference")
    assert "Nothing was lost anywhere: it is the same lap." in said
    assert "What cost the time" not in said
    assert "Side by side" not in said


def test_corners_in_miles_and_feet(text) -> None:
    said = text("corners", "--units", "mph,ft")
    assert "min mph" in said
    assert "radius in ft" in said
    assert "km/h" not in said
    # Four laps cannot tell a habit from chance, and that is said.
    assert "Worth trying: nothing this time." in said
    assert "Too few clean laps" in said
    assert max(map(len, said.splitlines())) <= 80


def test_check(files: Files, run: Run) -> None:
    said = run("check", files.log).stdout
    assert "latitude" in said
    assert "UTC" in said or "without a date" in said


def test_track(text) -> None:
    said = text("track")
    assert "Sector lines at" in said
    assert "Pit lane: " in said


def test_debrief_fits_a_screen(text, files: Files) -> None:
    said = text("debrief", "--no-notes")
    assert "Best: lap" in said
    assert "Top speed" in said
    assert "Worth trying" in said
    assert len(said.splitlines()) <= 40
    assert max(map(len, said.splitlines())) <= 80
    assert not (files.log.parent / "weekend.toml").exists()


def test_units_given_first_are_remembered(files: Files, run: Run, own_settings: Path) -> None:
    options = ("--track", files.track, *OFF)
    first = run("laps", files.log, *options, "--units", "mph")
    assert f"remembered in {own_settings}" in first.stderr
    assert "top mph" in run("laps", files.log, *options).stdout
    # Other units for one run do not change what is remembered.
    assert "top m/s" in run("laps", files.log, *options, "--units", "m/s").stdout
    assert "top mph" in run("laps", files.log, *options).stdout


def test_nothing_is_asked_or_remembered_where_nobody_sits(
    files: Files, run: Run, own_settings: Path
) -> None:
    result = run("laps", files.log, "--track", files.track, *OFF)
    assert "top km/h" in result.stdout
    assert not own_settings.exists()


def test_the_first_lap_of_an_official_sheet(files: Files, run: Run, tmp_path: Path) -> None:
    (tmp_path / "friday.csv").write_bytes(files.log.read_bytes())
    (tmp_path / "weekend.toml").write_text('[logs."friday.csv"]\nfirst_lap = 7\n')
    said = run("laps", tmp_path / "friday.csv", "--track", files.track, *OFF).stdout
    numbers = [line.split()[0] for line in said.splitlines() if line.strip()[:1].isdigit()]
    assert numbers == ["6", "7", "8", "9", "10", "11"]


def test_the_log_is_never_written_to(files: Files, run: Run) -> None:
    before = files.log.read_bytes(), files.log.stat().st_mtime_ns
    run("debrief", files.log, "--track", files.track, *OFF, "--no-notes")
    assert (files.log.read_bytes(), files.log.stat().st_mtime_ns) == before


def test_help_says_what_it_is_not(run: Run) -> None:
    said = run("--help").stdout
    assert "Not official timing" in said
    for command in (
        "laps", "compare", "corners", "race", "track", "check", "debrief", "align", "report",
        "captions", "weekend",
    ):  # fmt: skip
        assert command in said
        assert run(command, "--help").exit_code == 0


def test_speeds_and_braking_places_carry_the_caution(text) -> None:
    assert BUILD_UP in " ".join(text("corners").split())
    item = WorthTryingInWords(1, "braking", text="Corner 1: braking where you did on lap 3.")
    assert BUILD_UP in " ".join(" ".join(_worth_lines(Advice((item,), ""))).split())


def test_the_option_under_its_first_name_still_works(files: Files, run_json: RunJson) -> None:
    old = run_json("laps", files.log, "--track", files.track, "--road", "off")
    new = run_json("laps", files.log, "--track", files.track, "--repeat-line", "off")
    assert old == new
    assert old["noise"]["repeat_line"] is old["noise"]["road"] is False


def test_local_time_stands_beside_utc(files: Files, run: Run, tmp_path: Path) -> None:
    # The log of the fixture has no date; this one begins at 22:30 UTC.
    log = tmp_path / "night.csv"
    rows = [f"2026-07-10T22:30:{k:02d}Z,{48.0 + 1e-4 * k:.6f},9.0" for k in range(30)]
    log.write_text("\n".join(["utc,latitude,longitude", *rows]), encoding="utf-8")
    (tmp_path / "weekend.toml").write_text('timezone = "Asia/Tokyo"\n', encoding="utf-8")
    said = run("check", log)
    assert said.exit_code == 0, said.stderr
    assert "from 2026-07-10 22:30:00 UTC (2026-07-11 07:30:00 JST)" in said.stdout
    found = json.loads(run("check", log, "--json").stdout)["log"]
    assert found["start_utc"].startswith("2026-07-10T22:30:00")
    assert found["time_zone"] == "Asia/Tokyo"
    (tmp_path / "weekend.toml").write_text('timezone = "Asia/Tokio"\n', encoding="utf-8")
    wrong = run("check", log)
    assert "timezone = 'Asia/Tokio' is no time zone" in wrong.stderr
    assert "22:30:00 UTC" in wrong.stdout
    # Notes that cannot be read are no reason not to look at a log.
    (tmp_path / "weekend.toml").write_text("timezone =\n", encoding="utf-8")
    broken = run("check", log)
    assert broken.exit_code == 0
    assert "weekend.toml" in broken.stderr


def test_a_lap_that_left_the_track_is_said_and_given_no_causes(tmp_path: Path) -> None:
    off = sim.Off(timed_lap=2, corner=4, wide_m=15.0)
    world = make_world(tmp_path, sim.Plan((4,), events=(off,)), seed=3, repeat_line=False)
    bad, good = world.session.timed_laps[1], world.session.timed_laps[2]
    assert _odd_lap(world.session, bad).startswith(f"Lap {bad} is set aside: ")
    assert _odd_lap(world.session, good) == ""
    comparison = world.session.compare(bad, good)
    with_causes, without = (
        "\n".join(_lines(comparison, world.session.track, Units(), with_causes=w))
        for w in (True, False)
    )
    assert "most first:" in with_causes
    assert "no causes are named" in without
    assert "most first:" not in without
