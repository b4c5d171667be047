"""What is said of two logs of one car: how their clocks stand, and how well they agree."""

from lapwright.ingest.log import Log
from lapwright.two_logs.align import Alignment
from lapwright.units import Units, clock, error_bar, number

_PM = "\N{PLUS-MINUS SIGN}"
# Above this the two differ by clearly more than their error bars.
_FITS = 3.0
_HOUR_S = 3600.0


def alignment_lines(log: Log, other: Log, found: Alignment, units: Units | str) -> list[str]:
    """
    Say how two logs were aligned.

    Parameters
    ----------
    log, other : Log
    found : Alignment
    units : Units or str

    Returns
    -------
    list of str
        One line each.
    """
    shown = Units.parse(str(units))
    one, two = log.path.name, other.path.name
    begin, sd = float(found.other_time(0.0)), float(found.sd_at(0.0))
    if begin >= 0.0:
        first = f"The first fix of {one} is {clock(begin, sd)} {_PM} {error_bar(sd)} s into {two}."
    else:
        begin, sd = float(found.own_time(0.0)), float(found.sd_at(found.own_time(0.0)))
        first = f"The first fix of {two} is {clock(begin, sd)} {_PM} {error_bar(sd)} s into {one}."
    lines = [
        f"{one} and {two}: the same car, for {clock(found.overlap_s, most=0)} that both have.",
        first,
        *_clocks(log, other, found),
        f"They differ by {number(found.position_rms_m)} m along the way and by "
        f"{number(shown.speed_of(found.speed_rms_mps))} {shown.speed} (rms).",
    ]
    if found.misfit > _FITS:
        lines.append(
            "That is more than the two receivers' own errors; the error bars above allow for it."
        )
    return lines


def _clocks(log: Log, other: Log, found: Alignment) -> list[str]:
    """Say how much faster one clock runs, and how far apart two with dates are."""
    rate, sd = 1e6 * found.rate, 1e6 * found.rate_sd
    word = "faster" if rate >= 0.0 else "slower"
    hour_s, hour_sd_s = abs(found.rate) * _HOUR_S, found.rate_sd * _HOUR_S
    lines = [
        f"The clock of {other.path.name} runs {number(abs(rate), sd)} {_PM} {error_bar(sd)} ppm "
        f"{word} than that of {log.path.name}: {number(hour_s, hour_sd_s, most=3)} {_PM} "
        f"{error_bar(hour_sd_s)} s in an hour."
    ]
    if log.start_utc is not None and other.start_utc is not None:
        begun = (other.start_utc - log.start_utc).total_seconds()
        apart = found.offset_s + begun
        sd_s = found.offset_sd_s
        ahead = "ahead of" if apart >= 0.0 else "behind"
        lines.append(
            f"Its time of day is {number(abs(apart), sd_s, most=3)} {_PM} {error_bar(sd_s)} s "
            f"{ahead} that of {log.path.name}."
        )
    return lines
