"""Whether laps may be compared at all: wet and dry are never held against each other."""

from lapwright.notes.weekend_notes import LogNotes

_CHANGING = ("drying", "mixed", "changing", "changed", "patch", "shower")
_WET = ("wet", "rain", "damp")


def surface(conditions: str) -> str:
    """
    What the notes say of the track's surface.

    Parameters
    ----------
    conditions : str
        As noted, in anybody's words.

    Returns
    -------
    str
        ``"dry"``, ``"wet"``, ``"changing"``, or empty where nothing tells.

    Examples
    --------
    >>> [surface(said) for said in ("Dry, 24 degrees", "light rain", "dry, then rain", "sunny")]
    ['dry', 'wet', 'changing', '']
    """
    said = conditions.casefold()
    dry, wet = "dry" in said, any(word in said for word in _WET)
    if any(word in said for word in _CHANGING) or (dry and wet):
        return "changing"
    return "dry" if dry else "wet" if wet else ""


def changing(conditions: str) -> bool:
    """Whether conditions as noted changed within the session."""
    return surface(conditions) == "changing"


def not_comparable(one: LogNotes, other: LogNotes) -> bool:
    """Whether two sessions are noted to have been driven on different surfaces."""
    surfaces = {surface(one.conditions), surface(other.conditions)} - {""}
    return len(surfaces) > 1 or "changing" in surfaces


def also_different(before: LogNotes, after: LogNotes) -> tuple[tuple[str, str, str], ...]:
    """
    Car and tyres where both sessions note them and they differ.

    Parameters
    ----------
    before, after : LogNotes

    Returns
    -------
    tuple of (str, str, str)
        What, before, after.
    """
    pairs = [(name, getattr(before, name), getattr(after, name)) for name in ("car", "tyres")]
    return tuple(
        (name, a, b) for name, a, b in pairs
        if a and b and a.casefold().split() != b.casefold().split()
    )  # fmt: skip
