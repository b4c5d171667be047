"""What is in the files, as parsers from elsewhere read it, is what the session's tables say."""

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import srt
import webvtt
from worlds import World

import lapwright as lw
from lapwright.captions import caption_table, write_captions
from lapwright.captions.write import captions_of, write_cues
from lapwright.errors import OutputError
from lapwright.units import Units
from lapwright.wording.cautions import NOT_OFFICIAL, WATCH_AFTERWARDS

START_S = -20.0
Read = list[tuple[float, float, str]]


def read_vtt(file: Path) -> Read:
    """webvtt-py checks the file against the format as it reads."""
    return [
        (c.start_in_seconds + c.start_time.milliseconds / 1e3,
         c.end_in_seconds + c.end_time.milliseconds / 1e3, unescape(c.raw_text))
        for c in webvtt.read(str(file))
    ]  # fmt: skip


def read_srt(file: Path) -> Read:
    parsed = list(srt.parse(file.read_text(encoding="utf-8"), ignore_errors=False))
    assert [cue.index for cue in parsed] == list(range(1, len(parsed) + 1))
    second = timedelta(seconds=1)
    return [(cue.start / second, cue.end / second, cue.content) for cue in parsed]


READERS: dict[str, Callable[[Path], Read]] = {".vtt": read_vtt, ".srt": read_srt}


@pytest.fixture(scope="module")
def written(
    captioned: World, tmp_path_factory: pytest.TempPathFactory
) -> tuple[pd.DataFrame, dict[str, Read]]:
    folder = tmp_path_factory.mktemp("written")
    tables = [
        write_captions(captioned.session, folder / f"on board{ending}", START_S, units="mph")
        for ending in READERS
    ]
    pd.testing.assert_frame_equal(*tables)
    return tables[0], {e: read(folder / f"on board{e}") for e, read in READERS.items()}


@pytest.mark.parametrize("ending", READERS)
def test_both_say_the_same_at_the_same_time(
    ending: str, written: tuple[pd.DataFrame, dict[str, Read]]
) -> None:
    table, read = written[0], written[1][ending]
    assert len(read) == len(table)
    at = np.array([(start, end) for start, end, _ in read])
    assert np.abs(at - table[["video_start_s", "video_end_s"]].to_numpy()).max() < 0.00051
    # Players show two captions at once where they overlap.
    assert (at[1:, 0] >= at[:-1, 1]).all()
    assert (at[:, 1] > at[:, 0]).all()


@pytest.mark.parametrize("ending", READERS)
def test_numbers_are_those_of_the_session(
    ending: str, captioned: World, written: tuple[pd.DataFrame, dict[str, Read]]
) -> None:
    session, read = captioned.session, written[1][ending]
    compared = {
        n: session.compare(n, step_m=1.0) for n in session.timed_laps if n != session.best_lap
    }
    shown = dict.fromkeys(("delta", "equal", "reference", "speed", "time"), 0)
    for start, _, text in read:
        at_s = start + START_S
        row = session.laps[session.laps["start_s"] <= at_s + 0.001].iloc[-1]
        lap = int(row["lap"])
        said = re.search(r"^(Lap (\d+)|Out lap|In lap)(?:  (\d+):(\d\d\.\d))?(?:  (.*))?$", text,
                         re.MULTILINE)  # fmt: skip
        assert said is not None, text
        assert (said[2] is None) == (row["kind"] != "timed")
        assert said[2] in (None, str(lap))
        if said[3]:
            so_far = 60.0 * int(said[3]) + float(said[4])
            assert so_far == pytest.approx(at_s - row["start_s"], abs=0.052)
            shown["time"] += 1
        shown["reference"] += said[5] == "reference lap"
        assert (said[5] == "reference lap") == (lap == session.best_lap)
        if lap in compared:
            kind = _delta_is_right(said[5], at_s, compared[lap])
            shown[kind] += 1
        speed = re.search(r"^(\d+) mph\b", text, re.MULTILINE)
        if speed:
            # 1 mph is 1609.344 m in 3600 s (international mile, 1959).
            true = float(session.motion.at([at_s]).speed_mps[0]) * 3600.0 / 1609.344
            assert int(speed[1]) == pytest.approx(true, abs=0.55)
            shown["speed"] += 1
    # All of it was looked at.
    assert min(shown.pop("equal"), *(count - 100 for count in shown.values())) > 0


def _delta_is_right(text: str | None, at_s: float, compared: lw.Comparison) -> str:
    station = np.interp(at_s, compared.lap_trace.time_s, compared.lap_trace.station_m)
    delta, sd = (
        float(np.interp(station, compared.delta["station_m"], compared.delta[name]))
        for name in ("delta_s", "delta_sd_s")
    )
    if text is None:
        return "speed"  # in the gap of the log
    if text == "equal":
        # A millisecond of the file's own times may move what is at the edge.
        assert abs(delta) < 2.1 * sd + 0.001
        return "equal"
    value, bar = re.fullmatch(r"([+-]\d+(?:\.\d+)?) ± (\d+(?:\.\d+)?) s", text).groups()  # type: ignore[union-attr]
    decimals = len(value.partition(".")[2])
    assert len(bar.partition(".")[2]) == decimals
    assert float(value) == pytest.approx(delta, abs=0.51 * 10.0**-decimals + 0.0002)
    assert float(bar) == pytest.approx(sd, abs=0.51 * 10.0**-decimals + 0.0002)
    # One digit of the bar, or two where the first is a 1, and none that the receiver cannot give.
    assert decimals == 3 or 10.0**-decimals <= sd * 1.06
    return "delta"


@pytest.mark.parametrize("ending", READERS)
def test_a_lap_time_at_the_line_has_its_error_bar(
    ending: str, captioned: World, written: tuple[pd.DataFrame, dict[str, Read]]
) -> None:
    laps = captioned.session.laps.set_index("lap")
    found = set()
    for start, _, text in written[1][ending]:
        said = re.search(r"^Lap (\d+): (\d+):(\d\d\.\d+) ± (0\.\d+) s(.*)$", text, re.MULTILINE)
        if said is None:
            continue
        row = laps.loc[int(said[1])]
        assert -0.01 < start + START_S - row["end_s"] < 5.01
        assert 60 * int(said[2]) + float(said[3]) == pytest.approx(row["time_s"], abs=0.00051)
        assert float(said[4]) == pytest.approx(row["time_sd_s"], abs=0.00051)
        assert ("set aside: gap in the log" in said[5]) == ("gap" in row["flags"])
        found.add(int(said[1]))
    assert found == set(captioned.session.timed_laps)


def test_names_come_through(written: tuple[pd.DataFrame, dict[str, Read]]) -> None:
    table, read = written
    lines = {
        ending: {text.splitlines()[-1].rpartition("  ")[2] for _, _, text in cues}
        for ending, cues in read.items()
    }
    isolated = "3 \u2068עיקול הגשר\u2069"
    long = "5 The very long bend behind the s…"
    assert {"1 <b>Häfele</b> & „Söhne“", "2 A --> B", isolated, "4 {\\an8}Long Barrow", long} <= (
        lines[".vtt"]
    )
    # SubRip has no way to write mark-up as itself: it looks like it and does nothing.
    assert {"1 ‹b›Häfele‹/b› & „Söhne“", "2 A --› B", isolated, "4 (\\an8)Long Barrow"} <= (
        lines[".srt"]
    )
    assert "Corner 6" in lines[".vtt"]
    assert set(table["corner"]) >= {1, 2, 3, 4, 5, 6}


def test_the_cautions_are_in_the_files(written: tuple[pd.DataFrame, dict[str, Read]]) -> None:
    for read in written[1].values():
        assert all(said in read[0][2] for said in (NOT_OFFICIAL, WATCH_AFTERWARDS))
        assert "Delta to lap " in read[0][2]
        assert NOT_OFFICIAL not in read[20][2]


def test_an_older_file_of_ours_is_written_again_and_no_other(
    captioned: World, tmp_path: Path
) -> None:
    file = tmp_path / "lap.srt"
    write_captions(captioned.session, file, 0.0)
    before = file.read_bytes()
    write_captions(captioned.session, file, START_S)
    assert file.read_bytes() != before
    file.write_text("1\n00:00:01,000 --> 00:00:02,000\nGood lap, that.\n")
    before = file.read_bytes()
    with pytest.raises(OutputError, match="has not written it"):
        write_captions(captioned.session, file, 0.0)
    assert file.read_bytes() == before


def test_another_ending_and_the_log_are_refused(captioned: World, tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"end with \.vtt or \.srt"):
        write_captions(captioned.session, tmp_path / "lap.txt", 0.0)
    assert not list(tmp_path.iterdir())


def test_all_files_or_none(
    captioned: World, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = caption_table(captioned.session, 0.0)
    cues = captions_of(captioned.session, table, Units())
    whole = Path.write_text

    def fails(self: Path, *arguments: object, **named: object) -> int:
        if self.suffix == ".srt":
            raise OSError(28, "No space left on device")
        return whole(self, *arguments, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(Path, "write_text", fails)
    with pytest.raises(OutputError, match="No space left"):
        write_cues(cues, [tmp_path / "a.vtt", tmp_path / "a.srt"], "friday.csv")
    assert not list(tmp_path.iterdir())
