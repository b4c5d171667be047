"""
What is handed out: is the wheel complete, is nothing else in it, is the sdist enough to build it?

    python .ci/dist.py FOLDER    # with one wheel and one sdist, as `python -m build` leaves them

`build` makes the wheel out of the sdist, so that what is in the wheel was in the sdist.
"""

import sys
import tarfile
import zipfile
from email.parser import Parser
from pathlib import Path

ROOT = Path(__file__).parent.parent
# Nothing of these is read when the program runs.
LEFT_OUT = (".pyc",)


def complaints(folder: Path) -> list[str]:
    """Say what is missing, and what should not be there."""
    (wheel,), (sdist,) = list(folder.glob("*.whl")), list(folder.glob("*.tar.gz"))
    source = ROOT / "src"
    wanted = {
        file.relative_to(source).as_posix()
        for file in (source / "lapwright").rglob("*")
        if file.is_file() and file.suffix not in LEFT_OUT
    }
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        info = next(name for name in names if name.endswith(".dist-info/METADATA"))
        about = Parser().parsestr(archive.read(info).decode("utf-8"))
        said = [
            f"{wheel.name}: {name} does not fit its sum" for name in [archive.testzip()] if name
        ]
    inside = {name for name in names if ".dist-info/" not in name}
    said += [f"{wheel.name}: {name} is missing" for name in sorted(wanted - inside)]
    said += [f"{wheel.name}: {name} should not be there" for name in sorted(inside - wanted)]
    if not any(name.endswith("/licenses/LICENSE") for name in names):
        said.append(f"{wheel.name}: the licence is missing")
    for key, value in (("License-Expression", "Apache-2.0"), ("Requires-Python", ">=3.11")):
        if about[key] != value:
            said.append(f"{wheel.name}: {key} is {about[key]}, not {value}")
    with tarfile.open(sdist) as packed:
        there = {name.partition("/")[2] for name in packed.getnames()}
    asked = {"LICENSE", "README.md", "CHANGELOG.md", "pyproject.toml", "docs/licences.md"}
    said += [f"{sdist.name}: {name} is missing" for name in sorted(asked - there)]
    said += [f"{sdist.name}: {name} should not be there" for name in sorted(there)
             if name.startswith(("tests/", "sample_sessions/", ".ci/"))]  # fmt: skip
    return said


if __name__ == "__main__":
    found = complaints(Path(sys.argv[1]))
    print("\n".join(found) or "wheel and sdist are complete")
    sys.exit(1 if found else 0)
