"""What is drawn fits the terminal and its encoding."""

import io
from dataclasses import replace

import pytest

from lapwright.cli.live import terminal as module
from lapwright.cli.live.board import Shown
from lapwright.cli.live.terminal import Terminal, screen

SHOWN = Shown(
    "LIVE", "", True, "lap 5", "-0.26", "± 0.04", "against lap 3, the best so far; + is slower",
    "58.4", "1:34.55", "± 0.05", "137 km/h", "lap 4  1:44.81 ± 0.02  slow",
    "lap 3  1:34.812 ± 0.018  best", "lap 5: S1 24.41 ± 0.06", "recording to r.nmea",
)  # fmt: skip


@pytest.mark.parametrize(
    "size", [(200, 60), (80, 24), (60, 20), (40, 16), (30, 8), (20, 4), (1, 1)]
)
@pytest.mark.parametrize("plain", [True, False])
def test_it_fits(size: tuple[int, int], plain: bool) -> None:
    lines = screen(SHOWN, *size, plain=plain)
    assert len(lines) <= max(size[1] - 1, 1)
    assert all(len(line) < max(size[0], 1) for line in lines)
    if plain:
        assert all(line.isascii() for line in lines)


def test_eighty_by_twenty_four_has_delta_and_prediction_large_and_the_caution() -> None:
    lines = screen(SHOWN, 80, 24, plain=False)
    assert sum("\N{FULL BLOCK}" in line for line in lines) == 10
    text = "\n".join(lines)
    for said in (
        "± 0.04",
        "± 0.05",
        "lap 3  1:34.812",
        "recording to r.nmea",
        "Not for the driver",
    ):
        assert said in text
    # No colour is needed, or used.
    assert "\x1b" not in text


def test_a_small_one_has_the_delta_in_words() -> None:
    lines = screen(SHOWN, 40, 8, plain=True)
    assert "delta [s]  -0.26 +- 0.04" in lines
    assert "Not for the driver at speed." in lines


class Ascii(io.StringIO):
    encoding = "ascii"


def test_a_name_is_no_command_to_the_terminal() -> None:
    odd = replace(SHOWN, recording="recording to \x1b]0;x\x07.nmea")
    assert "recording to ?]0;x?.nmea" in screen(odd, 80, 24, plain=False)


def test_it_is_redrawn_in_place_without_clearing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        module.shutil, "get_terminal_size", lambda *_, **__: module.os.terminal_size((80, 24))
    )
    out = Ascii()
    drawn = Terminal(out)
    drawn.draw(SHOWN)
    first = out.getvalue()
    drawn.draw(SHOWN)
    second = out.getvalue()[len(first) :]
    assert second.startswith("\x1b[H")
    # Clearing the whole screen flickers.
    assert "\x1b[2J" not in out.getvalue()
    assert out.getvalue().isascii()
    drawn.end()
    assert out.getvalue().endswith("\x1b[?25h")
