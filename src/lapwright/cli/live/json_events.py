"""What happens while a lap is driven, one JSON object a line; the contract is in `docs/json.md`."""

import json
from dataclasses import asdict

from lapwright.cli.printing.json_out import SCHEMA, plain
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
    members = {"schema": SCHEMA, "event": NAMES[type(event)], **asdict(event)}
    return json.dumps(plain(members), allow_nan=False, ensure_ascii=False)
