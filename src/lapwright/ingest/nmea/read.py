"""
The reader of NMEA 0183 text.

All lines are looked at together: checksums by one exclusive-or over the bytes, sentences by
their type, fields by one call of pandas a type.  A loop over the lines takes ten
times as long.  Any talker is taken; RMC, GGA, GNS, VTG, GST and ZDA are used.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lapwright.errors import LogError
from lapwright.ingest.log import ColumnReading, Finding
from lapwright.ingest.nmea.sentences import Sentences, find_sentences
from lapwright.ingest.nmea.time import dated
from lapwright.ingest.recording import Recording
from lapwright.ingest.time.scales import Bools, Floats, Ints
from lapwright.ingest.units import in_a_turn

_EPOCH_TYPES = ("RMC", "GGA", "GNS", "GST")
_USED = (*_EPOCH_TYPES, "VTG", "ZDA")


@dataclass(eq=False)
class _Epochs:
    """Measurement instants: for every sentence the epoch it belongs to."""

    count: int
    line: Ints
    time_ns: Ints


def read_nmea(data: bytes, path: Path) -> Recording:
    """
    Read NMEA 0183 text.

    Raises
    ------
    LogError
        If no sentence with a position is in it.
    """
    notes: list[Finding] = []
    found = find_sentences(data, _USED, notes)
    if not any(len(found.get(kind, ())) for kind in ("RMC", "GGA", "GNS")):
        what = "there is no sentence with a position (RMC, GGA or GNS) in it"
        hint = "Set the receiver or logger to write RMC and GGA"
        raise LogError(what, path, hint=hint)
    time_ns, has_date = dated(found, notes)
    epochs, member = _epochs(found, time_ns)
    recording = _positions(found, epochs, member, has_date)
    _motion(found, epochs, member, recording)
    recording.findings = notes
    recording.columns = _columns(found, recording)
    return recording


def _epochs(
    found: dict[str, Sentences], time_ns: dict[str, Ints]
) -> tuple[_Epochs, dict[str, Ints]]:
    """
    Group the sentences that stand together and carry the same time.

    A new epoch begins where the time changes from one sentence with a time to the next, or
    where a sentence type comes again.
    """
    kinds = [kind for kind in _EPOCH_TYPES if kind in found]
    order = np.concatenate([found[kind].order for kind in kinds])
    label = np.concatenate([np.full(len(found[kind]), i) for i, kind in enumerate(kinds)])
    times = np.concatenate([time_ns[kind] for kind in kinds])
    index = np.concatenate([np.arange(len(found[kind])) for kind in kinds])
    rank = np.argsort(order, kind="stable")
    label, times, index = label[rank], times[rank], index[rank]
    new = np.append(True, np.diff(times) != 0)
    # The same type again at the same time: a repeat, an epoch of its own.
    start_of = np.flatnonzero(new)
    group = np.cumsum(new) - 1
    key = group * len(kinds) + label
    seen = np.zeros(len(key), np.bool_)
    first = np.unique(key, return_index=True)[1]
    seen[first] = True
    repeat = ~seen
    if repeat.any():
        new = new | (repeat & (label == label[start_of][group]))
        group = np.cumsum(new) - 1
    lines = np.concatenate([found[kind].line for kind in kinds])[rank]
    starts = np.flatnonzero(new)
    member = {}
    for i, kind in enumerate(kinds):
        mine = label == i
        of_kind = np.zeros(len(found[kind]), np.int64)
        of_kind[index[mine]] = group[mine]
        member[kind] = of_kind
    if "VTG" in found:
        member["VTG"] = _attach(found["VTG"].order, order[rank], group)
    return _Epochs(len(starts), lines[starts], times[starts]), member


def _attach(mine: Ints, order: Ints, group: Ints) -> Ints:
    """Give sentences without a time to the epoch of the timed sentence before them."""
    before = np.searchsorted(order, mine) - 1
    return np.asarray(group[np.maximum(before, 0)], np.int64)


def _positions(
    found: dict[str, Sentences], epochs: _Epochs, member: dict[str, Ints], has_date: bool
) -> Recording:
    """Fill position, validity, height and the quality of each epoch."""
    lat = np.full(epochs.count, np.nan)
    lon = np.full(epochs.count, np.nan)
    no_fix = np.zeros(epochs.count, np.bool_)
    measures: dict[str, Floats] = {}
    # The one with most digits behind the decimal point comes first, the others fill up.
    kinds = [kind for kind in ("RMC", "GNS", "GGA") if kind in found]
    kinds.sort(key=lambda kind: found[kind].digits("lat"), reverse=True)
    for kind in kinds:
        sentence, where = found[kind], member[kind]
        no_fix[where[~_valid(kind, sentence)]] = True
        wanted = ~np.isfinite(lat[where])
        if wanted.any():
            place_lat, place_lon = sentence.position()
            here = wanted & np.isfinite(place_lat) & np.isfinite(place_lon)
            lat[where[here]], lon[where[here]] = place_lat[here], place_lon[here]
        if kind in ("GGA", "GNS"):
            for name in ("hdop", "satellites"):
                _fill(measures, name, epochs.count, where, sentence.number(name))
            _fill(measures, "height_m", epochs.count, where, sentence.number("height"))
    if "GST" in found:
        north, east = found["GST"].number("sd_lat"), found["GST"].number("sd_lon")
        both = np.sqrt((north**2 + east**2) / 2)
        _fill(measures, "position_sd_m", epochs.count, member["GST"], both)
    scale = "utc" if has_date else "time_of_day"
    return Recording(
        "nmea",
        epochs.line,
        epochs.time_ns,
        scale,
        lat,
        lon,
        has_date,
        no_fix=no_fix,
        measures={name: value for name, value in measures.items() if np.isfinite(value).any()},
    )


def _fill(measures: dict[str, Floats], name: str, count: int, where: Ints, value: Floats) -> None:
    """Write values of some epochs."""
    column = measures.setdefault(name, np.full(count, np.nan))
    good = np.isfinite(value)
    column[where[good]] = value[good]


def _valid(kind: str, sentence: Sentences) -> Bools:
    """Tell the sentences whose receiver had a position."""
    if kind == "GGA":
        quality = sentence.number("quality")
        # 6 is dead reckoning, 7 typed in by hand, 8 a simulator: 7 is no measurement.
        return np.asarray((quality > 0) & (quality != 7), np.bool_)
    letters = sentence.letters("status")
    if kind == "RMC":
        return np.asarray(letters[:, 0] != ord("V"), np.bool_)
    used = np.isin(letters, np.frombuffer(b"ADEFPRS", np.uint8)).any(axis=1)
    return np.asarray(used, np.bool_)


def _motion(
    found: dict[str, Sentences], epochs: _Epochs, member: dict[str, Ints], recording: Recording
) -> None:
    """Fill speed and course, from RMC, where that has none from VTG."""
    speed = np.full(epochs.count, np.nan)
    course = np.full(epochs.count, np.nan)
    for kind in ("VTG", "RMC"):
        if kind not in found:
            continue
        knots, track = found[kind].number("speed"), found[kind].number("course")
        where = member[kind]
        if kind == "VTG":
            missing = ~np.isfinite(knots)
            knots = np.where(missing, found[kind].number("speed_kmh") / 1.852, knots)
        speed[where[np.isfinite(knots)]] = knots[np.isfinite(knots)]
        course[where[np.isfinite(track)]] = track[np.isfinite(track)]
    if np.isfinite(speed).any():
        recording.speed, recording.speed_unit = speed, "knots"
    if np.isfinite(course).any():
        recording.measures["course_deg"] = in_a_turn(course)


def _columns(found: dict[str, Sentences], recording: Recording) -> list[ColumnReading]:
    """Say what was read from which sentences."""
    out = []
    for kind in _USED:
        if kind in found:
            count = len(found[kind])
            share = min(1.0, count / max(len(recording.line), 1))
            meaning = {
                "RMC": "time, date, position, speed, course",
                "GGA": "time, position, height, quality",
                "GNS": "time, position, height, quality",
                "VTG": "speed, course",
                "GST": "position_sd",
                "ZDA": "date",
            }[kind]
            out.append(ColumnReading(kind, meaning, None, share))
    return out
