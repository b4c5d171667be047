"""Notes to be filled in: every key, every log, and nothing of anybody's lost."""

from pathlib import Path

import pytest

from lapwright.errors import NotesError
from lapwright.notes import weekend_notes
from lapwright.notes.check import notes_oddities
from lapwright.notes.template import KEYS, prepare_notes, with_logs
from lapwright.notes.weekend_notes import LogNotes, edit_notes, read_notes, write_worth_trying
from lapwright.notes.worth_trying_item import WorthTryingInWords

ITEM = WorthTryingInWords(4, "minimum_speed", text="carry", better_laps=(1, 3), p_value=0.01)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    for name in ("friday.csv", 'odd "name".csv'):
        (tmp_path / name).touch()
    return tmp_path / "weekend.toml"


def test_left_empty_it_says_nothing(path: Path) -> None:
    logs = ["friday.csv", 'odd "name".csv']
    assert prepare_notes(path, logs).added == tuple(logs)
    assert read_notes(path) == dict.fromkeys(logs, LogNotes())
    assert notes_oddities(path) == ()
    assert not list(path.parent.glob("*.part"))


def test_every_key_can_be_filled_in(path: Path) -> None:
    prepare_notes(path, ["friday.csv"])
    text = path.read_text()
    numbers = {"tyre_laps": "14", "fuel_l": "32,5", "first_lap": "11", "track_temp_degc": "31",
               "air_temp_degc": "-2.5"}  # fmt: skip
    for key in KEYS:
        # As a person does: between the quotes or the brackets.
        said = numbers.get(key, f"my {key}")
        if f"{key} = []" in text:
            inside = "1.8, 1.9" if "bar" in key else f'"{said}"'
            text = text.replace(f"\n{key} = []", f"\n{key} = [{inside}]")
        else:
            text = text.replace(f'\n{key} = ""', f'\n{key} = "{said}"')
    path.write_text(text)
    notes = read_notes(path)["friday.csv"]
    assert notes == LogNotes(
        driver="my driver", car="my car", tyres="my tyres", conditions="my conditions",
        notes="my notes", changes=("my changes",), tried=("my tried",), first_lap=11,
        tyre_set="my tyre_set", tyre_laps=14, pressures_cold_bar=(1.8, 1.8, 1.9, 1.9),
        pressures_hot_bar=(1.8, 1.8, 1.9, 1.9), fuel_l=32.5, track_temp_degc=31.0,
        air_temp_degc=-2.5,
    )  # fmt: skip


def test_what_is_there_stays_to_the_letter(path: Path) -> None:
    mine = '# Mine.\r\n[logs."friday.csv"]\r\ndriver = "Runa"  # she\r\nfuel_l = 30\r\n\r\n# End'
    path.write_bytes(b"\xef\xbb\xbf" + mine.encode())
    done = prepare_notes(path, ["friday.csv", "saturday.csv"])
    assert done.added == ("saturday.csv",)
    assert done.already == {"friday.csv": tuple(k for k in KEYS if k not in ("driver", "fuel_l"))}
    data = path.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf" + mine.encode() + b"\r\n\r\n[logs.")
    assert data.count(b"\n") == data.count(b"\r\n")
    # A second time there is nothing to do, so nothing is written.
    before = path.stat().st_mtime_ns
    assert prepare_notes(path, ["friday.csv", "saturday.csv"]).added == ()
    assert path.stat().st_mtime_ns == before


def test_a_log_of_which_only_the_debrief_wrote_is_added(path: Path) -> None:
    write_worth_trying(path, "friday.csv", [ITEM])
    assert prepare_notes(path, ["friday.csv"]).added == ("friday.csv",)
    assert read_notes(path)["friday.csv"].worth_trying == (ITEM,)
    # And the debrief goes on in what was prepared.
    write_worth_trying(path, "friday.csv", [])
    assert read_notes(path)["friday.csv"] == LogNotes()


def test_notes_in_braces_are_left_as_they_are(path: Path) -> None:
    path.write_text('logs = {"friday.csv" = {driver = "Runa"}}\n')
    with pytest.raises(NotesError, match=r"nothing can be added to it.*header"):
        prepare_notes(path, ["saturday.csv"])
    assert path.read_text() == 'logs = {"friday.csv" = {driver = "Runa"}}\n'
    for broken in ("logs = 3\n", "driver = \n"):
        path.write_text(broken)
        with pytest.raises(NotesError):
            prepare_notes(path, ["saturday.csv"])
        assert path.read_text() == broken


def test_no_logs_no_change() -> None:
    assert with_logs("# mine", [], Path("weekend.toml")) == "# mine"


def test_what_another_program_writes_meanwhile_is_not_lost(path: Path) -> None:
    times = []

    def edit(text: str) -> str:
        times.append(text)
        if len(times) == 1:
            path.write_text("# another program\n")
        return text + "# this one\n"

    assert edit_notes(path, edit)
    assert path.read_text() == "# another program\n# this one\n"
    assert times == ["", "# another program\n"]
    text = path.read_text()

    def always(old: str) -> str:
        path.write_text(f"{path.read_text()}#\n")
        return old + "# this one\n"

    with pytest.raises(NotesError, match="is being written by another program"):
        edit_notes(path, always)
    assert path.read_text() == text + "#\n" * weekend_notes._TIMES
    assert not list(path.parent.glob("*.part"))


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('fuel_l = "a lot"', "'logs.a.csv.fuel_l' should be a number, not 'a lot'"),
        ("fuel_l = nan", "should be a number"),
        ("fuel_l = true", "should be a number"),
        ('tyre_laps = "1,5"', "should be a whole number, not 1.5"),
        ("tyre_laps = [3]", "should be a whole number"),
        ("pressures_cold_bar = [1.8, 1.8, 1.8]", "should be 1, 2 or 4 numbers, not 3"),
        ("pressures_hot_bar = 26", "should be in bar, between 0 and 6, not 26"),
        ("pressures_hot_bar = [0, 1]", "should be in bar"),
    ],
)
def test_a_number_that_is_none_is_an_error(path: Path, line: str, said: str) -> None:
    path.write_text(f'[logs."a.csv"]\n{line}\n')
    with pytest.raises(NotesError) as error:
        read_notes(path)
    assert said in str(error.value)


@pytest.mark.parametrize(
    ("written", "four"),
    [
        ("1.8", (1.8, 1.8, 1.8, 1.8)), ("[1.8]", (1.8, 1.8, 1.8, 1.8)),
        ("[1.8, 1.7]", (1.8, 1.8, 1.7, 1.7)), ('[1, 2, "3", "4,5"]', (1.0, 2.0, 3.0, 4.5)),
    ],
)  # fmt: skip
def test_pressures(path: Path, written: str, four: tuple[float, ...]) -> None:
    path.write_text(f'[logs."a.csv"]\npressures_cold_bar = {written}\n')
    assert read_notes(path)["a.csv"].pressures_cold_bar == four


def test_what_does_not_read_back_is_not_written(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path.write_text("[mine]\nx = 1\n")
    block = '[logs."a.csv"]\n[theirs]\ny = 2\n'
    monkeypatch.setattr("lapwright.notes.template._block", lambda _: block)
    with pytest.raises(NotesError, match="nothing can be added to it without harm"):
        prepare_notes(path, ["a.csv"])
    assert path.read_text() == "[mine]\nx = 1\n"
