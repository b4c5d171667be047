"""
Light damage to a log: what a flat battery, a worn card, a cable or an editor leaves behind.

Each kind takes the lines of a whole log and a generator and gives other lines.  Where the damage
is of what is logged (not of the file), an NMEA sentence gets a right checksum again.  Heavy damage
is for tests of readers; here nearly all of a log is whole, and its laps should be, too.
"""

from collections.abc import Callable

import numpy as np
from hypothesis import strategies as st

from damage.fields import delimiter_of, get, is_fix, later, put, summed
from damage.good_logs import KINDS, GoodLog, good_log

Lines = list[bytes]
Damage = Callable[[GoodLog, np.random.Generator], Lines]
_GARBAGE = b'\x00\xff\xfe;,;;"<>&$*abcxyz0123456789.-+ \t'
_TYPED = b"0123456789.,;-+ abcXYZ:/"
_DAY_S, _HOUR_S = 86400.0, 3600.0


def _fixes(good: GoodLog) -> np.ndarray:
    """Numbers of the lines that hold a position, without the first and the last few."""
    return np.flatnonzero([is_fix(line, good.suffix) for line in good.lines])[3:-3]


def _stretch(good: GoodLog, rng: np.random.Generator, length: int) -> np.ndarray:
    """Lines one after the other, somewhere in the log."""
    fixes = _fixes(good)
    length = min(length, len(fixes) // 4)
    start = int(rng.integers(len(fixes) - length))
    return fixes[start : start + length]


def _lines_in(good: GoodLog, seconds: float) -> int:
    per_fix = 2 if good.suffix == ".nmea" else 1
    return max(1, round(seconds * good.kind.rate_hz)) * per_fix


def _end_of(line: bytes) -> bytes:
    return b"\r\n" if line.endswith(b"\r\n") else b"\n"


def bad_lines(good: GoodLog, rng: np.random.Generator) -> Lines:
    """One line in a thousand is garbage, cut, written twice or lost."""
    out, fixes = [[line] for line in good.lines], _fixes(good)
    for k in rng.choice(fixes, max(1, len(fixes) // 1000), replace=False):
        line, how = good.lines[k], int(rng.integers(4))
        if how == 0:
            out[k] = [bytes(rng.choice(list(_GARBAGE), len(line)).tolist()) + _end_of(line)]
        elif how == 1:
            out[k] = [line[: int(rng.integers(1, len(line) - 2))] + _end_of(line)]
        else:
            out[k] = [line, line] if how == 2 else []
    return [line for lines in out for line in lines]


def _in_bytes(
    good: GoodLog, rng: np.random.Generator, count: int, by: Callable[[int], int]
) -> Lines:
    """Change single bytes between the first and the last fixes."""
    first, last = int(_fixes(good)[0]), int(_fixes(good)[-1])
    body = bytearray(b"".join(good.lines[first:last]))
    for at in rng.choice(len(body), count, replace=False):
        body[at] = by(body[at])
    return [*good.lines[:first], *bytes(body).splitlines(keepends=True), *good.lines[last:]]


def flipped_bits(good: GoodLog, rng: np.random.Generator) -> Lines:
    """Five bits are the other way round."""
    return _in_bytes(good, rng, 5, lambda byte: byte ^ (1 << int(rng.integers(8))))


def changed_characters(good: GoodLog, rng: np.random.Generator) -> Lines:
    """Thirty characters are others."""
    return _in_bytes(good, rng, 30, lambda _: int(rng.choice(list(_TYPED))))


def changed_digits(good: GoodLog, rng: np.random.Generator) -> Lines:
    """In three lines one digit of the time or the position is another."""
    out = list(good.lines)
    for k in rng.choice(_fixes(good), 3, replace=False):
        what = ("time", "lat", "lon")[int(rng.integers(3))]
        text = bytearray(get(out[k], good.suffix, what) or b"")
        digits = [i for i, byte in enumerate(text) if chr(byte).isdigit()]
        if digits:
            at = int(rng.choice(digits))
            text[at] = 48 + (text[at] - 48 + int(rng.integers(1, 10))) % 10
            out[k] = put(out[k], good.suffix, what, bytes(text))
    return out


def swapped_blocks(good: GoodLog, rng: np.random.Generator) -> Lines:
    """Two blocks of twenty lines stand in each other's place."""
    fixes = _fixes(good)
    a, b = sorted(int(k) for k in rng.choice(fixes[:-20] // 20 * 20, 2, replace=False))
    b = max(b, a + 20)
    lines = good.lines
    return [
        *lines[:a],
        *lines[b : b + 20],
        *lines[a + 20 : b],
        *lines[a : a + 20],
        *lines[b + 20 :],
    ]


def shifted_column(good: GoodLog, rng: np.random.Generator) -> Lines:
    """In ten lines the fields stand one to the right of their column, or in each other's place."""
    out = list(good.lines)
    column = int(rng.integers(1, 3))
    for k in _stretch(good, rng, 10):
        if good.suffix == ".gpx":
            lat, lon = (get(out[k], ".gpx", what) or b"" for what in ("lat", "lon"))
            out[k] = put(put(out[k], ".gpx", "lat", lon), ".gpx", "lon", lat)
            continue
        line, mark = out[k].rstrip(b"\r\n"), delimiter_of(out[k])
        parts = line.split(mark)
        parts[column:] = [b"", *parts[column:-1]]
        if good.suffix == ".nmea":
            parts[-1] = b"*00"
        out[k] = summed(mark.join(parts) + _end_of(out[k]), good.suffix)
    return out


def frozen_second(good: GoodLog, rng: np.random.Generator) -> Lines:
    """For a second the position is the last one again, while the time goes on."""
    out, held = list(good.lines), {}
    for k in _stretch(good, rng, max(2, _lines_in(good, 1.0))):
        for what in ("lat", "lon"):
            held.setdefault(what, get(out[k], good.suffix, what) or b"")
            out[k] = put(out[k], good.suffix, what, held[what])
    return out


def another_day(good: GoodLog, rng: np.random.Generator) -> Lines:
    """A minute is of another day or hour."""
    out = list(good.lines)
    by_s = float(rng.choice([_DAY_S, -_DAY_S, 3 * _DAY_S, _HOUR_S, -_HOUR_S]))
    for k in _stretch(good, rng, _lines_in(good, 60.0)):
        out[k] = later(out[k], good.suffix, by_s)
    return out


def late_stretch(good: GoodLog, rng: np.random.Generator) -> Lines:
    """For ten seconds the clock is some seconds ahead or behind."""
    out = list(good.lines)
    by_s = float(rng.choice([-20.0, -2.45, -1.0, 0.7, 1.0, 3.0, 20.0]))
    for k in _stretch(good, rng, _lines_in(good, 10.0)):
        out[k] = later(out[k], good.suffix, by_s)
    return out


def decimal_comma(good: GoodLog, rng: np.random.Generator) -> Lines:
    """For twenty lines the decimal sign is the other one."""
    out = list(good.lines)
    for k in _stretch(good, rng, 20):
        for what in ("lat", "lon"):
            text = get(out[k], good.suffix, what) or b""
            text = text.translate(bytes.maketrans(b".,", b",."))
            out[k] = put(out[k], good.suffix, what, text)
    return out


def interleaved(good: GoodLog, rng: np.random.Generator) -> Lines:
    """For a second the lines of another car's log stand between, at the same times or others."""
    stretch, out = _stretch(good, rng, max(2, _lines_in(good, 1.0))), []
    by_s = float(rng.choice([0.0, 0.4, 0.5])) / good.kind.rate_hz
    ahead = bool(rng.integers(2))
    for k, line in enumerate(good.lines):
        both = [line]
        if stretch[0] <= k <= stretch[-1] and k < len(good.rival) - 1:
            both.insert(0 if ahead else 1, later(good.rival[k], good.suffix, by_s))
        out += both
    return out


def lost_lines(good: GoodLog, rng: np.random.Generator) -> Lines:
    """One line in a hundred is lost."""
    fixes = _fixes(good)
    gone = {int(k) for k in rng.choice(fixes, len(fixes) // 100 or 1, replace=False)}
    return [line for k, line in enumerate(good.lines) if k not in gone]


def doubled_lines(good: GoodLog, rng: np.random.Generator) -> Lines:
    """One line in a hundred stands there twice."""
    fixes = _fixes(good)
    twice = {int(k) for k in rng.choice(fixes, len(fixes) // 100 or 1, replace=False)}
    return [line for k, line in enumerate(good.lines) for _ in range(2 if k in twice else 1)]


DAMAGES: dict[str, Damage] = {
    damage.__name__: damage
    for damage in (
        bad_lines, flipped_bits, changed_characters, changed_digits, swapped_blocks,
        shifted_column, frozen_second, another_day, late_stretch, decimal_comma, interleaved,
        lost_lines, doubled_lines,
    )
}  # fmt: skip


def damaged(kind: str, damage: str, seed: int) -> tuple[GoodLog, Lines]:
    """One good log and the same damaged; the same seed gives the same lines."""
    good = good_log(kind)
    rng = np.random.default_rng([seed, list(DAMAGES).index(damage), list(KINDS).index(kind)])
    return good, DAMAGES[damage](good, rng)


def lightly_damaged() -> st.SearchStrategy[tuple[str, str, int]]:
    """A kind of log, a kind of damage and a seed, for `damaged`; the lines would be a long text."""
    seeds = st.integers(0, 2**32 - 1)
    return st.tuples(st.sampled_from(list(KINDS)), st.sampled_from(list(DAMAGES)), seeds)
