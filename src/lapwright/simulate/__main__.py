"""``python -m lapwright.simulate FOLDER`` writes the sample sessions into a folder."""

import sys
from pathlib import Path

from lapwright.simulate.sample_weekend import write_weekend


def main(arguments: list[str]) -> int:
    """Write the sample sessions; 0 done, 1 the folder cannot be written, 2 wrong usage."""
    if len(arguments) != 1 or arguments[0].startswith("-"):
        sys.stderr.write("usage: python -m lapwright.simulate FOLDER\n")
        return 2
    try:
        written = write_weekend(Path(arguments[0]))
    except OSError as error:
        sys.stderr.write(f"{arguments[0]}: {error.strerror}. Choose a folder you can write to\n")
        return 1
    for path in written:
        sys.stdout.write(f"{path}  {path.stat().st_size / 1e6:.2f} MB\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
