"""
One target under libFuzzer, in a process of its own as libFuzzer ends it.

Every input that breaks a promise is kept at once, one for each `signature`, and the search goes on:
libFuzzer itself would stop at the first.
"""

import hashlib
import os
import random
import sys
import tempfile
from pathlib import Path

import atheris

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ["LAPWRIGHT_CACHE"] = "off"
ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests/support"), str(ROOT / "src")]
# Only what is looked for by hand counts as ours; numpy and pandas are not instrumented.
with atheris.instrument_imports(include=["lapwright"]):
    from damage.targets import TARGETS

from damage.heavy import DAMAGES, damaged  # noqa: E402
from damage.promises import outcome  # noqa: E402

from fuzzing.signature import signature  # noqa: E402

# Compressed inputs hide what is in them from the search.
MUTATORS = tuple(kind for kind in DAMAGES if kind.__name__ != "packed")


def mutated(data: bytes, max_size: int, seed: int) -> bytes:
    """Change an input in one way that knows of its structure, or as libFuzzer does."""
    rng = random.Random(seed)
    if rng.random() < 0.4 or not data:
        return bytes(atheris.Mutate(data, max_size))
    kinds = tuple(rng.choices(MUTATORS, k=rng.choice((1, 1, 2))))
    return damaged(data, rng, kinds)[:max_size]


def crossed(one: bytes, other: bytes, max_size: int, seed: int) -> bytes:
    """Put lines of one input among those of another."""
    rng = random.Random(seed)
    lines, more = one.split(b"\n"), other.split(b"\n")
    at, first = rng.randrange(len(lines) + 1), rng.randrange(len(more))
    part = more[first : first + rng.choice((1, 3, 20))]
    return b"\n".join(lines[:at] + part + lines[at:])[:max_size]


def main() -> None:
    """Set up libFuzzer for a target: NAME FOLDER-FOR-FAILURES and libFuzzer's own options."""
    name, kept, *options = sys.argv[1:]
    target, folder = TARGETS[name], Path(kept)
    place = Path(tempfile.mkdtemp(dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
    path, seen = place / target.file_name, set[str]()

    def one(data: bytes) -> None:
        path.write_bytes(data)
        try:
            outcome(target.run, path)
        except Exception as error:
            said = signature(error)
            if said not in seen:
                seen.add(said)
                short = hashlib.sha256(said.encode()).hexdigest()[:10]
                (folder / f"{short}.input").write_bytes(data)
                print(f"FAILURE {short} {said}", flush=True)

    atheris.Setup([sys.argv[0], *options], one, custom_mutator=mutated, custom_crossover=crossed)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
