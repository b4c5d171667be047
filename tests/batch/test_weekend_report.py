"""From a folder of logs to its page: order, files, what fails, the command."""

import json
import zipfile
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from lxml import html as parser

import lapwright as lw
from lapwright.batch.weekend_report import in_order
from lapwright.cli import cli
from lapwright.errors import OutputError


def rows(**starts: str | None) -> list[dict[str, object]]:
    return [{"path": f"x/{k}.csv", "start_utc": pd.Timestamp(v) if v else pd.NaT}
            for k, v in starts.items()]  # fmt: skip


def names(found: list[dict[str, object]]) -> list[str]:
    return [Path(str(row["path"])).stem for row in found]


def test_by_time_and_without_a_date_after_the_one_noted_before_it() -> None:
    mine = rows(a="2026-02-08T01:00Z", b="2026-02-06T01:00Z", c=None, d="2026-02-07T01:00Z")
    notes = ["x/b.csv", "x/c.csv", "x/d.csv", "x/a.csv"]
    assert names(in_order(mine, notes)) == ["b", "c", "d", "a"]
    # Nothing tells where it belongs: last.
    assert names(in_order(mine, [])) == ["b", "d", "a", "c"]
    assert names(in_order(mine, ["x/c.csv", "x/b.csv"])) == ["c", "b", "d", "a"]
    assert names(in_order(rows(z=None, y=None), ["x/y.csv", "x/z.csv"])) == ["y", "z"]


def test_a_folder_without_notes(folder: Path, tmp_path: Path) -> None:
    (folder / "broken.csv").write_bytes(bytes(range(256)) * 30)
    before = {file.name: file.read_bytes() for file in folder.iterdir() if file.is_file()}
    weekend = lw.run_weekend(folder, tmp_path / "out", workers=1, repeat_line=False)
    assert set(weekend.jobs) == {folder / "friday.csv", folder / "saturday.csv"}
    told: list[Path] = []
    page = tmp_path / "weekend.html"
    written = lw.write_weekend_report(weekend, page, told=told.append)
    assert written == (page,)
    # Each once, and those again whose best laps are compared.
    assert [path.name for path in told][:2] == ["friday.csv", "saturday.csv"]
    said = " ".join(parser.fromstring(page.read_text(encoding="utf-8")).text_content().split())
    assert "Nothing is noted for these sessions" in said
    assert "they are taken for one driver's" in said
    assert "broken.csv: this is a binary file" in said
    # A page is passed on; where its maker keeps the logs is nobody's business.
    assert str(tmp_path) not in said
    # Both of one track: a single section.
    assert said.count("the weekend in short") + said.count("The weekend in short") == 1
    assert before == {f.name: f.read_bytes() for f in folder.iterdir() if f.is_file()}


def test_times_are_those_of_the_weekends_tables(folder: Path, tmp_path: Path) -> None:
    weekend = lw.run_weekend(folder, tmp_path / "out", workers=1, repeat_line=False)
    page = tmp_path / "weekend.html"
    lw.write_weekend_report(weekend, page)
    table = parser.fromstring(page.read_text(encoding="utf-8")).xpath(
        "//table[contains(@class, 'sessions-table')]"
    )[0]
    for row, one in zip(table.xpath("./tbody/tr"), weekend.sessions.itertuples(), strict=True):
        best = row.xpath("./td")[0].text_content()
        minutes, seconds = best.split(" ")[0].split(":")
        # Shown to a thousandth at best.
        assert 60 * int(minutes) + float(seconds) == pytest.approx(one.best_lap_s, abs=0.0051)


def test_a_folder_that_was_moved_since(folder: Path, tmp_path: Path) -> None:
    whole = lw.run_weekend(folder, workers=1, repeat_line=False)
    tracks = {job.track for job in whole.jobs.values()}
    assert len(tracks) == 1
    moved = folder.rename(tmp_path / "elsewhere")
    again = lw.run_weekend(moved, workers=1, repeat_line=False)
    assert again.kept == 2
    page = tmp_path / "page.html"
    lw.write_weekend_report(again, page)
    for job in again.jobs.values():
        assert job.track is not None
        assert job.track.is_file()
        assert moved in job.track.parents
    assert "Could not be used" not in page.read_text(encoding="utf-8")


def test_folders_in_the_folder_and_archives(folder: Path, tmp_path: Path) -> None:
    (folder / "sunday").mkdir()
    (folder / "saturday.csv").rename(folder / "sunday" / "friday.csv")
    (folder / "sunday" / "weekend.toml").write_text('[logs."friday.csv"]\ndriver = "Runa"\n')
    with zipfile.ZipFile(folder / "card.zip", "w") as card:
        card.write(folder / "friday.csv", "run1.csv")
    (folder / "friday.csv").unlink()
    track = folder / "track.geojson"
    weekend = lw.run_weekend(folder, tmp_path / "out", workers=1, repeat_line=False, track=track)
    page = tmp_path / "page.html"
    lw.write_weekend_report(weekend, page)
    table = parser.fromstring(page.read_text(encoding="utf-8")).xpath(
        "//table[contains(@class, 'sessions-table')]/tbody/tr/th"
    )
    shown = [" ".join(cell.text_content().split()) for cell in table]
    assert len(shown) == 2
    for name in weekend.sessions["session"]:
        assert any(f" {name}" in text for text in shown)
    assert sum("Runa" in text for text in shown) == 1
    with pytest.raises(OutputError):
        lw.write_weekend_report(weekend, folder / "card.zip")


def test_no_input_is_written_over(folder: Path, tmp_path: Path) -> None:
    weekend = lw.run_weekend(folder, tmp_path / "out", workers=1, repeat_line=False)
    for target in (folder / "friday.csv", folder / "track.geojson", tmp_path / "page.csv"):
        with pytest.raises(OutputError):
            lw.write_weekend_report(weekend, target)
    with pytest.raises(OutputError):
        lw.write_weekend_report(weekend, pdf=tmp_path / "page.html")


def test_the_command(folder: Path, tmp_path: Path) -> None:
    (folder / "weekend.toml").write_text(
        '[logs."friday.csv"]\ndriver = "Runa"\n[logs."saturday.csv"]\ndriver = "Runa"\n'
        'tried = ["corner 4, minimum speed"]\n'
    )
    # Among the results, in a folder that is not there yet.
    out = tmp_path / "out"
    pdf = out / "weekend.pdf"
    base = ["weekend", str(folder), "--workers", "1", "--repeat-line", "off", "--out", str(out)]
    result = CliRunner().invoke(cli, [*base, "--report", "--pdf", str(pdf)])
    assert result.exit_code == 0, result.output
    page = out / "weekend_report.html"
    assert f"  {page}" in result.stdout.splitlines()
    assert f"  {pdf}" in result.stdout.splitlines()
    assert pdf.read_bytes().startswith(b"%PDF-")
    said = " ".join(parser.fromstring(page.read_text(encoding="utf-8")).text_content().split())
    assert "corner 4, minimum speed" in said
    assert "What came of it, compared with friday.csv" in said
    named = tmp_path / "named.html"
    result = CliRunner().invoke(cli, [*base, "--json", "--report", str(named)])
    document = json.loads(result.stdout)
    assert (document["report"], document["pdf"]) == (str(named), None)
    assert named.exists()


def test_a_wrong_name_is_refused_before_the_work(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    base = ["weekend", str(folder), "--workers", "1", "--out", str(out)]
    result = CliRunner().invoke(cli, [*base, "--report", str(tmp_path / "page.txt")])
    assert result.exit_code == 1
    assert not out.exists()


def test_the_folder_has_its_name_also_from_inside(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    weekend = lw.run_weekend(".", tmp_path / "out", workers=1, repeat_line=False)
    lw.write_weekend_report(weekend, page := tmp_path / "weekend.html")
    said = parser.fromstring(page.read_text(encoding="utf-8"))
    assert f"Weekend report of {folder.name} at " in str(said.findtext(".//title"))
