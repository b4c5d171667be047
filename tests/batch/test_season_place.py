"""A season in a folder and at an address are the same to whoever writes and reads them."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from season_worlds import season_world

from lapwright.batch.season_place import place_of
from lapwright.errors import OutputError

ADDRESS = "memory://seasons"


@pytest.fixture
def memory() -> Iterator[Any]:
    """The files at `memory://`, which fsspec keeps in this process."""
    fsspec = pytest.importorskip("fsspec", reason="the extra 'cluster' is not installed")
    files = fsspec.filesystem("memory")
    yield files
    files.store.clear()
    files.pseudo_dirs[:] = [""]


@pytest.mark.parametrize("address", [ADDRESS, ""])
def test_files(memory: Any, tmp_path: Path, address: str) -> None:
    place = place_of(address or tmp_path / "seasons")
    place.write("passes/season=2026/circuit=a%20b/1.parquet", b"one")
    place.write("passes/season=2026/circuit=a%20b/1.parquet", b"other")
    place.write("laps/season=2026/circuit=c/1.parquet", b"two")
    assert place.found("passes/*/*/1.parquet") == ["passes/season=2026/circuit=a%20b/1.parquet"]
    assert place.found("passes/*/*/2.parquet") == []
    if address:
        (name,) = memory.glob("/seasons/passes/*/*/*")
        assert memory.cat_file(name) == b"other"
        # Nothing of the writing is left.
        assert len(memory.find("/seasons")) == 2
    place.remove("passes/season=2026/circuit=a%20b/1.parquet")
    place.remove("passes/season=2026/circuit=a%20b/1.parquet")
    assert place.found("*/*/*/1.parquet") == ["laps/season=2026/circuit=c/1.parquet"]


def test_a_season_at_an_address(memory: Any, tmp_path: Path) -> None:
    pytest.importorskip("pyarrow", reason="the extra 'parquet' is not installed")
    here = season_world(tmp_path, 20, seed=5)
    there = season_world(ADDRESS, 20, seed=5)
    assert there.best_mps == here.best_mps
    for name in ("passes", "sessions"):
        order = ["log_id", *(["lap", "corner"] if name == "passes" else [])]
        tables = [
            pd.read_parquet(f"{place}/{name}").sort_values(order, ignore_index=True)
            for place in (tmp_path, ADDRESS)
        ]
        pd.testing.assert_frame_equal(*tables)
    # Again: each log once.
    season_world(ADDRESS, 20, seed=5)
    assert len(pd.read_parquet(f"{ADDRESS}/sessions")) == 20


def test_an_address_that_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("fsspec", reason="the extra 'cluster' is not installed")
    with pytest.raises(OutputError, match="the season at nonsense://x cannot be used"):
        place_of("nonsense://x")
    monkeypatch.setitem(sys.modules, "fsspec.core", None)
    with pytest.raises(OutputError, match=r"pip install 'lapwright\[cluster\]'"):
        place_of(ADDRESS)


def test_two_names_of_one_file_are_the_same(memory: Any, tmp_path: Path) -> None:
    place = place_of(tmp_path)
    place.write("laps/circuit=Wren/1.parquet", b"one")
    # A disk that does not tell cases apart has one folder with two names; so does a link.
    (tmp_path / "laps" / "circuit=wren").symlink_to(tmp_path / "laps" / "circuit=Wren")
    assert place.same("laps/circuit=Wren/1.parquet", "laps/circuit=wren/1.parquet")
    assert not place.same("laps/circuit=Wren/1.parquet", "laps/circuit=Wren/2.parquet")
    remote = place_of(ADDRESS)
    assert remote.same("laps/1.parquet", "laps/1.parquet")
    assert not remote.same("laps/Wren/1.parquet", "laps/wren/1.parquet")
