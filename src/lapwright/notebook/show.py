"""`show`: a result as a notebook shows it, in the units of whoever reads it."""

from dataclasses import dataclass, field
from pathlib import Path

from lapwright.batch.weekend import Weekend
from lapwright.laps.comparison import Comparison
from lapwright.notebook.laps_cells import comparison_cell, session_cell
from lapwright.notebook.weekend_cell import weekend_cell
from lapwright.session import Session
from lapwright.settings import remembered_units
from lapwright.units import Units


@dataclass(frozen=True)
class Shown:
    """
    What a notebook shows where this stands last in a cell.

    Attributes
    ----------
    html : str
        Tables as they are; the picture in a frame of its own.  Nothing is asked for from elsewhere.
    """

    html: str = field(repr=False)

    def _repr_html_(self) -> str:
        return self.html


def show(result: Session | Comparison | Weekend, units: Units | str | None = None) -> Shown:
    """
    Show a result in a notebook: sentences, tables with ±, and the whole lap with its cursor.

    The same comes from the result alone in the last line of a cell; this is for other units.

    Parameters
    ----------
    result : Session, Comparison or Weekend
    units : Units or str, optional
        Of speed, and of distance: ``"mph,ft"``.  Where not given, those that `lapwright.toml`
        beside the log names, then those of your own settings, then km/h and metres.

    Returns
    -------
    Shown
        Of some 100 to 400 kB: the picture's script has the numbers of at most eight laps.

    Raises
    ------
    TypeError
        If it is not one of these.
    ValueError
        If there is no such unit.
    NotesError
        If `lapwright.toml` cannot be read.

    Examples
    --------
    >>> import lapwright as lw
    >>> session = lw.open_session("sample_sessions/saturday_qualifying.gpx", repeat_line=False)
    >>> shown = lw.show(session.compare(2), units="mph")
    >>> "speed [mph]" in shown.html, "speed [km/h]" in shown.html
    (True, False)
    """
    _check(result)
    shown = _remembered(result) if units is None else Units.parse(str(units))
    if isinstance(result, Session):
        return Shown(session_cell(result, shown))
    if isinstance(result, Comparison):
        return Shown(comparison_cell(result, shown))
    return Shown(weekend_cell(result, shown))


def _check(result: object) -> None:
    if not isinstance(result, (Session, Comparison, Weekend)):
        msg = (
            f"there is nothing to show of a {type(result).__name__}; give a Session, a "
            "Comparison or a Weekend"
        )
        raise TypeError(msg)


def _remembered(result: Session | Comparison | Weekend) -> Units:
    if isinstance(result, Session):
        log = result.log.path
    elif isinstance(result, Comparison):
        log = result.log
    else:
        log = Path(result.sessions["path"].iloc[0])
    return remembered_units(log.parent) or Units()
