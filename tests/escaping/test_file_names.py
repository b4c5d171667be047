"""Names of files: within their folder, on every system, told apart and read back."""

import unicodedata
from pathlib import Path
from urllib.parse import quote, unquote

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nasty import texts

from lapwright.escaping.file_names import file_stem, free_file, partition_value
from lapwright.escaping.unseen import encodable

# Microsoft, "Naming Files, Paths, and Namespaces".
RESERVED = {"con", "prn", "aux", "nul", *(f"{a}{k}" for a in ("com", "lpt") for k in range(10))}
FORBIDDEN = set('<>:"/\\|?*') | set(map(chr, range(32)))


@given(texts)
def test_a_stem_is_a_plain_name_anywhere(name: str) -> None:
    stem = file_stem(name, "track")
    assert stem
    assert not set(stem) & FORBIDDEN
    assert stem[0] not in ".-_ "
    assert stem[-1] not in ". "
    assert stem not in RESERVED
    assert len(f".{stem}_99.geojson-12345678.geojson".encode()) <= 255
    assert unicodedata.is_normalized("NFC", stem)


@pytest.mark.parametrize(
    ("name", "stem"),
    [("CON", "con_"), ("nul", "nul_"), ("Com1", "com1_"), ("Console", "console"), ("..", "track"),
     ("../../x", "x"), ("-rf", "rf"), (".hidden", "hidden"), ("a/b\\c:d", "a_b_c_d"), ("", "track"),
     ("E\u0301toile", "\u00e9toile"), ("x" * 300, "x" * 50), ("\udcff", "track")],
)  # fmt: skip
def test_stems(name: str, stem: str) -> None:
    assert file_stem(name, "track") == stem


def test_a_name_that_differs_by_case_or_form_is_taken(tmp_path: Path) -> None:
    # macOS and Windows tell neither apart; the second file would take the first one's place.
    (tmp_path / "\u00c9toile.GeoJSON").touch()
    assert free_file(tmp_path, "e\u0301toile", ".geojson").name == "e\u0301toile_2.geojson"
    assert free_file(tmp_path, "wren", ".geojson").name == "wren.geojson"
    assert free_file(tmp_path / "missing", "wren", ".geojson").name == "wren.geojson"


@given(texts.filter(bool))
def test_a_part_of_a_season_is_one_folder_and_reads_back(text: str) -> None:
    part = partition_value(text)
    assert len(f"circuit={part}".encode()) <= 255
    assert not set(part) & (FORBIDDEN | {"=", " "})
    assert part.isascii()
    assert not part.endswith(".")
    # Hive's names are percent-encoded; RFC 3986, section 2.1.
    said = encodable(unicodedata.normalize("NFC", text))
    assert unquote(part) == said or len(quote(said, safe="")) > 180


def test_long_names_are_cut_and_still_told_apart() -> None:
    one, other = partition_value("鈴" * 400 + "a"), partition_value("鈴" * 400 + "b")
    assert len(one) <= 180
    assert len(other) <= 180
    assert one != other
    assert set(unquote(one.rpartition("-")[0])) == {"鈴"}


@given(st.text(max_size=20), st.text(max_size=20))
def test_two_circuits_share_a_part_only_if_they_are_one(one: str, other: str) -> None:
    same = unicodedata.normalize("NFC", one) == unicodedata.normalize("NFC", other)
    assert (partition_value(one) == partition_value(other)) == same
