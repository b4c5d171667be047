"""`lapwright track`: names, the library and the map, from one log to the next."""

import os
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from cli_runs import Files, Run, RunJson
from json_schemas import LIBRARY, TRACK_COMMAND
from jsonschema import Draft202012Validator

import lapwright as lw
from lapwright.discovery import reversed_track

OFF = ("--repeat-line", "off")
# Umlauts and quotes; right to left; mark-up and what figures take for formulas; very long.
NAMES = {
    1: "Häfele „Söhne“ 'n' \"Co\"", 2: "עיקול הגשר", 3: "<b>$x_1$</b> & \\n",
    4: "The very long bend behind the second of the two old water mills by the canal",
}  # fmt: skip
TYPED = [f"--name-corner={number}={name}" for number, name in NAMES.items()]


@pytest.fixture(scope="module")
def log(files: Files, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The log alone in a folder, without a track file."""
    return Path(shutil.copy(files.log, tmp_path_factory.mktemp("alone")))


@pytest.fixture(scope="module")
def whole(files: Files, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A complete track file of the circuit; its name is 'Wren Hollow'."""
    track = lw.complete_track(lw.read_track(files.track), lw.read_log(files.log))
    file = tmp_path_factory.mktemp("whole") / "wren.geojson"
    lw.write_track(track, file)
    return file


@pytest.fixture
def library(tmp_path: Path) -> Path:
    folder = tmp_path / "library"
    folder.mkdir()
    return folder


def test_names_are_there_in_every_later_session(
    log: Path, library: Path, run: Run, run_json: RunJson, tmp_path: Path
) -> None:
    said = run("track", log, "--tracks", library, "--name", "Wren Hollow", *TYPED, "--save", *OFF)
    assert said.exit_code == 0, said.stderr
    assert f"Saved in the track library as {library / 'wren_hollow.geojson'}." in said.stdout
    given = ("--tracks", library, *OFF)
    corners = run_json("corners", log, *given)["corners"]
    assert {c["corner"]: c["name"] for c in corners if c["corner"] <= 4} == NAMES
    assert run_json("laps", log, *given)["track"]["name"] == "Wren Hollow"
    text = run("corners", log, *given).stdout
    assert all(name in text for name in list(NAMES.values())[:3])
    page = tmp_path / "r.html"
    assert run("report", log, *given, "--out", page).exit_code == 0
    html = page.read_text(encoding="utf-8")
    assert "<b>$x_1$</b>" not in html
    for shown in ("Häfele „Söhne“", "עיקול הגשר", "&lt;b&gt;$x_1$&lt;/b&gt; &amp;", NAMES[4]):
        assert shown in html
    listed = run("track", "--list", "--tracks", library).stdout
    row = next(line for line in listed.splitlines() if line.startswith("Wren Hollow"))
    assert row.split()[-3:] == [str(len(corners)), "4", "wren_hollow.geojson"]


def test_names_are_changed_without_a_log(
    whole: Path, library: Path, run: Run, run_json: RunJson
) -> None:
    file = Path(shutil.copy(whole, library))
    before = lw.read_track(file)
    given = ("track", "--track", file, "--tracks", library)
    document = run_json(*given, "--name", "Wren Hollow Club", "--name-corner", "3=Hatch", "--save")
    assert not list(Draft202012Validator(TRACK_COMMAND).iter_errors(document))
    assert document["saved"] == str(file)
    after = lw.read_track(file)
    assert after.name == "Wren Hollow Club"
    names = [c.name for c in before.corners]
    assert [c.name for c in after.corners] == [*names[:2], "Hatch", *names[3:]]
    assert after.length_m == pytest.approx(before.length_m, abs=1e-3)
    # Nothing behind the sign takes a name away, also where the older file knows it.
    run_json(*given, "--name-corner", "3=", "--save")
    assert lw.read_track(file).corners[2].name == "3"
    assert [p.name for p in library.iterdir()] == ["wren.geojson"]


def test_another_circuit_of_the_same_name_gets_a_file_of_its_own(
    whole: Path, library: Path, run: Run, files: Files
) -> None:
    other = library / "wren_hollow.geojson"
    # A degree of longitude farther east, 80 km.
    text = whole.read_text(encoding="utf-8").replace("[144.", "[145.").replace("[143.", "[144.")
    other.write_text(text, encoding="utf-8")
    said = run("track", "--track", whole, "--tracks", library, "--save")
    assert said.exit_code == 0, said.stderr
    assert "wren_hollow_2.geojson" in said.stdout
    assert "takes the place" not in said.stdout
    assert other.read_text(encoding="utf-8") == text
    # Nor with --out.
    said = run("track", "--track", whole, "--out", other)
    assert said.exit_code == 1
    assert "holds another circuit" in said.stderr
    assert other.read_text(encoding="utf-8") == text


def test_the_same_circuit_again_says_what_it_replaces(
    whole: Path, library: Path, run: Run, log: Path
) -> None:
    track = replace(lw.read_track(whole), other_members={"club": "Wren MC"})
    lw.write_track(track.with_corner_names({2: "Weir"}), library / "ours.geojson")
    bare = library.parent / "bare.geojson"
    lw.write_track(track.with_corner_names([""] * len(track.corners)), bare)
    said = run("track", "--track", bare, "--tracks", library, "--name-corner", "1=Gate", "--save")
    assert said.exit_code == 0, said.stderr
    assert "It takes the place of 'Wren Hollow' there, the same circuit." in said.stdout
    after = lw.read_track(library / "ours.geojson")
    assert [c.given_name for c in after.corners[:3]] == [
        "Gate",
        "Weir",
        after.corners[2].given_name,
    ]
    assert after.other_members == {"club": "Wren MC"}
    assert [p.name for p in library.iterdir()] == ["ours.geojson"]


def test_the_other_way_round_is_another_circuit(whole: Path, library: Path, run: Run) -> None:
    file = Path(shutil.copy(whole, library))
    before = file.read_bytes()
    back = library.parent / "back.geojson"
    lw.write_track(reversed_track(lw.read_track(whole)), back)
    assert run("track", "--track", back, "--tracks", library, "--save").exit_code == 0
    assert file.read_bytes() == before
    assert len(list(library.glob("*.geojson"))) == 2


def test_list_and_remove(whole: Path, library: Path, run: Run, run_json: RunJson) -> None:
    assert run("track", "--list").stdout.startswith("No circuit in the track library")
    shutil.copy(whole, library / "a.geojson")
    (library / "b.geojson").write_text("{")
    document = run_json("track", "--list", "--tracks", library)
    assert not list(Draft202012Validator(LIBRARY).iter_errors(document))
    assert [c["name"] for c in document["circuits"]] == ["Wren Hollow", "b"]
    assert "is not JSON" in document["circuits"][1]["broken"]
    text = run("track", "--list", "--tracks", library, "--units", "mph,ft").stdout
    assert "length ft" in text
    assert "is not JSON" in " ".join(text.split())
    # By the circuit's name, in any case of letters; what is removed can be put back.
    said = run("track", "--remove", "wren hollow", "--tracks", library)
    assert said.exit_code == 0, said.stderr
    assert not (library / "a.geojson").exists()
    assert (library / "removed" / "a.geojson").read_bytes() == whole.read_bytes()
    said = run("track", "--remove", "Wren Hollow", "--tracks", library)
    assert said.exit_code == 1
    assert "there is no circuit 'Wren Hollow'" in said.stderr
    shutil.copy(whole, library / "a.geojson")
    shutil.copy(whole, library / "c.geojson")
    said = run("track", "--remove", "Wren Hollow", "--tracks", library)
    assert said.exit_code == 1
    assert "there are 2 circuits" in said.stderr
    assert "a.geojson, c.geojson" in said.stderr
    # By the file's name; an earlier one of that name stays.
    assert run("track", "--remove", "a", "--tracks", library).exit_code == 0
    assert sorted(p.name for p in (library / "removed").iterdir()) == ["a.geojson", "a_2.geojson"]


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_a_map(ending: str, whole: Path, run: Run, tmp_path: Path) -> None:
    out = tmp_path / f"map.{ending}"
    said = run("track", "--track", whole, *TYPED, "--map", out)
    assert said.exit_code == 0, said.stderr
    assert "the names are not kept; add --save" in said.stderr
    data = out.read_bytes()
    if ending == "png":
        assert data[:8] == b"\x89PNG\r\n\x1a\n"  # PNG, 3rd ed. (W3C 2025), sec. 5.2
        return
    # Comments repeat what is meant to be drawn, even where it is not.
    text = re.sub(r"<!--.*?-->", "", data.decode(), flags=re.DOTALL)
    for shown in ("1 Häfele „Söhne“", "2 עיקול הגשר", "3 &lt;b&gt;$x_1$&lt;/b&gt; &amp; \\n",
                  "4 The very long bend behind t…", ">5", "pit lane", "start/finish line",
                  "sector line", "clockwise"):  # fmt: skip
        assert shown in text
    assert run("track", "--track", whole, *TYPED, "--map", out).exit_code == 0
    assert out.read_bytes() == data


def test_a_beside_file_comes_first_and_that_is_said(
    files: Files, library: Path, run: Run, tmp_path: Path
) -> None:
    folder = tmp_path / "day"
    folder.mkdir()
    log = shutil.copy(files.log, folder)
    shutil.copy(files.track, folder / "lines.geojson")
    said = run("track", log, "--tracks", library, "--save", *OFF)
    assert said.exit_code == 0, said.stderr
    assert "lines.geojson beside the log comes before the library" in said.stderr


def test_a_folder_that_cannot_be_written_to(
    whole: Path, library: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = Path(shutil.copy(whole, library))
    before = file.read_bytes()

    # A folder's rights do not hold the administrator, whom tests may run as.
    def refused(*_: object, **__: object) -> None:
        raise PermissionError(13, os.strerror(13))

    with monkeypatch.context() as patch:
        patch.setattr("tempfile.mkstemp", refused)
        for given in (("--save",), ("--map", library / "m.svg"), ("--out", library / "o.geojson")):
            said = run(
                "track", "--track", file, "--tracks", library, "--name-corner", "1=X", *given
            )
            assert said.exit_code == 1
            assert said.stderr.splitlines()[-1].endswith("cannot be written (Permission denied).")
    with monkeypatch.context() as patch:
        patch.setattr(Path, "rename", refused)
        said = run("track", "--remove", "Wren Hollow", "--tracks", library)
        assert said.exit_code == 1
        assert "cannot be moved" in said.stderr
    assert file.read_bytes() == before
    # The user's own library, where a file stands in the way of its folder.
    Path(os.environ["XDG_DATA_HOME"]).write_text("")
    said = run("track", "--track", whole, "--save")
    assert said.exit_code == 1
    assert "this folder cannot be made" in said.stderr


@pytest.mark.parametrize(
    ("given", "status", "text"),
    [
        ((), 2, "Give a LOG, or a track file with --track, or --list"),
        (("--list", "--save"), 2, "stand alone"),
        (("--track", "W", "--save", "--out", "a.geojson"), 2, "--save or --out, not both"),
        (("--track", "W", "--start-at", "20"), 2, "--start-at needs a LOG"),
        (("--track", "W", "--name-corner", "99=X"), 2, "there is no corner 99"),
        (("--track", "W", "--name-corner", "X"), 2, "not a number and a name"),
        (("--track", "W", "--map", "a.jpg"), 1, "end with .svg or .png"),
        (("--track", "L"), 1, "Give a log of this circuit as well"),
        (("--list", "--tracks", "none"), 1, "there is no such folder"),
    ],
)  # fmt: skip
def test_what_does_not_do(
    given: tuple[str, ...], status: int, text: str, whole: Path, files: Files, run: Run,
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    stand_ins = {"W": str(whole), "L": str(files.track)}
    said = run("track", *(stand_ins.get(g, g) for g in given))
    assert said.exit_code == status
    assert text in said.stderr
    assert said.stdout == ""
    assert not list(tmp_path.glob("*.*"))


def test_a_circuit_without_a_name_is_not_saved(log: Path, library: Path, run: Run) -> None:
    said = run("track", log, "--tracks", library, "--save", *OFF)
    assert said.exit_code == 1
    assert "the circuit has no name yet. Give it one with --name" in said.stderr
    assert not list(library.iterdir())
