"""What the pages say about rules and names is what the program does."""

import re
from pathlib import Path

import pytest

from lapwright.coaching.two_group_test import PRIOR_DOF
from lapwright.discovery.corner_search import corners
from lapwright.discovery.loop import usual_pace
from lapwright.ingest.archive import MAX_MEMBERS, MAX_TOTAL_BYTES, MAX_UNPACKED_BYTES
from lapwright.ingest.csv.column_map import ROLES
from lapwright.laps import lap_flags
from lapwright.notes.weekend_notes import LogNotes

DOCS = Path(__file__).parents[1] / "docs"


def _page(name: str) -> str:
    return (DOCS / name).read_text(encoding="utf-8")


def test_every_flag_is_explained() -> None:
    # The flags are the plain strings that the two modules give.
    source = "".join(
        (Path(lap_flags.__file__).parent / name).read_text(encoding="utf-8")
        for name in ("lap_flags.py", "lap_table.py")
    )
    given = set(re.findall(r'(?:flags\.append\(|return \[)"(\w+)"', source)) | {"slow"}
    assert len(given) == 9
    explained = set(re.findall(r"^\| `(\w+)` \|", _page("flags.md"), re.MULTILINE))
    assert given <= explained


@pytest.mark.parametrize(
    ("page", "said"),
    [
        ("flags.md", f"more than {100 * (lap_flags.SLOW_FACTOR - 1):.0f} % over"),
        ("flags.md", f"within {100 * (usual_pace.CLEAN_FACTOR - 1):.0f} %"),
        ("method-laps.md", f"t \\le {usual_pace.CLEAN_FACTOR}"),
        ("method-corners.md", f"bell curve of {corners.SMOOTHING_M:.0f} m"),
        ("method-corners.md", f"{corners.MIN_BEND_RAD_PER_M * 57.29578:.3f}^\\circ"),
        ("method-corners.md", f"there are {corners.APART_M:g} m of straight"),
        ("method-corners.md", f"sharper curve ({corners.EDGE_SMOOTHING_M:.0f} m)"),
        (
            "how-to-weekend.md",
            f"({MAX_UNPACKED_BYTES / 1e9:g} GB a log, {MAX_TOTAL_BYTES / 1e9:g} GB or "
            f"{MAX_MEMBERS:,} files an archive)",
        ),
        ("method-worth-trying.md", f"$d_0 = {PRIOR_DOF:.0f}$"),
    ],
)
def test_numbers_on_the_pages_are_those_of_the_program(page: str, said: str) -> None:
    assert said in _page(page)


def test_every_role_of_a_column_map_is_listed() -> None:
    text = _page("reading-logs.md")
    assert [role for role in ROLES if f"`{role}`" not in text] == []


def test_every_key_of_the_weekend_notes_is_shown() -> None:
    text = _page("files.md")
    keys = set(LogNotes.__dataclass_fields__) - {"other", "worth_trying"}
    assert [key for key in sorted(keys) if f"\n{key} = " not in text] == []


def test_nothing_is_loaded_from_elsewhere() -> None:
    for page in [*DOCS.glob("*.md"), *DOCS.glob("*.rst"), *(DOCS / "_static").glob("*")]:
        text = page.read_text(encoding="utf-8")
        assert not re.search(r"(src=|@import|url\(|!\[[^]]*\]\()\s*[\"']?https?:", text), page
