"""Nothing that is printed is obeyed by a terminal, and every terminal can print it."""

import ast
import io
import json
import os
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from nasty import cannot_be_seen, texts

import lapwright
from lapwright.cli import cli
from lapwright.cli.printing import terminal
from lapwright.escaping.columns_of_text import columns_of
from lapwright.escaping.unseen import visible

ENCODINGS = ("utf-8", "ascii", "cp1252", "cp437")


def printed(encoding: str, write: str, value: object) -> str:
    """What a terminal of an encoding gets from one of the ways to it."""
    stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="strict", newline="")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "stdout", stream)
        patch.setattr(sys, "stderr", stream)
        getattr(terminal, write)(value)
        stream.flush()
    # JSON is UTF-8 wherever it goes.
    kind = "utf-8" if write == "write_out_json" else encoding
    return stream.buffer.getvalue().decode(kind)  # type: ignore[attr-defined]


@given(texts, st.sampled_from(ENCODINGS))
def test_no_terminal_is_told_what_to_do(text: str, encoding: str) -> None:
    for write in ("write_out", "write_err"):
        said = printed(encoding, write, f"a{text}")
        assert cannot_be_seen(said) == []
        assert said.endswith("\n")
    assert "\n" not in said[:-1]


@given(texts)
def test_a_terminal_with_every_letter_gets_every_letter(text: str) -> None:
    assert printed("utf-8", "write_out", text) == f"{visible(text)}\n"


@given(st.dictionaries(texts, texts, max_size=3), st.sampled_from(ENCODINGS))
def test_json_is_not_changed_by_where_it_goes(value: dict[str, str], encoding: str) -> None:
    said = printed(encoding, "write_out_json", value)
    assert json.loads(said) == value
    assert cannot_be_seen(said) == []


def test_shown_twice_is_shown_once() -> None:
    assert terminal.shown(terminal.shown("± \x1b")) == terminal.shown("± \x1b")


@pytest.mark.parametrize(
    "arguments",
    [["laps", "no\x1b[2J.csv"], ["\x1b[2J"], ["laps", "--\x1b[2J"], ["--\x1b[2J"],
     ["laps", "a", "b\x07"], ["laps", "a", "--units", "\x1b]0;x\x07"]],
)  # fmt: skip
def test_an_argument_that_is_wrong_is_quoted_safely(arguments: list[str]) -> None:
    said = CliRunner().invoke(cli, arguments)
    assert said.exit_code in (1, 2)
    assert cannot_be_seen(said.output) == []
    assert "Traceback" not in said.output


def test_the_commands_have_no_other_way_to_the_terminal() -> None:
    # `print` is forbidden by the linter; `click.echo` is here alone, `click.prompt` asks our words.
    found = []
    for file in Path(lapwright.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and node.attr in ("echo", "secho", "echo_via_pager"):
                found.append(file.name)
    assert set(found) == {"terminal.py"}
    assert click.echo


def test_a_terminal_has_80_columns_at_least_and_a_file_no_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    assert terminal.columns() > 10_000
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setattr(sys.stdout, "fileno", lambda: 1)
    for wide, counted in ((40, 80), (80, 80), (200, 200)):
        monkeypatch.setattr(
            terminal.os, "get_terminal_size", lambda *_, w=wide: os.terminal_size((w, 24))
        )
        assert terminal.columns() == counted
    assert columns_of("x" * 80) == 80
