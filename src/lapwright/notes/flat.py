"""What the notes say of a log in one value a column, as the tables carry it."""

from lapwright.notes.weekend_notes import LogNotes

# As the driver sees them from the seat.
WHEELS = ("fl", "fr", "rl", "rr")
_TEXTS = ("driver", "car", "tyres", "conditions")
_LISTS = ("changes", "tried")
_NUMBERS = ("fuel_l", "track_temp_degc", "air_temp_degc")
_NAN = float("nan")


def flat(notes: LogNotes) -> dict[str, object]:
    """
    Lay out what the notes say of a log.

    Parameters
    ----------
    notes : LogNotes

    Returns
    -------
    dict
        By the names of `lapwright.columns.weekend.NOTES`; lists as one text, NaN for a number that
        is not noted.

    Examples
    --------
    >>> said = flat(LogNotes(changes=("rear bar softer", "new pads"), fuel_l=32.0))
    >>> said["changes"], said["fuel_l"], said["pressure_cold_fl_bar"]
    ('rear bar softer; new pads', 32.0, nan)
    """
    row: dict[str, object] = {name: getattr(notes, name) for name in _TEXTS}
    row |= {name: "; ".join(getattr(notes, name)) for name in _LISTS}
    row |= {"notes": notes.notes, "tyre_set": notes.tyre_set, "tyre_laps": notes.tyre_laps}
    for when in ("cold", "hot"):
        each = getattr(notes, f"pressures_{when}_bar") or (_NAN,) * len(WHEELS)
        row |= {f"pressure_{when}_{w}_bar": p for w, p in zip(WHEELS, each, strict=True)}
    numbers = {name: getattr(notes, name) for name in _NUMBERS}
    return row | {name: _NAN if value is None else value for name, value in numbers.items()}
