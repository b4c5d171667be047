"""What is said of a folder of logs, in the terminal and in a notebook."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from lapwright.notes.flat import WHEELS

NO_CIRCUIT = "No circuit was found."
NOT_USED = "Could not be used"
LEFT_OUT = "Not a log, left out"
FILL_IN = "Fill in what you know, in any editor, and run `weekend` again: it is in the tables then."
_MEASURED = (
    ("Fuel", "fuel_l", "l"), ("Track", "track_temp_degc", "°C"), ("Air", "air_temp_degc", "°C"),
)  # fmt: skip


def circuits(names: list[str]) -> str:
    """
    Name the circuits.

    Examples
    --------
    >>> circuits(["Wren Hollow"]), circuits([])
    ('Circuit: Wren Hollow', 'No circuit was found.')
    """
    return f"Circuit: {', '.join(names)}" if names else NO_CIRCUIT


def copies(pairs: Iterable[tuple[str, str]]) -> list[str]:
    """
    Say which logs are not counted because they are copies, a sentence each.

    Examples
    --------
    >>> copies([("friday (1).csv", "friday.csv")])
    ['friday (1).csv is the same log as friday.csv, byte for byte, and is not counted again.']
    """
    return [
        f"{copy} is the same log as {kept}, byte for byte, and is not counted again."
        for copy, kept in pairs
    ]


def noted(row: Mapping[str, Any]) -> str:
    """
    Say what the notes tell of a session's conditions, of the car and of changes; may be empty.

    Examples
    --------
    >>> noted({"conditions": "dry", "changes": "rear bar softer", "fuel_l": 32.0})
    'dry; changed before it: rear bar softer; fuel 32 l'
    """
    changed = f"changed before it: {row['changes']}" if row["changes"] else ""
    car = [f"{label[0].lower()}{label[1:]} {text}" for label, text in set_up(row)]
    return "; ".join(part for part in (row["conditions"], changed, *car) if part)


def set_up(row: Mapping[str, Any]) -> list[tuple[str, str]]:
    """
    Say what is noted of tyres, fuel and temperatures: what it is, and its value.

    Parameters
    ----------
    row : mapping
        See `lapwright.notes.flat.flat`; what is not in it is not noted.

    Examples
    --------
    >>> cold = {f"pressure_cold_{wheel}_bar": 1.8 for wheel in WHEELS}
    >>> set_up({"tyre_set": "2", "tyre_laps": 14} | cold)
    [('Tyre set', '2, 14 laps on it before'), ('Cold pressures', '1.8 1.8 1.8 1.8 bar')]
    """
    said = [("Tyre set", _tyre_set(row))]
    for when in ("cold", "hot"):
        four = [_value(row, f"pressure_{when}_{wheel}_bar") for wheel in WHEELS]
        text = f"{' '.join(four)} bar" if all(four) else ""
        said.append((f"{when.capitalize()} pressures", text))
    for label, name, unit in _MEASURED:
        value = _value(row, name)
        said.append((label, f"{value} {unit}" if value else ""))
    return [(label, text) for label, text in said if text]


def _tyre_set(row: Mapping[str, Any]) -> str:
    laps = _value(row, "tyre_laps")
    word = "lap" if laps == "1" else "laps"
    parts = (row.get("tyre_set", ""), f"{laps} {word} on it before" if laps else "")
    return ", ".join(part for part in parts if part)


def _value(row: Mapping[str, Any], name: str) -> str:
    """Return a number as it was noted; nothing where it was not."""
    value = row.get(name)
    # NaN alone differs from itself.
    return "" if value is None or value == "" or value != value else f"{value:g}"


def prepared(added: Sequence[str], already: Mapping[str, Sequence[str]]) -> list[str]:
    """
    Say what became of weekend notes that were prepared, a sentence each.

    Examples
    --------
    >>> prepared(["sunday.csv"], {"friday.csv": ["fuel_l"]})
    ['Added: sunday.csv.', 'Already there, left as it is: friday.csv (has no fuel_l).']
    """
    said = [f"Added: {', '.join(added)}."] if added else ["Nothing had to be added."]
    if already:
        logs = [f"{name} (has no {', '.join(keys)})" if keys else name
                for name, keys in already.items()]  # fmt: skip
        left = "left as it is" if len(logs) == 1 else "left as they are"
        said.append(f"Already there, {left}: {', '.join(logs)}.")
    return said


def season(count: int, place: str) -> str:
    """
    Say which season logs were added to.

    Examples
    --------
    >>> season(1, "2026"), season(5, "2026")
    ('1 log added to the season in 2026', '5 logs added to the season in 2026')
    """
    return f"{count} {'log' if count == 1 else 'logs'} added to the season in {place}"
