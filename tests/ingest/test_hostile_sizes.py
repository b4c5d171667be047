"""
No file takes longer than a second a megabyte, and one more, or 30 times its size in memory.

Measured by `resource.getrusage` in processes of their own, one a file, that begin with all that is
imported.  What each shape once did is beside it.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("resource")

SIZE = 2_500_000
MAX_TIMES = 30.0

READ_EACH = """
import json, os, resource, sys
from pathlib import Path
import lapwright as lw
from lapwright.ingest.invariants import broken_invariants
def use():
    usage = resource.getrusage(resource.RUSAGE_SELF)
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss * 1024
for warm in sorted(Path(sys.argv[1]).iterdir()):
    try:
        lw.read_log(warm)
    except lw.LapwrightError:
        pass
for name in sys.argv[2:]:
    sys.stdout.flush()
    if os.fork():
        os.wait()
        continue
    before_s, before = use()
    try:
        said = "; ".join(broken_invariants(lw.read_log(name))) or "log"
    except lw.LapwrightError as error:
        said = f"error: {error}"
    after_s, after = use()
    found = {"name": Path(name).name, "cpu_s": after_s - before_s, "bytes": after - before}
    print(json.dumps({**found, "said": said}))
    sys.stdout.flush()
    os._exit(0)
"""

K = np.arange(SIZE // 34)
T, LAT, LON = 1.7e9 + K / 10, 48 + 1e-3 * np.sin(K / 50), 7 + 1e-3 * np.cos(K / 50)
RNG = np.random.default_rng(5)


def rows(
    time_s: np.ndarray = T, lat: np.ndarray = LAT, lon: np.ndarray = LON, tail: str = ""
) -> list[str]:
    count = min(len(K), SIZE // (34 + len(tail)))
    cells = zip(time_s[:count].tolist(), lat.tolist(), lon.tolist(), strict=False)
    return [f"{time:.1f},{a:.7f},{b:.7f}{tail}" for time, a, b in cells]


def table(lines: list[str], head: str = "time,lat,lon") -> bytes:
    return "\n".join([head, *lines, ""]).encode()


def many_columns(cell: str, count: int) -> bytes:
    head = ",".join(f"c{k}" for k in range(count))
    return table(rows(tail=f",{cell}" * count), f"time,lat,lon,{head}")


DECADES = np.where(RNG.random(len(T)) < 0.01, RNG.integers(-30, 30, len(T)), 0) * 3.2e7
SHAPES = {
    "many_columns": (many_columns("1", 3000), "log"),
    "many_columns_of_words": (many_columns("a", 3000), "log"),
    "one_column": (b"time\n" + b"1\n" * (SIZE // 2), "error"),
    "one_long_line": (b"1," * (SIZE // 2) + b"\n", "error"),
    "a_long_line_in_a_log": (table([*rows()[:300], "1," * (SIZE // 2)]), "log"),
    "a_long_field_in_a_log": (table([*rows()[:300], "1,2," + "a" * SIZE]), "log"),
    "many_short_lines": (table(["1,1,1"] * (SIZE // 6)), "error"),
    "nothing_but_commas": (table([",,"] * (SIZE // 3)), "error"),
    "no_line_end": (table(rows()).replace(b"\n", b" "), "error"),
    "times_of_text": (table([f"w{row}" for row in rows()]), "error"),
    "times_of_one_instant": (table(rows(np.full_like(T, 1.7e9))), "error"),
    "times_that_are_none": (table(rows(4e3 + 2e3 * np.sin(K) + RNG.normal(0, 9, len(K)))), "error"),
    "blocks_backwards": (table(rows(1.7e9 + K % 11 * 1.0 - K // 11 * 12.0)), "log"),
    "one_place": (table(rows(lat=np.full_like(LAT, 48.0), lon=np.full_like(LON, 7.0))), "log"),
    "decades": (table(rows(T + DECADES)), "log"),
    # Half a minute of looking for the end of each quote through the whole file.
    "a_lost_quote_on_every_line": (table([f'{row}"' for row in rows()]), "log"),
    "quotes_that_open_lines": (table([f'"{row}' for row in rows()]), "log"),
}


@pytest.fixture(scope="module")
def measured(tmp_path_factory) -> dict[str, dict]:
    """Read every file in a process of its own."""
    folder = tmp_path_factory.mktemp("hostile")
    files = []
    for name, (data, _) in SHAPES.items():
        files.append(folder / f"{name}.csv")
        files[-1].write_bytes(data)
    # What is loaded on the way to a log, and to an error, is no part of a file's size.
    warm = folder / "warm"
    warm.mkdir()
    (warm / "words.csv").write_bytes(table([f"{row},a" for row in rows()[:300]], "time,lat,lon,w"))
    (warm / "no_header.csv").write_bytes(table(rows()[:300], "300"))
    (warm / "no_log.csv").write_bytes(b"time\n" + b"1\n" * 300)
    command = [sys.executable, "-c", READ_EACH, str(warm), *map(str, files)]
    path = os.pathsep.join(entry for entry in sys.path if entry)
    done = subprocess.run(
        command, capture_output=True, text=True, check=True, timeout=120,
        env={**os.environ, "PYTHONPATH": path, "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip
    found = [json.loads(line) for line in done.stdout.splitlines()]
    return {Path(one["name"]).stem: one for one in found}


@pytest.mark.parametrize("shape", SHAPES)
def test_time_and_memory_are_bounded(shape, measured) -> None:
    data, expected = SHAPES[shape]
    one = measured[shape]
    assert one["said"].partition(":")[0] == expected, one["said"]
    assert one["cpu_s"] < 1.0 + len(data) / 1e6
    assert one["bytes"] < MAX_TIMES * len(data)
