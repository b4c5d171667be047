"""Why a lap is set aside: the words for it, the same on every page and screen."""

from collections.abc import Iterable

from lapwright.laps.lap_flags import SLOW_FACTOR

# What a remark says, and what it means; the order is that of the explanations on a page.
_FLAGS = {
    "slow": ("slow", f"more than {100 * (SLOW_FACTOR - 1):.0f} % slower than the typical lap"),
    "stop": ("stopped", "the car came to a stop"),
    "spin": ("spin", "the car moved sideways or backwards"),
    "standing_start": ("standing start", "began from a standstill; the time counts from the line"),
    "gap": ("gap in the log", "fixes are missing for over a second; the ± there is wider"),
    "bridged": (
        "short gap in the log",
        "fixes are missing for over a second, but not for so long that the car could have left "
        "the track; the lap counts, and what lies in the gap is less sure or left out",
    ),
    "off_path": ("off the usual line", "well away from your usual line for a while"),
    "short_cut": ("short cut", "a part of the circuit was left out"),
    "reversed": ("went backwards", "the car went backwards along the circuit"),
    "log_ends": ("log ends", "the log ends on the track"),
}
KIND_WORDS = {"out": "out lap", "timed": "lap", "in": "in lap"}


def flag_word(flag: str) -> str:
    """
    Return the words for a flag.

    Examples
    --------
    >>> flag_word("reversed"), flag_word("new_flag")
    ('went backwards', 'new flag')
    """
    return _FLAGS[flag][0] if flag in _FLAGS else flag.replace("_", " ")


def flag_list(flags: Iterable[str]) -> str:
    """
    List the words of a lap's flags.

    Examples
    --------
    >>> flag_list(("slow", "stop")), flag_list(())
    ('slow, stopped', '')
    """
    return ", ".join(flag_word(flag) for flag in flags)


def meanings(flags: Iterable[str]) -> list[tuple[str, str]]:
    """
    Explain the flags that occur.

    Parameters
    ----------
    flags : iterable of str

    Returns
    -------
    list of (str, str)
        Words and meaning, each once.
    """
    there = set(flags)
    return [said for flag, said in _FLAGS.items() if flag in there]
