"""Notes that are not read are named, each with what to do."""

from pathlib import Path

import pytest

from lapwright.notes.check import maybe_one_name, notes_oddities


@pytest.fixture
def path(tmp_path: Path) -> Path:
    (tmp_path / "a.csv").touch()
    return tmp_path / "weekend.toml"


def test_nothing_is_odd_about_good_notes_and_own_keys(path: Path) -> None:
    assert notes_oddities(path) == ()
    text = """[logs."a.csv"]
driver = "Runa"
tried = ["corner 4"]
tank_l = 20.5
people = ["Ivo"]
[[logs."a.csv".worth_trying]]
corner = 4
code = "line"
mine = "own word"
[weather]
wind = "west"
"""
    path.write_text(text, encoding="utf-8")
    assert notes_oddities(path) == ()


@pytest.mark.parametrize("key", ["tried", "changes", "driver", "first_lap", "Tried"])
def test_a_line_that_landed_in_a_table_of_the_debrief(path: Path, key: str) -> None:
    text = f"""[[logs."a.csv".worth_trying]]
corner = 4
code = "line"
{key} = "corner 4"
"""
    path.write_text(text, encoding="utf-8")
    (said,) = notes_oddities(path)
    assert f'{key!r} stands under [[logs."a.csv".worth_trying]] and is not read' in said
    assert 'move it up to the lines under [logs."a.csv"]' in said


@pytest.mark.parametrize(
    ("key", "meant"),
    [("Tried", "tried"), ("change", "changes"), ("tires", "tyres"), ("first-lap", "first_lap")],
)
def test_a_key_that_is_nearly_ours(path: Path, key: str, meant: str) -> None:
    path.write_text(f'[logs."a.csv"]\n{key} = "x"\n', encoding="utf-8")
    (said,) = notes_oddities(path)
    assert said == f'weekend.toml:2: {key!r} under [logs."a.csv"] is not read; write {meant!r}.'


def test_a_line_under_no_log(path: Path) -> None:
    path.write_text('tried = ["corner 4"]\n[log."a.csv"]\ndriver = "x"\n', encoding="utf-8")
    said = notes_oddities(path)
    assert [one.split()[:2] for one in said] == [
        ["weekend.toml:1:", "'tried'"], ["weekend.toml:2:", "'log'"],
    ]  # fmt: skip


def test_a_log_that_is_not_there(path: Path) -> None:
    path.write_text('[logs."a.csv"]\n[logs."A.csv"]\n[logs."b.gpx"]\n', encoding="utf-8")
    (said,) = notes_oddities(path)
    assert said.startswith('weekend.toml:2: "A.csv", "b.gpx": no such log in this folder')


def test_the_line_is_that_of_the_key_under_its_own_header(path: Path) -> None:
    (path.parent / "b.csv").touch()
    text = """# a word before
[logs."b.csv"]
driver = "Ivo"  # tires = no key

[ logs . "a.csv" ]
note = "x"
  "tires" = "used"
"""
    path.write_text(text, encoding="utf-8")
    assert [one.split()[0] for one in notes_oddities(path)] == [
        "weekend.toml:6:",
        "weekend.toml:7:",
    ]
    # In braces nothing stands on a line of its own; then it is said without one.
    path.write_text('logs = { "a.csv" = { tires = "used" } }\n', encoding="utf-8")
    assert [one.split()[0] for one in notes_oddities(path)] == ["weekend.toml:"]


def test_names_that_may_be_one() -> None:
    assert maybe_one_name("Runa Tidewell", "R. Tidewell")
    assert maybe_one_name("Runa Tidewell", "Runa")
    assert not maybe_one_name("Runa Tidewell", "Ivo Marlen")
    assert not maybe_one_name("Runa  tidewell", "Runa Tidewell")
    assert not maybe_one_name("", "Runa")
