"""What is said of a folder of logs, in the terminal and in a notebook."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

NO_CIRCUIT = "No circuit was found."
NOT_USED = "Could not be used"
LEFT_OUT = "Not a log, left out"


def circuits(names: list[str]) -> str:
    """
    Name the circuits.

    Examples
    --------
    >>> circuits(["Wren Hollow"]), circuits([])
    ('Circuit: Wren Hollow', 'No circuit was found.')
    """
    return f"Circuit: {', '.join(names)}" if names else NO_CIRCUIT


def copies(pairs: Iterable[tuple[Path, Path]]) -> list[str]:
    """
    Say which logs are not counted because they are copies, a sentence each.

    Examples
    --------
    >>> copies([(Path("friday (1).csv"), Path("friday.csv"))])
    ['friday (1).csv is the same log as friday.csv, byte for byte, and is not counted again.']
    """
    return [
        f"{copy.name} is the same log as {kept.name}, byte for byte, and is not counted again."
        for copy, kept in pairs
    ]


def noted(row: Mapping[str, Any]) -> str:
    """
    Say what the notes tell of a session's conditions and of changes to the car; may be empty.

    Examples
    --------
    >>> noted({"conditions": "dry", "changes": "rear bar softer"})
    'dry; changed before it: rear bar softer'
    """
    changed = f"changed before it: {row['changes']}" if row["changes"] else ""
    return "; ".join(part for part in (row["conditions"], changed) if part)
