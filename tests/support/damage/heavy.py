"""
Heavy damage: what failing cards, editors, converters and malice make of a good log.

Each kind of damage is a function of bytes and a source of chance.  The property tests, the
coverage-guided fuzzer and the count of ten thousand damaged logs all draw from the same list.
"""

import gzip
import re
from collections.abc import Callable
from functools import reduce
from operator import xor
from random import Random

from hypothesis import strategies as st

from damage.nasty import DATES, LETTERS, LINE_ENDS, NUMBERS, PIECES, bomb

Damage = Callable[[bytes, Random], bytes]
# A log that grew beyond this is cut: what is tested is sense, and speed is tested by itself.
MAX_BYTES = 400_000
_NUMBER = re.compile(rb"[-+]?\d+(?:[.,]\d+)?")
_DATE = re.compile(rb"\d{4}-\d\d-\d\d|\d\d[-/.]\d\d[-/.]\d{2,4}|\d\d:\d\d:\d\d(?:[.,]\d+)?Z?")


def bits(log: bytes, rng: Random) -> bytes:
    """Flip single bits, few or many."""
    out = bytearray(log)
    for _ in range(rng.choice((1, 3, 30, max(1, len(log) // 50)))):
        out[rng.randrange(len(out))] ^= 1 << rng.randrange(8)
    return bytes(out)


def overwritten(log: bytes, rng: Random) -> bytes:
    """Put noise, zeros or blanks where a block of the card was lost."""
    a, b = stretch(log, rng)
    size = b - a
    fill = rng.choice((b"\0" * size, b" " * size, b"\xff" * size, rng.randbytes(size)))
    return log[:a] + fill + log[b:]


def cut(log: bytes, rng: Random) -> bytes:
    """Lose the beginning, the end, or a piece of the middle."""
    a, b = stretch(log, rng)
    return rng.choice((log[a:], log[:b], log[:a] + log[b:]))


def spliced(log: bytes, rng: Random) -> bytes:
    """Put a piece where it does not belong, once more or in place of another."""
    (a, b), (c, d) = stretch(log, rng), stretch(log, rng)
    return rng.choice((log[:c] + log[a:b] + log[c:], log[:c] + log[a:b] + log[d:], log + log[a:]))


def lines_moved(log: bytes, rng: Random) -> bytes:
    """Shuffle, turn round, repeat or lose lines."""
    lines = log.split(b"\n")
    a = rng.randrange(len(lines))
    b = min(len(lines), a + rng.choice((2, 10, 1000)))
    part = lines[a:b]
    done = rng.randrange(4)
    if done == 0:
        rng.shuffle(part)
    elif done == 1:
        part.reverse()
    elif done == 2:
        part = [line for line in part for _ in range(rng.randrange(4))]
    else:
        part = part[: len(part) // 3]
    return b"\n".join(lines[:a] + part + lines[b:])


def columns(log: bytes, rng: Random) -> bytes:
    """Drop, double, swap or blank a column, in all lines or in some."""
    mark = delimiter_of(log)
    share, done = rng.choice((0.02, 0.5, 1.0)), rng.randrange(4)
    i, j = rng.randrange(12), rng.randrange(12)
    out = []
    for line in log.split(b"\n"):
        cells = line.split(mark)
        if len(cells) > max(i, j) and rng.random() < share:
            if done == 0:
                del cells[i]
            elif done == 1:
                cells.insert(j, cells[i])
            elif done == 2:
                cells[i], cells[j] = cells[j], cells[i]
            else:
                cells[i] = b""
        out.append(mark.join(cells))
    return b"\n".join(out)


def encoded(log: bytes, rng: Random) -> bytes:
    """Save it in another encoding, with marks and letters that the reader must cope with."""
    text = log.decode("utf-8", "replace")
    at = rng.randrange(len(text) + 1)
    text = text[:at] + rng.choice(LETTERS) + text[at:]
    name = rng.choice(
        ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "latin-1", "cp1252", "utf-8-sig", "utf-7")
    )
    return rng.choice((b"", b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")) + text.encode(
        name, "replace"
    )


def line_ends(log: bytes, rng: Random) -> bytes:
    """End all lines, or some, in another way; or none at all."""
    end, share = rng.choice(LINE_ENDS), rng.choice((0.05, 1.0))
    parts = log.split(b"\n")
    ends = [end if rng.random() < share else b"\n" for _ in parts]
    return b"".join(line + way for line, way in zip(parts, ends, strict=True))


def numbers(log: bytes, rng: Random) -> bytes:
    """Put numbers out of range, or what only looks like a number, in place of some."""
    share = rng.choice((0.001, 0.02, 0.3))
    one = rng.choice((None, rng.choice(NUMBERS)))
    return _NUMBER.sub(
        lambda m: (one or rng.choice(NUMBERS)) if rng.random() < share else m[0], log
    )


def scaled(log: bytes, rng: Random) -> bytes:
    """Make every number of one column constant, huge or of the other sign."""
    mark, column, done = delimiter_of(log), rng.randrange(8), rng.randrange(4)
    factor = rng.choice((-1.0, 0.0, 1e3, 1e12, 1e300, 1e-12))
    out = []
    for line in log.split(b"\n"):
        cells = line.split(mark)
        if len(cells) > column and _NUMBER.fullmatch(cells[column]):
            value = float(cells[column].replace(b",", b"."))
            text = (f"{value * factor:.9g}", f"{value * factor:.3f}", "7", f"{factor}")[done]
            cells[column] = text.encode()
        out.append(mark.join(cells))
    return b"\n".join(out)


def dates(log: bytes, rng: Random) -> bytes:
    """Break dates and times of day: days that are none, years far off, odd zones."""
    share = rng.choice((0.005, 0.1, 1.0))
    one = rng.choice((None, rng.choice(DATES)))
    return _DATE.sub(lambda m: (one or rng.choice(DATES)) if rng.random() < share else m[0], log)


def pieces(log: bytes, rng: Random) -> bytes:
    """Put words of the formats where they do not belong."""
    for _ in range(rng.choice((1, 1, 5, 40))):
        at = rng.randrange(len(log) + 1)
        log = log[:at] + rng.choice(PIECES) + log[at:]
    return log


def bombed(log: bytes, rng: Random) -> bytes:
    """Put something very long into a field, or very many of a thing."""
    at = rng.choice((0, len(log), rng.randrange(len(log) + 1), log.find(b"\n") + 1))
    return log[:at] + bomb(rng, rng.choice((300, 5_000, 60_000))) + log[at:]


def checksums(log: bytes, _: Random) -> bytes:
    """Make the checksums right again, as of a logger that writes nonsense itself."""
    return re.sub(rb"\$([^*$\r\n]*)\*[0-9A-Fa-f]{2}", _with_sum, log)


def _with_sum(sentence: re.Match[bytes]) -> bytes:
    return b"$%b*%02X" % (sentence[1], reduce(xor, sentence[1], 0))


def packed(log: bytes, rng: Random) -> bytes:
    """Compress it, whole, cut or damaged, or more than once."""
    out = gzip.compress(log[:MAX_BYTES], 1, mtime=0)
    return rng.choice((out, out[: rng.randrange(len(out))], bits(out, rng), gzip.compress(out)))


DAMAGES: tuple[Damage, ...] = (
    bits, overwritten, cut, spliced, lines_moved, columns, encoded, line_ends, numbers, scaled,
    dates, pieces, bombed, checksums, packed,
)  # fmt: skip


def stretch(log: bytes, rng: Random) -> tuple[int, int]:
    """Two places in a log, near each other or anywhere."""
    a = rng.randrange(len(log) + 1)
    longest = rng.choice((4, 60, 2_000, len(log)))
    return a, min(len(log), a + rng.randrange(longest + 1))


def delimiter_of(log: bytes) -> bytes:
    """What is commonest of the signs that part fields."""
    return max((b",", b";", b"\t", b">"), key=log[:5_000].count)


def damaged(log: bytes, rng: Random, kinds: tuple[Damage, ...]) -> bytes:
    """
    Damage a log in several ways, one after the other.

    Parameters
    ----------
    log : bytes
    rng : Random
    kinds : tuple of Damage
    """
    for kind in kinds:
        log = kind(log or b"\n", rng)[:MAX_BYTES]
    return log


def drawn(logs: dict[str, bytes], seed: int) -> tuple[str, bytes, str]:
    """
    One damaged log by its number, always the same.

    Returns
    -------
    name, log, how : str, bytes, str
        Name of the good log, what became of it, and the kinds of damage.
    """
    rng = Random(seed)
    name = rng.choice(sorted(logs))
    kinds = tuple(rng.choices(DAMAGES, k=rng.choice((1, 1, 2, 3, 5))))
    return name, damaged(logs[name], rng, kinds), " ".join(kind.__name__ for kind in kinds)


def damaged_logs(logs: dict[str, bytes]) -> st.SearchStrategy[tuple[str, bytes]]:
    """Damaged logs for hypothesis: the name of the good log, and what became of it."""
    return st.builds(
        lambda name, kinds, seed: (name, damaged(logs[name], Random(seed), tuple(kinds))),
        st.sampled_from(sorted(logs)),
        st.lists(st.sampled_from(DAMAGES), min_size=1, max_size=5),
        st.integers(0, 2**32),
    )
