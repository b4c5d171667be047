"""
Trials: one forked process for each mutant, with everything from outside the package imported.

A run without mutants records, for each test, which functions of the package it calls and how long
it takes.  A mutant is then tried on the tests that call its function: those of the file named after
it first, those that need a whole session last, the quick before the slow.
"""

import contextlib
import gc
import importlib
import inspect
import json
import os
import re
import resource
import signal
import sys
import time
import warnings
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from hypothesis import Phase, settings

from mutation_testing.mutants import Mutant

ARGUMENTS = ["-n", "0", "-p", "no:cacheprovider", "-x", "--hypothesis-seed=0"]
ARGUMENTS += ["-m", "not browser", "-W", "ignore::pytest.PytestAssertRewriteWarning"]
ARGUMENTS += ["--tb=no", "-p", "no:unraisableexception"]
# A mutant may take this many times the processor time of the recorded run, and this much more. [s]
SLOWER, MORE_S = 3.0, 10.0
# Of the wall clock, where a mutant waits instead of working. [s]
WAIT_S = 600.0
MAX_BYTES = 8 * 2**30


@dataclass
class Test:
    """What one test calls, as (file, function), and how long it takes."""

    name: str
    calls: set[tuple[str, str]]
    cpu_s: float
    shared: bool


@dataclass
class Recorded:
    """A run of some tests without mutants."""

    tests: list[Test]
    failed: list[str]
    modules: list[str] = field(default_factory=list)


class Recorder:
    """A pytest plugin that notes what each test calls, its shared fixtures included."""

    def __init__(self, tree: Path) -> None:
        self.package = str(tree / "src")
        self.codes: set = set()
        self.by_fixture: dict = {}
        self.tests: list[tuple[pytest.Item, set, float]] = []
        self.at_import: set = set()
        self.failed: list[str] = []
        sys.setprofile(self.note)

    def note(self, frame: object, event: str, _: object) -> None:
        """Profile function: remember the code of every call."""
        if event == "call":
            self.codes.add(frame.f_code)

    def pytest_collection_finish(self) -> None:
        self.at_import = self.codes

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef, request):
        if fixturedef.scope == "function":
            return (yield)
        outside, self.codes = self.codes, set()
        try:
            return (yield)
        finally:
            self.by_fixture.setdefault(fixturedef, set()).update(self.codes)
            self.codes = outside | self.codes

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item, nextitem):
        self.codes, begun_s = set(), time.process_time()
        sys.setprofile(self.note)
        try:
            return (yield)
        finally:
            self.tests.append((item, self.codes, time.process_time() - begun_s))

    def pytest_runtest_logreport(self, report) -> None:
        if report.failed:
            self.failed.append(report.nodeid)

    def calls(self, codes: set) -> list[tuple[str, str]]:
        """Functions of the package among some code objects; bodies of modules are not functions."""
        functions = (code for code in codes if code.co_flags & inspect.CO_OPTIMIZED)
        mine = (code for code in functions if code.co_filename.startswith(self.package))
        start = len(self.package) - len("src")
        names = ((one.co_filename[start:], one.co_qualname) for one in mine)
        return sorted({(file, name.replace(".<locals>", "")) for file, name in names})

    def result(self) -> dict:
        """All of it, as JSON can hold it."""
        tests = []
        for item, codes, cpu_s in self.tests:
            info = getattr(item, "_fixtureinfo", None)
            named = [] if info is None else list(info.name2fixturedefs.values())
            shared = [f for defs in named for f in defs if f.scope != "function"]
            for fixture in shared:
                codes = codes | self.by_fixture.get(fixture, set())
            world = any(self.calls(self.by_fixture.get(fixture, set())) for fixture in shared)
            tests.append((item.nodeid, self.calls(codes | self.at_import), cpu_s, world))
        files = {name: getattr(one, "__file__", None) or "" for name, one in sys.modules.items()}
        modules = [
            name for name, file in files.items() if re.search("/site-packages/|/lib/py", file)
        ]
        return {"tests": tests, "failed": self.failed, "modules": modules}


class Chosen:
    """A pytest plugin that runs some tests, in their order, and tells which one failed."""

    def __init__(self, names: list[str]) -> None:
        self.order = {name: k for k, name in enumerate(names)}
        self.failed = ""

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if item.nodeid in self.order]
        items.sort(key=lambda item: self.order[item.nodeid])

    def pytest_runtest_logreport(self, report) -> None:
        if report.failed:
            self.failed = self.failed or report.nodeid


def forked(work, tree: Path, cpu_s: float, until: float) -> tuple[str, str]:
    """
    What `work()` returned in a process of its own, and how it ended.

    "done", "died" (by a signal, out of time or memory), or "late" where the whole run's time is up.
    """
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(read)
        try:
            in_child(work, tree, cpu_s, write)
        finally:
            os._exit(1)
    os.close(write)
    try:
        return waited_for(pid, read, until)
    except BaseException:
        # Interrupted: what was begun does not go on alone.
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
        raise
    finally:
        os.close(read)


def waited_for(pid: int, read: int, until: float) -> tuple[str, str]:
    """Collect what a process writes until it ends or its time is up."""
    os.set_blocking(read, False)
    answer, started = b"", time.monotonic()
    while True:
        with contextlib.suppress(BlockingIOError):
            answer += os.read(read, 1 << 20)
        ended, status = os.waitpid(pid, os.WNOHANG)
        late = time.monotonic() > until
        if ended or late or time.monotonic() > started + WAIT_S:
            break
        time.sleep(0.02)
    if not ended:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        return "", "late" if late else "died"
    with contextlib.suppress(BlockingIOError):
        while more := os.read(read, 1 << 20):
            answer += more
    return answer.decode(), "done" if status == 0 else "died"


def in_child(work, tree: Path, cpu_s: float, write: int) -> None:
    """Do the work inside the copy, quietly and within its limits, and never come back."""
    os.setpgid(0, 0)
    quiet = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(quiet, stream)
    if cpu_s < float("inf"):
        used_s = time.process_time()
        resource.setrlimit(resource.RLIMIT_CPU, (int(used_s + cpu_s) + 1,) * 2)
    resource.setrlimit(resource.RLIMIT_AS, (MAX_BYTES, MAX_BYTES))
    os.chdir(tree)
    sys.path[:0] = [str(tree / "src"), str(tree / "tests" / "support")]
    os.environ["PYTHONPATH"] = os.pathsep.join(sys.path[:2])
    answer = work().encode()
    while answer:
        answer = answer[os.write(write, answer) :]
    os._exit(0)


def record(tree: Path, paths: list[str], until: float = float("inf")) -> Recorded | None:
    """Run tests without a mutant; nothing where the time was up before they ended."""

    def work() -> str:
        # The compiled files of the copy are what the trials begin with.
        sys.dont_write_bytecode = False
        recorder = Recorder(tree)
        arguments = [one for one in ARGUMENTS if one != "-x"]
        status = pytest.main([*arguments, *paths], plugins=[recorder])
        sys.setprofile(None)
        # 5: there is not one test.
        return json.dumps(recorder.result()) if int(status) in (0, 1, 5) else ""

    answer, end = forked(work, tree, float("inf"), until)
    if end == "late":
        return None
    if not answer:
        msg = f"the tests in {paths} cannot be run: run them with pytest and see"
        raise SystemExit(msg)
    got = json.loads(answer)
    tests = [Test(name, {tuple(c) for c in calls}, *more) for name, calls, *more in got["tests"]]
    # A test that fails without a mutant kills none.
    tests = [test for test in tests if test.name not in got["failed"]]
    recorded = Recorded(tests, got["failed"], got["modules"])
    import_outside(recorded.modules)
    # What is here now stays: no need to look through it again in every process.
    gc.freeze()
    return recorded


def import_outside(names: list[str]) -> None:
    """Import what the tests import from outside the package, once for all the processes to come."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name in names:
            if name not in sys.modules and "conftest" not in name and not name.startswith("__"):
                with contextlib.suppress(Exception):
                    importlib.import_module(name)


def tests_for(mutant: Mutant, recorded: Recorded) -> list[Test]:
    """
    The tests that call a mutant's function, the best first.

    Of a constant: all, those that call a function of its file first.  Where a file keeps results in
    a cache only the first call is seen: there, all that call a function of the file.
    """
    file = str(mutant.file)
    same_file = [test for test in recorded.tests if any(name == file for name, _ in test.calls)]
    if not mutant.function:
        chosen = recorded.tests
    elif re.search(r"@(lru_)?cache\b", mutant.module.code):
        chosen = same_file
    else:
        chosen = [test for test in same_file if (file, mutant.function) in test.calls]
    near = {test.name for test in same_file}
    mirrored = f"/test_{mutant.file.name}::"

    def rank(test: Test) -> tuple[bool, bool, bool, float]:
        return (test.name not in near, test.shared, mirrored not in test.name, test.cpu_s)

    return sorted(chosen, key=rank)


def trial(mutant: Mutant, recorded: Recorded, tree: Path, until: float) -> str | None:
    """What killed a mutant, None if nothing did, "" if the time was up before that was known."""
    tests = tests_for(mutant, recorded)
    if not tests:
        return None
    source = mutant.source()
    try:
        compile(source, str(mutant.file), "exec")
    except (SyntaxError, ValueError):
        return "does not compile"
    names = [test.name for test in tests]
    files = list(dict.fromkeys(name.split("::")[0] for name in names))

    def work() -> str:
        sys.dont_write_bytecode = True
        # That a property fails is enough: looking for its smallest example takes minutes.
        phases = (Phase.explicit, Phase.generate)
        settings.register_profile("mutants", phases=phases, database=None)
        chosen = Chosen(names)
        status = pytest.main([*ARGUMENTS, "--hypothesis-profile=mutants", *files], plugins=[chosen])
        # 0: all passed, 5: none was collected.
        return json.dumps([int(status) in (0, 5), chosen.failed or "import"])

    file = tree / mutant.file
    kept, times = file.read_bytes(), file.stat()
    file.write_text(source, encoding="utf-8")
    try:
        answer, end = forked(work, tree, SLOWER * sum(t.cpu_s for t in tests) + MORE_S, until)
    finally:
        file.write_bytes(kept)
        os.utime(file, ns=(times.st_atime_ns, times.st_mtime_ns))
    if end == "late":
        return ""
    if not answer:
        return "time or memory"
    survived, killed_by = json.loads(answer)
    return None if survived else killed_by
