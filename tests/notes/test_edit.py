"""Weekend notes are edited without losing a word of what somebody wrote."""

import tomllib
import zlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapwright.errors import NotesError
from lapwright.notes.edit import with_worth_trying
from lapwright.notes.worth_trying_item import WorthTryingInWords

PATH = Path("weekend.toml")
NOTES = '# Mine.\n[logs."a.csv"]\ndriver = "Runa"  # the tall one\n'
ITEM = WorthTryingInWords(4, "minimum_speed", text="carry", better_laps=(1, 3), p_value=0.01)
OTHER = WorthTryingInWords(9, "throttle", text="earlier")


def edit(text: str, *items: WorthTryingInWords, name: str = "a.csv") -> str:
    """Write items of a log."""
    return with_worth_trying(text, name, items, PATH)


def listed(text: str, name: str = "a.csv") -> list[tuple[int, str]]:
    """Corner and code of a log's items, as read back."""
    items = tomllib.loads(text)["logs"].get(name, {}).get("worth_trying", [])
    return [(i["corner"], i["code"]) for i in items]


NOTED = edit(NOTES, ITEM)


@pytest.mark.parametrize(
    "touched",
    [
        NOTED.replace("corner = 4", "corner = 4  # tried: no good"),
        NOTED.replace('text = "carry"', 'text = "carry more, but mind the kerb"'),
        NOTED + 'result = "no good"\n',
        NOTED + '\n# What came of it.\n\nresult = "no good"\n',
        NOTES + '\n[[logs."a.csv".worth_trying]]\ncorner = 4\ncode = "minimum_speed"\n',
    ],
    ids=["comment", "text", "key", "key after a blank", "by hand"],
)
def test_a_table_that_somebody_touched_is_theirs(touched: str) -> None:
    assert edit(touched) == touched
    # The same thing again is already there; another one is added.
    assert edit(touched, ITEM) == touched
    both = edit(touched, ITEM, OTHER)
    assert both.startswith(touched.rstrip("\n"))
    assert listed(both) == [(4, "minimum_speed"), (9, "throttle")]
    assert edit(both) == touched


@pytest.mark.parametrize("last", ["# Good weekend.\n", '\n# Saturday\n[logs."b.csv"]\n'])
def test_comments_about_a_table_stay(last: str) -> None:
    text = NOTED.replace("[[logs", "# From the debrief:\n[[logs") + last
    new = edit(text, OTHER)
    assert listed(new) == [(9, "throttle")]
    for comment in ("# Mine.", "# the tall one", "# From the debrief:", last):
        assert comment in new
        assert comment in edit(text)


def test_the_order_of_the_sessions_stays() -> None:
    text = edit(edit("", ITEM), OTHER, name="b.csv")
    again = edit(text, ITEM, OTHER)
    assert list(tomllib.loads(again)["logs"]) == ["a.csv", "b.csv"]
    assert listed(again) == [(4, "minimum_speed"), (9, "throttle")]
    assert edit(again, ITEM) == text


def test_a_header_inside_a_text_is_text() -> None:
    said = NOTES + '\n[extra]\nsaid = """\n[[logs."a.csv".worth_trying]]\ncorner = 1\n"""\n'
    assert edit(said, ITEM).startswith(said)
    # A whole table of ours inside a text cannot be told from one: refused rather than cut out.
    block = NOTED[len(NOTES) + 1 :]
    with pytest.raises(NotesError, match="without harm"):
        edit(NOTES + f"\n[extra]\nsaid = '''\n{block}[x]\n'''\n", OTHER)


@given(text=st.text(max_size=30), name=st.text(min_size=1, max_size=12))
def test_any_text_and_file_name_come_back(text: str, name: str) -> None:
    # Surrogates are no text: TOML 1.0.0, "String", wants Unicode scalar values.
    text, name = (s.encode("utf-8", "ignore").decode() for s in (text, name))
    name = name or "a"
    new = edit("", WorthTryingInWords(1, "line", text=text), name=name)
    assert tomllib.loads(new)["logs"][name]["worth_trying"][0]["text"] == text
    # What was written is known again, so that it can be replaced.
    assert edit(new, name=name).strip() == ""


# As an older version wrote it, without a place.
OLD = 'corner = 4\ncode = "line"\n'


def test_the_place_of_a_corner_is_written_to_a_centimetre() -> None:
    item = WorthTryingInWords(
        4, "line", station_m=1234.5678, lat_deg=-43.00012345678, lon_deg=144.1234567891
    )
    new = edit("", item)
    assert "station_m = 1234.57\nlat_deg = -43.0001235\nlon_deg = 144.1234568\n" in new
    assert edit(new).strip() == ""
    assert "lat_deg" not in edit("", WorthTryingInWords(4, "line"))


def test_a_table_of_an_older_version_is_replaced_as_well() -> None:
    header = f'[[logs."a.csv".worth_trying]]  # by the debrief, {zlib.crc32(OLD.encode()):08x}\n'
    text = f"{NOTES}\n{header}{OLD}"
    assert edit(text, OTHER) == edit(NOTES, OTHER)
    # With a line of somebody's own right below, it is theirs.
    assert listed(edit(text + "mine = 1\n", OTHER)) == [(4, "line"), (9, "throttle")]
