"""A season as Parquet: parted, appended to without doubles, and queried as the page says."""

import re
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner
from season_worlds import CIRCUITS, SETS, season_world

from lapwright.batch import run_weekend
from lapwright.batch.season import add_to_season, check_season, log_id
from lapwright.cli import cli
from lapwright.columns.weekend import SEASON
from lapwright.errors import OutputError

pytest.importorskip("pyarrow", reason="the extra 'parquet' is not installed")
PAGE = Path(__file__).parents[2] / "docs" / "how-to-season.md"


@pytest.fixture
def dated(folder: Path) -> Path:
    """The folder of two logs, with the time of day and the date in them."""
    for day, name in enumerate(("friday", "saturday"), start=6):
        file = folder / f"{name}.csv"
        table = pd.read_csv(file)
        head = table.columns[0]
        zero = pd.Timestamp(f"2026-02-{day:02d}T10:00", tz="UTC")
        stamps = (zero + pd.to_timedelta(table[head], unit="s")).dt.strftime("%FT%T.%fZ")
        table.assign(**{head: stamps}).rename(columns={head: "time"}).to_csv(file, index=False)
    return folder


def parts(season: Path, table: str) -> list[str]:
    return sorted(file.relative_to(season / table).parent.as_posix()
                  for file in (season / table).rglob("*.parquet"))  # fmt: skip


def test_a_weekend_goes_into_its_season(dated: Path, tmp_path: Path) -> None:
    folder = dated
    season = tmp_path / "seasons"
    options = {"track": folder / "track.geojson", "repeat_line": False, "workers": 1}
    (folder / "weekend.toml").write_text('[logs."friday.csv"]\ntyre_set = 2\ntyre_laps = 9\n')
    weekend = run_weekend(folder, season=season, **options)
    year = 2026
    for name in ("laps", "sessions", "sectors", "passes"):
        assert parts(season, name) == [f"season={year}/circuit=Wren%20Hollow"] * 2
        read = pd.read_parquet(season / name)
        assert list(read) == [*(c.name for c in SEASON[name]), "season", "circuit"]
        assert set(read["circuit"]) == {"Wren Hollow"}
        assert set(read["season"]) == {year}
        mine, table = read[read["session"] == "friday"], getattr(weekend, name)
        assert len(mine) == (table["session"] == "friday").sum()
        assert set(mine["log_id"]) == {log_id(folder / "friday.csv")}
        assert set(mine["tyre_set"]) == {"2"}
        start = weekend.sessions.set_index("session").loc["friday", "start_utc"]
        assert set(mine["session_start_utc"]) == {start.floor("us")}
        for column in ("best_lap_s", "time_s", "min_speed_mps", "min_speed_sd_mps"):
            if column in mine:
                wanted = table.loc[table["session"] == "friday", column]
                assert list(mine[column].dropna()) == list(wanted.dropna())
    # The same again, and the same log under another name elsewhere: no second time.
    before = {f: f.stat().st_mtime_ns for f in season.rglob("*.parquet")}
    run_weekend(folder, season=season, **options)
    assert {f: f.stat().st_mtime_ns for f in season.rglob("*.parquet")} == before
    (folder / "friday.csv").rename(folder / "renamed.csv")
    run_weekend(folder, season=season, **options)
    read = pd.read_parquet(season / "sessions")
    assert sorted(read["session"]) == ["renamed", "saturday"]
    # A circuit that got another name takes its parts along.
    track = folder / "track.geojson"
    track.write_text(track.read_text().replace("Wren Hollow", "Wren/Other"))
    run_weekend(folder, season=season, **options)
    assert parts(season, "passes") == [f"season={year}/circuit=Wren%2FOther"] * 2
    assert set(pd.read_parquet(season / "passes")["circuit"]) == {"Wren/Other"}
    assert not list(season.rglob(".*"))


def test_the_command(folder: Path, tmp_path: Path) -> None:
    (folder / "saturday.csv").unlink()
    season = tmp_path / "seasons"
    command = ["weekend", str(folder), "--track", str(folder / "track.geojson"), "--repeat-line",
               "off", "--workers", "1", "--season", str(season)]  # fmt: skip
    run = CliRunner().invoke(cli, command)
    assert run.exit_code == 0, run.output
    assert f"1 log added to the season in {season}" in run.stdout
    season.rename(tmp_path / "moved")
    season.write_text("")
    wrong = CliRunner().invoke(cli, command)
    assert wrong.exit_code == 1
    assert "is a file, and a season is a folder" in wrong.stderr


def test_without_pyarrow_it_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    with pytest.raises(OutputError, match=r"needs pyarrow. pip install 'lapwright\[parquet\]'"):
        check_season(tmp_path / "season")


def test_a_log_without_a_date_or_a_circuit(tmp_path: Path) -> None:
    world = season_world(tmp_path, 1, seed=3)
    more = ["season", "circuit", "log_id", "session_start_utc"]
    passes, sessions = (
        pd.read_parquet(tmp_path / name).drop(columns=more) for name in ("passes", "sessions")
    )
    none = sessions.assign(session="x", start_utc=pd.NaT, track="")
    add_to_season(
        world.place, {"sessions": none, "passes": passes.assign(session="x")}, {"x": "f" * 16}
    )
    read = pd.read_parquet(tmp_path / "passes")
    mine = read["session"] == "x"
    assert set(map(tuple, read.loc[mine, ["season", "circuit"]].to_numpy())) == {(0, "unnamed")}
    assert (read.loc[~mine, "season"] == 2025).all()
    assert read.loc[mine, "session_start_utc"].isna().all()


def test_what_a_log_is_known_by(tmp_path: Path) -> None:
    import gzip
    import zipfile

    plain, packed = tmp_path / "a.csv", tmp_path / "b.csv.gz"
    plain.write_text("time_s,lat,lon\n0,1,2\n")
    packed.write_bytes(gzip.compress(plain.read_bytes()))
    with zipfile.ZipFile(tmp_path / "card.zip", "w") as card:
        card.write(plain, "c.csv")
    ids = {log_id(path) for path in (plain, packed, tmp_path / "card.zip" / "c.csv")}
    assert len(ids) == 1
    binary = tmp_path / "d.bin"
    binary.write_bytes(bytes(range(256)) * 40)
    assert log_id(binary) not in ids


@pytest.mark.slow
@pytest.mark.parametrize("count", [300, pytest.param(1000, marks=pytest.mark.thorough)])
def test_the_best_minimum_speed_of_many_sessions(
    count: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The example of the page, word for word, on a season whose answer is known."""
    world = season_world(tmp_path / "seasons", count, seed=7)
    (code,) = re.findall(r"```python\n(import pandas as pd\n.*?)```", PAGE.read_text(), re.S)
    assert '"seasons/passes"' in code
    monkeypatch.chdir(tmp_path)
    space: dict[str, pd.DataFrame] = {}
    exec(code.replace("print(", "str("), space)
    assert len(pd.read_parquet("seasons/sessions", columns=["log_id"])) == count
    best = space["best"].reset_index()
    assert len(best) == len(CIRCUITS) * 10 * len(SETS) == len(world.best_mps)
    for row in best.itertuples():
        assert row.min_speed_mps == world.best_mps[row.circuit, row.corner, row.tyre_set]
        assert row.min_speed_sd_mps == 0.1
