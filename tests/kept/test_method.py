"""Results of another program are not taken for those of this one."""

import os
from pathlib import Path

import pytest

from lapwright.kept import method
from lapwright.kept.method import method_of, method_version


@pytest.fixture
def package(tmp_path: Path) -> Path:
    (tmp_path / "inner" / "__pycache__").mkdir(parents=True)
    for name in ("a.py", "inner/b.py", "inner/page.jinja"):
        (tmp_path / name).write_text("x = 1\n")
        os.utime(tmp_path / name, ns=(10**9, 10**9))
    return tmp_path


def test_it_stays_the_same(package: Path) -> None:
    assert method_of(package) == method_of(package)
    assert method_version() == method_version()
    # Not a source: what Python makes of one.
    (package / "inner" / "__pycache__" / "b.cpython-311.py").write_text("")
    before = method_of(package)
    (package / "inner" / "__pycache__" / "c.py").write_text("")
    assert method_of(package) == before


def test_any_change_of_a_source_is_another_method(package: Path) -> None:
    found = [method_of(package)]
    file = package / "inner" / "b.py"
    os.utime(file, ns=(10**9, 10**9 + 1))
    found.append(method_of(package))
    file.write_text("x = 12\n")
    os.utime(file, ns=(10**9, 10**9 + 1))
    found.append(method_of(package))
    file.rename(package / "inner" / "c.py")
    found.append(method_of(package))
    (package / "d.py").touch()
    found.append(method_of(package))
    assert len({*found}) == len(found)


@pytest.mark.parametrize("what", ["__version__", "np", "pd", "sys", "_version"])
def test_so_is_any_other_version(what: str, package: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = method_of(package)

    class Other:
        __version__ = version = "0"

    other = {"__version__": "0", "_version": lambda _: "0"}.get(what, Other)
    monkeypatch.setattr(method, what, other)
    assert method_of(package) != before
