"""What is said while a lap is being driven."""

CREW_ONLY = (
    "For the crew and for passengers, only where the event allows it. Nothing here is for the "
    "driver at speed."
)
SHORT_CAUTION = "Not for the driver at speed. Not official timing."
NOT_YET = "--"
# What the state of the fixes means, in a word or two.
STATES = {
    "waiting": "WAITING",
    "fixes": "LIVE",
    "poor": "POOR FIXES",
    "late": "LATE FIXES",
    "no position": "NO POSITION",
    "nothing": "NO FIXES",
    "no circuit": "NO CIRCUIT",
    "ended": "ENDED",
}
HEADS = {
    "delta": "delta [s]",
    "lap": "this lap",
    "predicted": "predicted",
    "last": "last lap",
    "best": "best lap",
    "sectors": "sectors",
    "speed": "speed",
}
AT_FIRST, REFINED = "to be refined", "refined"


def age(age_s: float) -> str:
    """
    Say how old a number is.

    Examples
    --------
    >>> age(7.4), age(75.0), age(7300.0)
    ('7 s ago', '1 min 15 s ago', '2 h 1 min ago')
    """
    seconds = int(age_s)
    if seconds < 60:
        return f"{seconds} s ago"
    minutes, seconds = divmod(seconds, 60)
    if minutes < 60:
        return f"{minutes} min {seconds} s ago"
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min ago"


def against(reference: str) -> str:
    """
    Say what a delta is taken against.

    Examples
    --------
    >>> against("lap 3, the best so far"), against("")
    ('against lap 3, the best so far; + is slower', 'no lap to compare with yet')
    """
    return f"against {reference}; + is slower" if reference else "no lap to compare with yet"
