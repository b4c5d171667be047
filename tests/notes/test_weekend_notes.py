"""Weekend notes: read leniently, edited without harm."""

from dataclasses import replace
from pathlib import Path

import pytest

from lapwright.errors import NotesError
from lapwright.notes.weekend_notes import read_notes, write_worth_trying
from lapwright.notes.worth_trying_item import WorthTryingInWords

NOTES = """\
# Mine.

[logs."friday.csv"]
driver = "Runa"   # the tall one
conditions = "dry"
changes = ["softer rear"]
first_lap = 3
tank_l = 20.5

[[logs."friday.csv".people]]
name = "Ivo"

[weather]
wind = "west"
"""
ITEM = WorthTryingInWords(
    4, "minimum_speed", text='say "carry more" \\ ±', time_at_stake_s=0.21, time_at_stake_sd_s=0.05,
    better=22.4, usual=21.3, better_laps=(1, 3), usual_laps=(2, 4, 5), p_value=5e-5, name="Ölberg",
)  # fmt: skip


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "weekend.toml"
    path.write_text(NOTES, encoding="utf-8")
    return path


def test_what_is_noted(path: Path) -> None:
    notes = read_notes(path)["friday.csv"]
    assert (notes.driver, notes.conditions, notes.first_lap) == ("Runa", "dry", 3)
    assert notes.changes == ("softer rear",)
    assert (notes.car, notes.tried, notes.worth_trying) == ("", (), ())
    assert notes.other == {"tank_l": 20.5, "people": [{"name": "Ivo"}]}


def test_no_file_says_nothing(tmp_path: Path) -> None:
    assert read_notes(tmp_path / "weekend.toml") == {}


def test_a_single_text_counts_as_a_list(path: Path) -> None:
    path.write_text('[logs."a.csv"]\ntried = "corner 4"\n', encoding="utf-8")
    assert read_notes(path)["a.csv"].tried == ("corner 4",)


def test_a_number_tried_is_a_corner(path: Path) -> None:
    path.write_text('[logs."a.csv"]\ntried = [4, "T10"]\n[logs."b.csv"]\ntried = 4\n')
    notes = read_notes(path)
    assert notes["a.csv"].tried == ("corner 4", "T10")
    assert notes["b.csv"].tried == ("corner 4",)


def test_items_come_back_and_nothing_else_changes(path: Path) -> None:
    write_worth_trying(path, "friday.csv", [ITEM])
    text = path.read_text(encoding="utf-8")
    assert text.startswith(NOTES)
    assert read_notes(path)["friday.csv"].worth_trying == (ITEM,)
    assert read_notes(path)["friday.csv"].other["tank_l"] == 20.5


def test_a_second_look_replaces_the_first(path: Path) -> None:
    write_worth_trying(path, "friday.csv", [ITEM, WorthTryingInWords(1, "braking")])
    write_worth_trying(path, "saturday.csv", [WorthTryingInWords(2, "line")])
    write_worth_trying(path, "friday.csv", [WorthTryingInWords(9, "throttle")])
    notes = read_notes(path)
    assert [i.corner for i in notes["friday.csv"].worth_trying] == [9]
    assert [i.corner for i in notes["saturday.csv"].worth_trying] == [2]
    assert "the tall one" in path.read_text(encoding="utf-8")


def test_no_items_take_the_old_ones_away(path: Path) -> None:
    write_worth_trying(path, "friday.csv", [ITEM])
    write_worth_trying(path, "friday.csv", [])
    assert path.read_text(encoding="utf-8") == NOTES


def test_the_same_items_again_change_no_byte(path: Path) -> None:
    write_worth_trying(path, "friday.csv", [ITEM])
    first = path.read_bytes()
    write_worth_trying(path, "friday.csv", [ITEM])
    assert path.read_bytes() == first


def test_notes_are_made_where_there_are_none(tmp_path: Path) -> None:
    path = tmp_path / "weekend.toml"
    write_worth_trying(path, "new.gpx", [ITEM])
    assert read_notes(path)["new.gpx"].worth_trying == (ITEM,)
    assert list(tmp_path.iterdir()) == [path]


def test_what_cannot_be_edited_is_left_alone(path: Path) -> None:
    # An inline table is closed: TOML 1.0.0, "Inline Table", forbids adding to it from outside.
    text = '[logs]\n"friday.csv" = { driver = "Runa" }\n'
    path.write_text(text, encoding="utf-8")
    with pytest.raises(NotesError, match="cannot be edited without harm"):
        write_worth_trying(path, "friday.csv", [ITEM])
    assert path.read_text(encoding="utf-8") == text


def test_line_ends_and_the_byte_order_mark_stay(path: Path) -> None:
    raw = b"\xef\xbb\xbf" + NOTES.replace("\n", "\r\n").encode()
    path.write_bytes(raw)
    write_worth_trying(path, "friday.csv", [ITEM])
    written = path.read_bytes()
    assert written.startswith(raw)
    assert written.count(b"\n") == written.count(b"\r\n")
    write_worth_trying(path, "friday.csv", [])
    assert path.read_bytes() == raw


@pytest.mark.parametrize("usual", ["\n", "\r\n"])
def test_each_line_keeps_its_own_end(path: Path, usual: str) -> None:
    other = "\r\n" if usual == "\n" else "\n"
    old = NOTES.replace("\n", usual).replace(f'dry"{usual}', f'dry"{other}')
    assert old.count("\r\n") not in (0, NOTES.count("\n"))
    path.write_bytes(old.encode())
    write_worth_trying(path, "friday.csv", [ITEM])
    written = path.read_bytes().decode()
    assert written.startswith(old)
    added = (
        written.removeprefix(old).replace("\r\n", "\n") if usual == "\n" else written[len(old) :]
    )
    assert added.count("\n") == written[len(old) :].count(usual) > 5
    # A second look puts its table where the first stands, and the last line may have no end.
    path.write_bytes((written + "[x]").encode())
    write_worth_trying(path, "friday.csv", [replace(ITEM, corner=5)])
    assert path.read_bytes().decode().startswith(old)
    assert path.read_bytes().decode().endswith(f"{usual}[x]")
    write_worth_trying(path, "friday.csv", [])
    assert path.read_bytes().decode() == old + "[x]"


@pytest.mark.parametrize(
    "text", ['logs = {"a.csv" = {driver = "R"}}\n', '[logs]\n"a.csv" = {driver = "R"}\n']
)
def test_notes_in_braces_are_told_to_have_a_header(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(NotesError, match=r"a header .* of its own, neither in braces"):
        write_worth_trying(path, "a.csv", [ITEM])
    assert path.read_text(encoding="utf-8") == text


def test_a_name_that_is_no_text_is_one_clear_line(path: Path) -> None:
    # How a file name that is not UTF-8 reaches Python: PEP 383.
    with pytest.raises(NotesError, match="Give the log a name in plain letters"):
        write_worth_trying(path, "k\udcfcr.csv", [ITEM])
    assert path.read_text(encoding="utf-8") == NOTES


def test_a_link_stays_a_link(path: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.toml"
    link.symlink_to(path)
    write_worth_trying(link, "friday.csv", [ITEM])
    assert link.is_symlink()
    assert read_notes(path)["friday.csv"].worth_trying == (ITEM,)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("logs = 3\n", "'logs' is not made of tables"),
        ("[logs]\na = 1\n", "'logs' is not made of tables"),
        ('[logs."a"]\ndriver = 3\n', "'logs.a.driver' should be text, not 3"),
        ('[logs."a"]\ntried = [true]\n', "'logs.a.tried' should be a list of texts, not True"),
        ('[logs."a"]\nchanges = [1]\n', "'logs.a.changes' should be a list of texts, not 1"),
        ('[logs."a"]\nfirst_lap = "x"\n', "should be a whole number"),
        ('[logs."a"]\nfirst_lap = true\n', "should be a whole number"),
        ('[logs."a"]\nworth_trying = 3\n', "is not made of tables"),
        ('[[logs."a".worth_trying]]\ncode = "line"\n', "lacks a corner number or a code"),
        ('[[logs."a".worth_trying]]\ncorner = 1\ncode = "luck"\n', "Codes are braking"),
        ('[[logs."a".worth_trying]]\ncorner = 1\ncode = "line"\ntext = 3\n', "is odd"),
        ("driver = \n", "is not valid TOML"),
    ],
)
def test_broken_notes_are_named(path: Path, text: str, message: str) -> None:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(NotesError, match=message) as caught:
        read_notes(path)
    assert "\n" not in str(caught.value)
    assert str(path) in str(caught.value)


def test_other_encodings_are_refused(path: Path) -> None:
    path.write_bytes('driver = "Jörg"'.encode("latin-1"))
    with pytest.raises(NotesError, match="UTF-8"):
        read_notes(path)


def test_a_byte_order_mark_and_dos_lines_are_read(path: Path) -> None:
    path.write_bytes(b"\xef\xbb\xbf" + NOTES.replace("\n", "\r\n").encode())
    assert read_notes(path)["friday.csv"].driver == "Runa"


def test_a_folder_that_cannot_be_written_leaves_no_part(tmp_path: Path) -> None:
    with pytest.raises(NotesError, match=r"there is no folder .*missing"):
        write_worth_trying(tmp_path / "missing" / "weekend.toml", "a.csv", [ITEM])
    assert list(tmp_path.iterdir()) == []
