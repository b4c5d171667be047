"""
What is chosen once and remembered: the display units, in a small file named `lapwright.toml`.

::

    [units]
    speed = "km/h"
    distance = "m"

One beside the logs counts before the one in the user's configuration folder, so that a folder
which is passed on carries its units along.  Only the latter is ever written by the program.
"""

from pathlib import Path

from lapwright.errors import NotesError, OutputError
from lapwright.outputs import whole_file
from lapwright.toml_text import TomlError, toml_of
from lapwright.units import Units

FILE_NAME = "lapwright.toml"


def user_file() -> Path:
    """Return the path of the user's own settings."""
    from platformdirs import user_config_path  # only this needs it, and not every run

    return user_config_path("lapwright", appauthor=False) / FILE_NAME


def remembered_units(folder: str | Path | None = None) -> Units | None:
    """
    Read the units that were chosen.

    Parameters
    ----------
    folder : str or Path, optional
        The folder of the logs, which is looked into first.

    Returns
    -------
    Units or None
        None where nobody has chosen any.

    Raises
    ------
    NotesError
        If a settings file cannot be read, or says something that is no unit.
    """
    places = [user_file()] if folder is None else [Path(folder) / FILE_NAME, user_file()]
    for place in places:
        units = _units_in(place)
        if units is not None:
            return units
    return None


def remember_units(units: Units, path: str | Path | None = None) -> Path:
    """
    Write units into a settings file.

    Parameters
    ----------
    units : Units
    path : str or Path, optional
        The user's own settings file where not given. One that already says something is left to
        its owner.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    NotesError
        If it cannot be written, or holds other things.
    """
    place = user_file() if path is None else Path(path)
    if place.exists():
        what = "is there already and is not overwritten"
        raise NotesError(what, place, hint="Change the units in it by hand")
    text = f'[units]\nspeed = "{units.speed}"\ndistance = "{units.distance}"\n'
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(place) as part:
            part.write_text(text, encoding="utf-8", newline="\n")
    except OutputError as error:
        raise NotesError(error.what, place) from error
    except OSError as error:
        what = f"cannot be written ({error.strerror})"
        raise NotesError(what, place) from error
    return place


def _units_in(place: Path) -> Units | None:
    try:
        text = place.read_bytes().decode("utf-8-sig")
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        what = f"cannot be read ({error.strerror})"
        raise NotesError(what, place) from error
    except UnicodeDecodeError as error:
        what = "is not UTF-8 text"
        raise NotesError(what, place, hint="Save it as UTF-8") from error
    try:
        said = toml_of(text).get("units")
    except TomlError as error:
        what = f"is not valid TOML: {error}"
        raise NotesError(what, place, hint="Fix the line, or move the file away") from error
    if said is None:
        return None
    if not isinstance(said, dict):
        what = "'units' is not a table"
        raise NotesError(what, place, hint='Write [units] and below it speed = "km/h"')
    try:
        return Units(str(said.get("speed", "km/h")), str(said.get("distance", "m")))
    except ValueError as error:
        raise NotesError(str(error), place) from error
