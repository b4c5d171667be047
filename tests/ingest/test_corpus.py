"""Every input that once broke something, run again: see `.ci/fuzz.py`, which found most of them."""

from pathlib import Path

import pytest
from damage.promises import outcome
from damage.seeds import SEEDS
from damage.targets import TARGETS

CORPUS = Path(__file__).resolve().parents[1] / "corpus"
KEPT = [
    pytest.param(name, file, id=f"{name}-{file.name}")
    for name in TARGETS
    for file in sorted((CORPUS / name).glob("*"))
]


@pytest.mark.parametrize(("name", "kept"), KEPT)
def test_what_broke_once_is_answered_as_promised(name: str, kept: Path, tmp_path: Path) -> None:
    path = tmp_path / TARGETS[name].file_name
    path.write_bytes(kept.read_bytes())
    assert outcome(TARGETS[name].run, path) in ("good", "error")


@pytest.mark.parametrize("name", TARGETS)
def test_the_good_files_that_a_search_begins_with_are_good(name: str, tmp_path: Path) -> None:
    target = TARGETS[name]
    path = tmp_path / target.file_name
    for data in SEEDS[name]():
        path.write_bytes(data)
        assert outcome(target.run, path) == "good"


def test_each_reader_has_files_that_broke_it() -> None:
    assert {folder.name for folder in CORPUS.iterdir()} <= set(TARGETS)
    assert all(any((CORPUS / name).glob("*")) for name in TARGETS)
