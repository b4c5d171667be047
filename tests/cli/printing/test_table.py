"""Tables keep their columns: in 80 columns, with long words, wide letters and no letters at all."""

import io
import re
import sys
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nasty import cannot_be_seen, texts

from lapwright.cli.printing.table import table
from lapwright.cli.printing.worth_text import wrapped
from lapwright.escaping.columns_of_text import columns_of
from lapwright.escaping.unseen import visible

HEADS = ["session", "driver", "laps", "best", "±"]
ROW = ["friday", "Runa", "12", "1:35.202", "0.005"]


@pytest.fixture(autouse=True, scope="module")
def in_a_terminal() -> Iterator[None]:
    """Tables are as wide as a terminal of 80 columns."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("lapwright.cli.printing.table.columns", lambda: 80)
        yield


def lines_of(rows: list[list[str]], heads: list[str] = HEADS, left: tuple[int, ...] = (0, 1)):
    return table(heads, rows, left=left).splitlines()


@given(st.lists(st.tuples(texts, texts), min_size=1, max_size=4))
def test_words_fold_and_numbers_stay_in_their_columns(words: list[tuple[str, str]]) -> None:
    rows = [[one, two, "12", "1:35.202", "0.005"] for one, two in words]
    lines = lines_of(rows)
    assert max(map(columns_of, lines)) <= 80
    assert cannot_be_seen("".join(lines)) == []
    # The numbers of all rows end where their heads do.
    with_numbers = [line for line in lines if re.search(r"12  ?1:35\.202  ?0\.005$", line)]
    assert len({columns_of(line) for line in with_numbers}) == 1
    assert len(with_numbers) == len(rows)


def test_nothing_of_a_long_name_is_lost() -> None:
    name = "friday_practice_of_the_long_weekend_in_the_rain_second_run_with_new_tyres.csv"
    lines = lines_of([[name, "Runa of the Upper Valley", *ROW[2:]], ROW])
    part = columns_of(lines[0].partition("driver")[0])
    assert "".join(line[:part].strip() for line in lines[1:-1]) == name
    assert lines[-1].split() == ROW


def test_columns_that_do_not_fit_stand_below_behind_the_first() -> None:
    heads = ["lap", *(f"sector {k}" for k in range(1, 13))]
    rows = [[str(lap), *(f"{k}:3{lap}.123" for k in range(1, 13))] for lap in (1, 2)]
    blocks = "\n".join(lines_of(rows, heads, ())).split("\n\n")
    assert len(blocks) == 2
    assert max(len(line) for block in blocks for line in block.splitlines()) <= 80
    cells = [[line.split() for line in block.splitlines()[1:]] for block in blocks]
    assert [[*a, *b[1:]] for a, b in zip(*cells, strict=True)] == rows
    assert [row[0] for row in cells[1]] == ["1", "2"]


def test_wide_letters_and_marks_take_their_columns() -> None:
    lines = lines_of([["鈴鹿", "e\u0301e\u0301", *ROW[2:]], ROW])
    assert len({columns_of(line) for line in lines}) == 1
    assert columns_of(lines[1].partition("12")[0]) == columns_of(lines[2].partition("12")[0])


def test_stand_ins_keep_the_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", stream)
    lines = lines_of([["Zoë±", "Łucja", "12", "+0.1 ± 0.2", "1"], ["a", "b", "9", "−3.1", "2"]])
    assert "".join(lines).isascii()
    assert len({len(line) for line in lines}) == 1
    assert lines[1].split() == ["Zoe+-", "Lucja", "12", "+0.1", "+-", "0.2", "1"]


def test_a_table_that_fits_is_as_wide_as_its_words() -> None:
    assert lines_of([ROW]) == [
        "session  driver  laps      best      ±",
        "friday   Runa      12  1:35.202  0.005",
    ]
    assert visible(lines_of([ROW])[1]) == lines_of([ROW])[1]


def test_a_blank_before_a_word_stays() -> None:
    # Corners 1 to 9 stand under the units of 10.
    lines = lines_of([[" 1 Hatch", *ROW[1:]], ["10 Wren", *ROW[1:]]])
    assert lines[1].startswith(" 1 Hatch")


def test_a_sentence_behind_a_long_name_fits_too() -> None:
    name = "saturday qualifying with the long name of the whole club"
    lines = wrapped("2026-02-07 04:20 UTC; dry, new tyres", f"{name}: ")
    assert max(map(len, lines)) <= 79
    assert " ".join(" ".join(lines).split()) == f"{name}: 2026-02-07 04:20 UTC; dry, new tyres"
    assert wrapped("2026-02-07 04:20 UTC", "friday: ") == ["friday: 2026-02-07 04:20 UTC"]
