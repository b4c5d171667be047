"""Corner names as they are typed: ``3=Hatch``."""

import unicodedata
from collections.abc import Iterable

import click

from lapwright.geometry import Track

# Longer than any name on a map or in a table; what is longer was pasted by mistake.
MAX_NAME = 80
_OPTION = "'--name-corner'"


def corner_names(given: Iterable[str]) -> dict[int, str]:
    """
    Read names by corner number.

    Parameters
    ----------
    given : iterable of str
        Such as ``"3=Hatch"``; nothing behind the sign takes a name away.

    Returns
    -------
    dict of int to str

    Raises
    ------
    click.BadParameter
        If one has no number or is no name.

    Examples
    --------
    >>> corner_names(["3=Hatch", "4= Long  Barrow ", "5="])
    {3: 'Hatch', 4: 'Long Barrow', 5: ''}
    """
    names: dict[int, str] = {}
    for one in given:
        number, sign, name = one.partition("=")
        if not sign or not number.strip().isdecimal():
            msg = f"{one!r} is not a number and a name, such as 3=Hatch"
            raise click.BadParameter(msg, param_hint=_OPTION)
        if int(number) in names:
            msg = f"corner {int(number)} is named twice"
            raise click.BadParameter(msg, param_hint=_OPTION)
        names[int(number)] = tidy_name(name, _OPTION)
    return names


def tidy_name(name: str, option: str) -> str:
    """
    Bring a name into one form: single blanks, letters with their accents in one piece.

    Parameters
    ----------
    name : str
    option : str
        For the error.

    Returns
    -------
    str

    Raises
    ------
    click.BadParameter
        If it is too long, or holds what cannot be shown.
    """
    # The same name typed on two computers must be the same: Unicode Annex 15, form C.
    text = unicodedata.normalize("NFC", " ".join(name.split()))
    if any(unicodedata.category(c) in ("Cc", "Cs") for c in text):
        msg = f"{text!r} holds characters that cannot be shown"
        raise click.BadParameter(msg, param_hint=option)
    if len(text) > MAX_NAME:
        msg = f"a name has {MAX_NAME} characters at most, not {len(text)}"
        raise click.BadParameter(msg, param_hint=option)
    return text


def with_names(track: Track, names: dict[int, str]) -> Track:
    """
    Name the corners of a track.

    Parameters
    ----------
    track : Track
    names : dict of int to str
        By number.

    Returns
    -------
    Track

    Raises
    ------
    click.BadParameter
        If there is no such corner, or a name would be taken for another corner.
    """
    if not names:
        return track
    try:
        named = track.with_corner_names(names)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint=_OPTION) from error
    for order, name in names.items():
        if name.isdecimal():
            msg = f"a name that is a number, {name}, would be taken for the corner's number"
            raise click.BadParameter(msg, param_hint=_OPTION)
        same = [c.order for c in named.corners if c.name.casefold() == name.casefold()]
        if name and len(same) > 1:
            other = next(k for k in same if k != order)
            msg = f"corner {other} is called {name!r} too; notes could not tell them apart"
            raise click.BadParameter(msg, param_hint=_OPTION)
    return named
