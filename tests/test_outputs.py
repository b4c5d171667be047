"""Outputs are whole or not there, and never take the place of an input."""

import errno
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

import lapwright
from lapwright.errors import OutputError
from lapwright.outputs import (
    PART,
    check_ending,
    check_targets,
    clear_parts,
    folder_lock,
    whole_file,
)


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
    check_targets([tmp_path / "new.csv", tmp_path / "sub" / "new.csv"], [log])


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
        pytest.raises(OutputError, match="is a folder, and a file is to be written"),
        whole_file(tmp_path / "x.html") as part,
    ):
        part.write_text("x", encoding="utf-8")


def test_what_a_dead_process_left_is_cleared_away_and_nothing_else(tmp_path: Path) -> None:
    left, mine = tmp_path / f"{PART}dead.html", tmp_path / ".lapwrig"
    for file in (left, mine):
        file.write_text("half", encoding="utf-8")
    linked = tmp_path / f"{PART}link"
    linked.symlink_to(mine)
    with whole_file(tmp_path / "a.html") as first, whole_file(tmp_path / "b.html") as second:
        # What is being written now is nobody's to clear away.
        clear_parts(tmp_path)
        assert [one.exists() for one in (first, second, left)] == [True, True, False]
        first.write_text("a", encoding="utf-8")
        second.write_text("b", encoding="utf-8")
    assert sorted(file.name for file in tmp_path.iterdir()) == [
        mine.name, linked.name, "a.html", "b.html",
    ]  # fmt: skip
    assert mine.read_text(encoding="utf-8") == "half"


@pytest.mark.parametrize("call", ["write", "fsync", "replace"])
def test_on_a_full_disk_the_old_file_stays(
    tmp_path: Path, call: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "report.html"
    target.write_text("old", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    if call == "replace":
        monkeypatch.setattr(Path, "replace", full)
    elif call == "fsync":
        monkeypatch.setattr(os, "fsync", full)

    def write() -> None:
        with whole_file(target) as part:
            part.write_text("new", encoding="utf-8")
            if call == "write":
                full()

    with pytest.raises(OutputError, match=r"report\.html: cannot be written \(No space left"):
        write()
    assert target.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.skipif(os.name != "posix", reason="modes and links as POSIX has them")
def test_links_and_modes(tmp_path: Path) -> None:
    target, log = tmp_path / "report.html", tmp_path / "log.html"
    log.write_text("precious", encoding="utf-8")
    target.symlink_to(log)
    # A link that leads nowhere is replaced as well as one that leads somewhere.
    for new in ("one", "two"):
        with whole_file(target) as part:
            part.write_text(new, encoding="utf-8")
        assert target.read_text(encoding="utf-8") == new
        assert not target.is_symlink()
        target.unlink()
        target.symlink_to(tmp_path / "nowhere")
    assert log.read_text(encoding="utf-8") == "precious"
    log.chmod(0o600)
    with whole_file(log) as part:
        part.write_text("new", encoding="utf-8")
    assert log.stat().st_mode & 0o777 == 0o600
    log.chmod(0o444)
    with (
        pytest.raises(OutputError, match=r"is protected from being written\. Allow it"),
        whole_file(log),
    ):
        pass
    with (
        pytest.raises(OutputError, match="cannot be looked at"),
        whole_file(tmp_path / ("x" * 300)),
    ):
        pass


def test_the_longest_name_that_is_possible(tmp_path: Path) -> None:
    # NAME_MAX of Linux, macOS and Windows: 255.
    target = tmp_path / ("x" * 250 + ".html")
    with whole_file(target) as part:
        part.write_text("new", encoding="utf-8")
    assert target.read_text(encoding="utf-8") == "new"


def test_a_device_is_no_place_for_a_report(tmp_path: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    (tmp_path / "r.html").symlink_to("/dev/full")
    with pytest.raises(OutputError, match="not an ordinary file"):
        check_targets([tmp_path / "r.html"], [])


@pytest.mark.skipif(os.name != "posix", reason="folders are locked on POSIX")
def test_the_lock_of_a_folder_keeps_others_out_and_hangs_nobody(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lapwright.outputs._LOCK_WAIT_S", 0.2)
    script = (
        "import sys, time; from pathlib import Path; from lapwright.outputs import folder_lock\n"
        "with folder_lock(Path(sys.argv[1])):\n    print('locked', flush=True)\n"
        "    sys.stdin.read()"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", script, str(tmp_path)], stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": str(Path(lapwright.__file__).parents[1])},
    )  # fmt: skip
    assert holder.stdout is not None
    assert holder.stdout.readline() == b"locked\n"
    began_s = time.monotonic()
    with folder_lock(tmp_path):
        assert time.monotonic() - began_s >= 0.2
    holder.communicate()
    began_s = time.monotonic()
    with folder_lock(tmp_path):
        assert time.monotonic() - began_s < 0.2
    assert list(tmp_path.iterdir()) == []


def test_a_name_of_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    check_ending(None, (".html",))
    check_ending(tmp_path / "Report.HTML", (".html", ".htm"))
    for name in ("saturday_practice.csv", "weekend.toml", "report"):
        with pytest.raises(OutputError, match=r"Let its name end with \.html or \.htm"):
            check_ending(tmp_path / name, (".html", ".htm"))
