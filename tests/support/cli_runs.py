"""What tests of the command line share: the files they run on, the shape of a run."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import Result


@dataclass(frozen=True)
class Files:
    """A log, and the circuit's lines."""

    log: Path
    track: Path


Run = Callable[..., Result]
RunJson = Callable[..., Mapping[str, Any]]
