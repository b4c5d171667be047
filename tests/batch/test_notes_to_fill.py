"""`weekend --init`: notes to be filled in, beside every log of a folder."""

import shutil
from pathlib import Path

from click.testing import CliRunner

from lapwright.batch import init_notes
from lapwright.cli import cli
from lapwright.notes.weekend_notes import read_notes

LINE = "time_s,lat,lon\n"


def test_the_command(tmp_path: Path) -> None:
    (tmp_path / "friday.csv").write_text(LINE)
    (tmp_path / "day 2").mkdir()
    (tmp_path / "day 2" / "sunday.csv").write_text(LINE)
    (tmp_path / "weekend.toml").write_text('[logs."friday.csv"]\ndriver = "Runa"\n')
    run = CliRunner().invoke(cli, ["weekend", str(tmp_path), "--init"])
    assert run.exit_code == 0, run.output
    said = " ".join(run.stdout.split())
    assert "Nothing had to be added. Already there, left as it is: friday.csv (has no car," in said
    assert "Added: sunday.csv." in said
    assert (tmp_path / "weekend.toml").read_text() == '[logs."friday.csv"]\ndriver = "Runa"\n'
    assert list(read_notes(tmp_path / "day 2" / "weekend.toml")) == ["sunday.csv"]
    # The logs themselves are not looked at, and no results are written.
    assert not (tmp_path / "results").exists()
    both = CliRunner().invoke(cli, ["weekend", str(tmp_path), "--init", "--json"])
    assert both.exit_code == 2
    assert "leave out --json" in both.stderr


def test_a_log_in_an_archive_is_noted_beside_it(tmp_path: Path) -> None:
    logs = tmp_path / "logs"
    (logs / "in").mkdir(parents=True)
    (logs / "in" / "run.csv").write_text(LINE)
    shutil.make_archive(str(tmp_path / "card"), "zip", logs)
    shutil.rmtree(logs)
    (prepared,) = init_notes(tmp_path)
    assert prepared.path == tmp_path / "weekend.toml"
    assert list(read_notes(prepared.path)) == ["card.zip/in/run.csv"]
