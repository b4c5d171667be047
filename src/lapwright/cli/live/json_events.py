"""What happens while a lap is driven, one JSON object a line; the contract is in `docs/json.md`."""

from dataclasses import asdict
from typing import Any

from lapwright.cli.printing.json_out import SCHEMA, plain
from lapwright.escaping.json_text import json_text
from lapwright.live_session.events import (
    Event,
    LapGoing,
    LapTimed,
    Learned,
    Receiving,
    SectorTimed,
)

NAMES: dict[type[Event], str] = {
    LapGoing: "going",
    LapTimed: "lap",
    SectorTimed: "sector",
    Learned: "learned",
    Receiving: "receiving",
}


def event_line(event: Event) -> str:
    """
    Write one happening.

    Examples
    --------
    >>> event_line(SectorTimed(3, 1, 31.25, 0.5, 900.0, refined=False))[:44]
    '{"schema": 1, "event": "sector", "lap": 3, "'
    """
    return json_text(event_object(event))


def event_object(event: Event) -> dict[str, Any]:
    """Return one happening as it stands in JSON."""
    found: dict[str, Any] = plain({"schema": SCHEMA, "event": NAMES[type(event)], **asdict(event)})
    return found
