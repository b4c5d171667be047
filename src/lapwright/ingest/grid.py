"""Stamps rounded coarser than the rate, put back on the regular grid they came from."""

from lapwright.ingest.log import Finding
from lapwright.ingest.recording import Recording
from lapwright.ingest.time_scales import Ints


def repair_rounded(
    time_ns: Ints, recording: Recording, row: Ints, notes: list[Finding]
) -> Ints | None:
    """To be written."""
    return None
