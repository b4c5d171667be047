"""Outputs are whole or not there, and never take the place of an input."""

import os
from pathlib import Path

import pytest

from lapwright.errors import OutputError
from lapwright.outputs import check_ending, check_targets, whole_file


def test_an_input_is_spared_by_whatever_name(tmp_path: Path) -> None:
    log = tmp_path / "log.csv"
    log.write_text("precious", encoding="utf-8")
    (tmp_path / "sub").mkdir()
    other = tmp_path / "sub" / ".." / "log.csv"
    link = tmp_path / "link.csv"
    os.link(log, link)
    for target in (log, other, link):
        with pytest.raises(OutputError, match="not overwritten"):
            check_targets([None, target], [tmp_path / "missing.csv", None, log])
    check_targets([tmp_path / "new.csv", tmp_path / "sub"], [log])


def test_a_file_is_whole_or_as_it_was(tmp_path: Path) -> None:
    target = tmp_path / "report.html"
    target.write_text("old", encoding="utf-8")

    def write_and_fail() -> None:
        with whole_file(target) as part:
            part.write_text("half", encoding="utf-8")
            raise KeyError

    with pytest.raises(KeyError):
        write_and_fail()
    assert target.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [target]
    with whole_file(target) as part:
        part.write_text("new", encoding="utf-8")
    assert target.read_text(encoding="utf-8") == "new"
    assert list(tmp_path.iterdir()) == [target]


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    target = tmp_path / "nowhere" / "x.html"
    with (
        pytest.raises(OutputError, match=r"there is no folder .*nowhere\. Make it first"),
        whole_file(target),
    ):
        pass


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "x.html").mkdir()
    with (
        pytest.raises(OutputError, match="cannot be written"),
        whole_file(tmp_path / "x.html") as part,
    ):
        part.write_text("x", encoding="utf-8")


def test_a_name_of_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    check_ending(None, (".html",))
    check_ending(tmp_path / "Report.HTML", (".html", ".htm"))
    for name in ("saturday_practice.csv", "weekend.toml", "report"):
        with pytest.raises(OutputError, match=r"Let its name end with \.html or \.htm"):
            check_ending(tmp_path / name, (".html", ".htm"))
