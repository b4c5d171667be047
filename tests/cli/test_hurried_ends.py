"""How a command ends that is not let finish: closed pipes, signals, a full disk, two at once."""

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pytest
from cli_runs import Files, Run

import lapwright
from lapwright.notes.weekend_notes import edit_notes
from lapwright.outputs import PART

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals and files as POSIX has them")

SOURCE = str(Path(lapwright.__file__).parents[1])
# Ten times what it takes on a busy machine.
SOON_S = 60.0


def _start(
    *arguments: object, cwd: Path | None = None, env: Mapping[str, str] | None = None,
    stdout: int = subprocess.PIPE,
) -> "subprocess.Popen[str]":  # fmt: skip
    return subprocess.Popen(
        [sys.executable, "-m", "lapwright", *map(str, arguments)], text=True, cwd=cwd,
        stdout=stdout, stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": SOURCE, **(env or {})},
    )  # fmt: skip


def _laps(files: Files) -> tuple[object, ...]:
    return ("laps", files.log, "--track", files.track, "--repeat-line", "off")


def test_a_pipe_that_is_closed_is_no_error_to_speak_of(files: Files) -> None:
    process = _start(*_laps(files))
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    with process.stderr:
        said = process.stderr.read()
    assert process.wait(SOON_S) == 1
    assert "lapwright: " not in said.replace("run: lapwright ", "")
    assert "Traceback" not in said
    assert "Exception" not in said


@pytest.mark.parametrize("form", [(), ("--json",)])
def test_a_full_disk_behind_stdout(files: Files, form: tuple[str, ...]) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    with Path("/dev/full").open("w") as full:
        process = _start(*_laps(files), *form, stdout=full.fileno())
        said = process.communicate()[1].splitlines()
    assert process.returncode == 1
    assert said[-1] == (
        "lapwright: the output cannot be written (No space left on device). Check where "
        "the output goes"
    )
    assert "Exception" not in "".join(said)


def test_without_streams_home_or_a_folder_to_be_in(files: Files, tmp_path: Path) -> None:
    here = tmp_path / "here"
    here.mkdir()
    script = (
        "import os, sys; from pathlib import Path; os.chdir(sys.argv[1]); os.rmdir(sys.argv[1])\n"
        "for k in (0, 1, 2): os.close(k)\n"
        "os.environ.pop('HOME', None)\n"
        "os.execv(sys.executable, [sys.executable, '-m', 'lapwright', *sys.argv[2:]])"
    )
    page = tmp_path / "r.html"
    arguments = ["report", files.log, "--track", files.track, "--repeat-line", "off", "--out", page]
    done = subprocess.run(
        [sys.executable, "-c", script, here, *arguments], check=False,
        env={**os.environ, "PYTHONPATH": SOURCE},
    )  # fmt: skip
    assert done.returncode == 0
    assert page.stat().st_size > 10_000


@pytest.mark.parametrize(
    ("how", "status", "said"),
    # 128 and the number of the signal, as shells count.
    [(signal.SIGINT, 130, "lapwright: stopped\n"), (signal.SIGTERM, 143, "")],
)
def test_a_signal_in_the_middle(
    how: int, status: int, said: str, files: Files, tmp_path: Path
) -> None:
    page = tmp_path / "r.html"
    page.write_text("old", encoding="utf-8")
    process = _start("report", files.log, "--track", files.track, "--out", page)
    assert process.stderr is not None
    # What was odd in the log is said once the motion is known: corners, charts and page are not.
    while not process.stderr.readline().startswith("circuit: "):
        assert process.poll() is None
    process.send_signal(how)
    rest = process.communicate(timeout=SOON_S)[1]
    assert process.returncode == status
    assert "".join(one for one in rest.splitlines(True) if not one.startswith("track file")) == said
    assert page.read_text(encoding="utf-8") == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["r.html"]


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="children are looked up in /proc")
@pytest.mark.parametrize(("how", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_signal_to_a_weekend_takes_its_workers_along(
    how: int, status: int, files: Files, tmp_path: Path
) -> None:
    logs = tmp_path / "logs"
    logs.mkdir()
    for k in range(2):
        (logs / f"{k}.csv").write_bytes(files.log.read_bytes() + b"\n" * k)
    process = _start("weekend", logs, "--workers", 2, "--track", files.track)
    children = Path(f"/proc/{process.pid}/task/{process.pid}/children")
    until_s = time.monotonic() + SOON_S
    # Two workers, and the one process that Python itself starts with them.
    while len(pids := children.read_text().split()) < 3:
        assert time.monotonic() < until_s
        assert process.poll() is None
        time.sleep(0.02)
    process.send_signal(how)
    said = process.communicate(timeout=SOON_S)[1]
    assert process.returncode == status
    assert "Traceback" not in said
    assert said.count("lapwright: stopped") == (how == signal.SIGINT)
    while any(_alive(pid) for pid in pids):
        assert time.monotonic() < until_s
        time.sleep(0.02)
    assert not list(tmp_path.rglob(f"{PART}*"))


def _alive(pid: str) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


def test_two_at_once_on_one_output(files: Files, tmp_path: Path) -> None:
    page = tmp_path / "r.html"
    both = [
        _start("report", files.log, "--track", files.track, "--repeat-line", "off", "--out", page)
        for _ in range(2)
    ]
    for one in both:
        assert one.communicate(timeout=2 * SOON_S) is not None
        assert one.returncode == 0
    assert page.read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert [one.name for one in tmp_path.iterdir()] == ["r.html"]


def _note_often(path: Path, who: str) -> None:
    for k in range(10):
        assert edit_notes(path, lambda old, k=k: f"{old}# {who} {k}\n")  # type: ignore[misc]


def test_two_at_once_lose_no_note(tmp_path: Path) -> None:
    notes = tmp_path / "weekend.toml"
    script = (
        "import sys; from pathlib import Path; from test_hurried_ends import _note_often\n"
        "_note_often(Path(sys.argv[1]), sys.argv[2])"
    )
    folders = os.pathsep.join([SOURCE, *map(str, sys.path), str(Path(__file__).parent)])
    both = [
        subprocess.Popen(
            [sys.executable, "-c", script, notes, who], env={**os.environ, "PYTHONPATH": folders}
        )
        for who in ("a", "b")
    ]
    assert [one.wait(SOON_S) for one in both] == [0, 0]
    lines = notes.read_text(encoding="utf-8").splitlines()
    assert sorted(lines) == sorted(f"# {who} {k}" for who in "ab" for k in range(10))
    assert [one.name for one in tmp_path.iterdir()] == ["weekend.toml"]


@pytest.mark.parametrize("what", ["a file", "damaged", "from the future", "no folder to be made"])
def test_whatever_the_cache_is_the_answer_is_the_same(
    what: str, files: Files, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    without = run(*_laps(files), "--no-cache")
    cache = tmp_path / "cache"
    monkeypatch.setenv("LAPWRIGHT_CACHE", str(cache))
    if what == "a file":
        cache.touch()
    elif what == "no folder to be made":
        (tmp_path / "file").touch()
        monkeypatch.setenv("LAPWRIGHT_CACHE", str(tmp_path / "file" / "cache"))
    else:
        assert run(*_laps(files)).stdout == without.stdout
        kept = sorted(cache.iterdir())
        assert kept
        for k, one in enumerate(kept):
            if what == "damaged":
                data = one.read_bytes()
                one.write_bytes(
                    (b"", data[: len(data) // 2], data[:-1] + b"?", b"\xff" * 99)[k % 4]
                )
            else:
                later_s = time.time() + 10 * 365 * 86_400
                os.utime(one, (later_s, later_s))
    again = run(*_laps(files))
    assert (again.exit_code, again.stdout, again.stderr) == (0, without.stdout, without.stderr)


def test_a_log_from_the_future(files: Files, run: Run, tmp_path: Path) -> None:
    log = Path(shutil.copy(files.log, tmp_path / "friday.csv"))
    now = run("laps", log, "--track", files.track, "--repeat-line", "off")
    later_s = time.time() + 10 * 365 * 86_400
    os.utime(log, (later_s, later_s))
    again = run("laps", log, "--track", files.track, "--repeat-line", "off")
    assert (again.exit_code, again.stdout, again.stderr) == (0, now.stdout, now.stderr)
