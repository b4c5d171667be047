"""What every result depends on beside its input: this program, and what it counts with."""

import os
import sys
from collections.abc import Iterator
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright._version import __version__
from lapwright.kept.codec import fingerprint

_PACKAGE = Path(__file__).parent.parent
# pyarrow decides how pandas holds texts.
_OTHERS = ("scipy", "pyarrow")


@cache
def method_version() -> str:
    """
    Digest of the program as it is installed and of what it counts with.

    Any file of the package that was changed or merely installed again makes another one: results of
    an older program are never shown as those of this one.
    """
    return method_of(_PACKAGE)


def method_of(package: Path) -> str:
    """Digest of a package's source files by path, size and date, with versions and interpreter."""
    libraries = [np.__version__, pd.__version__, *map(_version, _OTHERS)]
    return fingerprint(__version__, sys.version, libraries, sorted(_sources(str(package), "")))


def _sources(folder: str, inside: str) -> Iterator[tuple[str, int, int]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            name = f"{inside}/{entry.name}"
            if entry.is_dir():
                if entry.name != "__pycache__":
                    yield from _sources(entry.path, name)
            elif name.endswith(".py"):
                about = entry.stat()
                yield name, about.st_size, about.st_mtime_ns


def _version(library: str) -> str:
    try:
        return version(library)
    except PackageNotFoundError:
        return ""
