"""A column map that lies beside a log."""

from pathlib import Path

import pytest

from lapwright.errors import LogError, NotesError
from lapwright.ingest import Log
from lapwright.ingest.map_beside import read_with_map

MAP = '[columns]\ntime = "tk"\nlatitude = "n7"\nlongitude = "e7"\n'


@pytest.fixture
def coded(tmp_path: Path) -> Path:
    """A log with a header that nobody understands, and values with several readings."""
    rows = (f"{0.1 * k:.1f},{51 + 1e-5 * k:.7f},{2 + 1e-5 * k:.7f},7" for k in range(50))
    log = tmp_path / "friday.csv"
    log.write_text("\n".join(["tk,n7,e7,w1", *rows, ""]))
    return log


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    """A log that is understood as it is."""
    rows = (f"{0.1 * k:.1f},{51 + 1e-5 * k:.7f},{2 + 1e-5 * k:.7f}" for k in range(50))
    log = tmp_path / "plain.csv"
    log.write_text("\n".join(["time (s),latitude,longitude", *rows, ""]))
    return log


def said(log: Log) -> list[tuple[str, str]]:
    return [(f.code, f.message) for f in log.findings if f.code.startswith("column_map")]


def test_it_is_used_and_that_is_said(coded: Path) -> None:
    file = coded.with_name("columns.toml")
    file.write_text(MAP)
    log, used = read_with_map(coded)
    assert used == file
    assert log.fixes["lat_deg"].iloc[0] == 51.0
    assert said(log) == [("column_map", "its columns are read by columns.toml beside the log")]


def test_a_given_one_comes_first_and_nothing_is_said(coded: Path) -> None:
    coded.with_name("columns.toml").write_text(MAP.replace("n7", "e7", 1).replace("e7", "n7"))
    given = coded.with_name("mine.toml")
    given.write_text(MAP)
    log, used = read_with_map(coded, given)
    assert used == given
    assert log.fixes["lat_deg"].iloc[0] == 51.0
    assert said(log) == []


@pytest.mark.parametrize(
    ("text", "why"),
    [(MAP, "'tk'"), ("colour = 3\n", "a part 'colour'"), ("not toml", "is not a TOML file")],
)
def test_one_that_does_not_fit_is_passed_over_and_that_is_said(
    plain: Path, text: str, why: str
) -> None:
    plain.with_name("columns.toml").write_text(text)
    log, used = read_with_map(plain)
    assert used is None
    ((code, message),) = said(log)
    assert code == "column_map_unused"
    assert message.startswith("columns.toml beside the log is not used: ")
    assert why in message


def test_a_given_one_that_does_not_fit_is_an_error(plain: Path) -> None:
    file = plain.with_name("mine.toml")
    file.write_text(MAP)
    with pytest.raises(LogError, match="tk"):
        read_with_map(plain, file)


def test_where_the_log_cannot_be_read_without_it_its_own_mistake_is_named(tmp_path: Path) -> None:
    log = tmp_path / "friday.csv"
    log.write_text("a,b\n1,2\n3,4\n")
    log.with_name("columns.toml").write_text("colour = 3\n")
    with pytest.raises(NotesError, match="colour"):
        read_with_map(log)


def test_a_log_that_is_no_csv_has_no_use_for_one(tmp_path: Path) -> None:
    sample = Path(__file__).parents[2] / "sample_sessions" / "saturday_qualifying.gpx"
    log = tmp_path / "qualifying.gpx"
    log.write_bytes(sample.read_bytes())
    for text in (MAP, "colour = 3\n"):
        log.with_name("columns.toml").write_text(text)
        read, used = read_with_map(log)
        assert (used, said(read)) == (None, [])
