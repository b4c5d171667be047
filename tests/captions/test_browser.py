"""A browser, whose reader of WebVTT is its own, shows every caption as it was written."""

import base64
import time
from html import unescape
from pathlib import Path

import pytest
from browser import browser, missing
from worlds import World

from lapwright.captions import caption_table, write_captions

pytestmark = [pytest.mark.browser, pytest.mark.slow]

CUES = (
    "const c = document.getElementById('t').track.cues;"
    "return Array.from(c || []).map(x => [x.startTime, x.endTime, x.getCueAsHTML().textContent])"
)


@pytest.mark.skipif(bool(missing()), reason=missing())
def test_a_browser_reads_every_caption(captioned: World, tmp_path: Path) -> None:
    file, page = tmp_path / "lap.vtt", tmp_path / "page.html"
    write_captions(captioned.session, file, -20.0)
    data = base64.b64encode(file.read_bytes()).decode()
    page.write_text(f'<video><track id="t" default src="data:text/vtt;base64,{data}"></video>')
    # Blocks of a time and lines; the first two are the head and a note.
    mine = [block.split("\n", 1)[1] for block in file.read_text("utf-8").split("\n\n")[2:]]
    mine = [unescape(text.removesuffix("\n")) for text in mine]
    with browser() as driver:
        driver.get(page.as_uri())
        driver.execute_script("document.getElementById('t').track.mode = 'hidden'")
        until = time.monotonic() + 20.0
        while len(shown := driver.execute_script(CUES)) < len(mine) and time.monotonic() < until:
            time.sleep(0.1)
    assert [text for _, _, text in shown] == mine
    table = caption_table(captioned.session, -20.0)
    for k, name in enumerate(("video_start_s", "video_end_s")):
        # Written to a millisecond.
        assert [cue[k] for cue in shown] == pytest.approx(table[name].tolist(), abs=0.00051)
