"""Captions with any text in them are read back by other readers, cue by cue."""

import io

import srt
import webvtt
from hypothesis import assume, given
from hypothesis import strategies as st
from nasty import cannot_be_seen, texts

from lapwright.captions.subtitles import Cue, subrip
from lapwright.captions.subtitles import webvtt as as_webvtt
from lapwright.escaping.unseen import visible

lines = st.tuples(texts, texts)


def shown(said: tuple[str, ...]) -> list[str]:
    flat = (visible(line).replace("\n", " ").replace("\t", " ") for line in said)
    return [line for line in flat if line.strip()]


def unmarked(line: str) -> str:
    return line.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")


@given(lines, texts)
def test_webvtt(said: tuple[str, ...], note: str) -> None:
    assume(not any("\u2068" in line or "\u2069" in line for line in said))
    text = as_webvtt([Cue(1.0, 2.0, said), Cue(2.0, 3.0, ("Lap 2",))], note)
    assert cannot_be_seen(text) == []
    assert text.count("-->") == 2
    read = webvtt.from_buffer(io.StringIO(text))
    assert [cue.start for cue in read] == ["00:00:01.000", "00:00:02.000"][-len(read) :]
    assert read[-1].text == "Lap 2"
    if shown(said):
        (first,) = read[:-1]
        # The reader takes the blanks off its lines.
        assert [unmarked(line).strip() for line in first.raw_text.split("\n")] == [
            line.strip() for line in shown(said)
        ]


@given(lines)
def test_subrip(said: tuple[str, ...]) -> None:
    assume(not any("\u2068" in line or "\u2069" in line for line in said))
    text = subrip([Cue(1.0, 2.0, said), Cue(2.0, 3.0, ("Lap 2",))])
    assert not set("<>{}") & set(text.replace(" --> ", ""))
    read = list(srt.parse(text))
    assert [cue.index for cue in read] == [1, 2]
    assert read[1].content == "Lap 2"
    assert len(read[0].content.split("\n")) == max(len(shown(said)), 1)


def test_a_name_written_from_right_to_left_keeps_its_isolates() -> None:
    # Unicode Standard Annex 9: what stands between them does not turn what is around it.
    text = as_webvtt([Cue(1.0, 2.0, ("3 \u2068\u05d2\u05e9\u05e8\u2069 101 km/h",))], "")
    assert "3 \u2068\u05d2\u05e9\u05e8\u2069 101 km/h" in text
