"""Byte code of templates: kept once, never another template's, and nothing where it may not be."""

import sys
from pathlib import Path

import jinja2
import pytest

from lapwright.report.html import template_code
from lapwright.report.html.template_code import TemplateCode


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where byte code is kept in this test."""
    (tmp_path / "__pycache__").mkdir()
    monkeypatch.setattr(template_code, "__file__", str(tmp_path / "template_code.py"))
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(sys, "pycache_prefix", None)
    return tmp_path / "__pycache__"


def filled(source: str) -> str:
    environment = jinja2.Environment(
        loader=jinja2.DictLoader({"one": source}), bytecode_cache=TemplateCode(), autoescape=True
    )
    return environment.get_template("one").render(lap=3)


def test_it_is_compiled_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert filled("lap {{ lap }}") == "lap 3"
    assert len(list(folder.iterdir())) == 1
    with monkeypatch.context() as patched:
        patched.setattr(jinja2.Environment, "_compile", None)
        assert filled("lap {{ lap }}") == "lap 3"
    # Another source under the same name is another template.
    assert filled("{{ lap }} laps") == "3 laps"


def test_broken_byte_code_is_not_taken(folder: Path) -> None:
    filled("lap {{ lap }}")
    (kept,) = folder.iterdir()
    for content in (b"", b"nonsense", kept.read_bytes()[:-9]):
        kept.write_bytes(content)
        assert filled("lap {{ lap }}") == "lap 3"


def test_without_a_place_to_keep_it_the_template_is_filled_in_all_the_same(folder: Path) -> None:
    folder.rmdir()
    assert filled("lap {{ lap }}") == "lap 3"
    assert not folder.exists()


def test_where_python_keeps_none_neither_does_it(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert filled("lap {{ lap }}") == "lap 3"
    assert not list(folder.iterdir())
