"""The page as text: what is in it, that it is whole, and that nothing breaks out of it."""

import base64
import hashlib
import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from lapwright.errors import OutputError
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.report import write_html
from lapwright.report.cards import corner_cards
from lapwright.report.headline import corner_name, five_lines, most_lost, only_between_two
from lapwright.report.html.page import html
from lapwright.report.numbers import clock_with_sd, with_sd
from lapwright.report.report_data import ReportData
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP


class Parsed(HTMLParser):
    """Tags, attributes and text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.inline: dict[str, str] = {}
        self._open = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        typed = dict(attrs).get("type")
        self._open = tag if tag in ("style", "script") and typed is None else ""

    def handle_endtag(self, tag: str) -> None:
        self._open = ""

    def handle_data(self, data: str) -> None:
        if self._open:
            self.inline[self._open] = data
        else:
            self.text.append(data)

    @property
    def words(self) -> str:
        return " ".join(" ".join(self.text).split())


@pytest.fixture(scope="module")
def page(material: ReportData) -> str:
    return html(material)


@pytest.fixture(scope="module")
def parsed(page: str) -> Parsed:
    return Parsed(page)


def test_every_lap_is_in_the_table_with_its_error_bar(parsed: Parsed, material: ReportData) -> None:
    for row in material.laps[material.laps["kind"] == "timed"].to_dict("records"):
        assert clock_with_sd(row["time_s"], row["time_sd_s"]) in parsed.words


def test_every_corner_has_a_card_with_plan_traces_and_passes(
    page: str, material: ReportData
) -> None:
    cards = re.findall(r'<article class="card" id="corner-(\d+)">(.*?)</article>', page, re.DOTALL)
    assert [int(n) for n, _ in cards] == list(material.corners["corner"])
    for number, card in cards:
        assert card.count('class="plan corner"') == 1
        assert card.count('data-kind="speed"') == card.count('data-kind="delta"') == 1
        beside, _, runs = card.partition('<table class="passes">')
        # The usual lap, the best and the difference; then every run.
        assert len(re.findall(r"<tr class=", beside)) == 3
        rows = re.findall(r"<tr class=", runs)
        assert len(rows) == (material.passes["corner"] == int(number)).sum()


def test_the_quickest_third_is_told_from_the_others(material: ReportData) -> None:
    card = corner_cards(material, Units())[3]
    clean = material.passes[
        (material.passes["corner"] == card.number)
        & material.passes["lap"].isin(material.clean["lap"])
    ]
    spans = material.spans[material.spans["corner"] == card.number].set_index("lap")["span_s"]
    third = len(clean) // 3
    laps = spans.sort_values().index[:third]
    row = card.summary[-1]
    assert row.lead == f"quickest {third}"
    column = [k.head for k in card.columns].index("minimum speed")
    shown = float(row.cells[column])
    mine = clean.set_index("lap")["min_speed_mps"]
    # In km/h to a tenth. The fixture's driver is slow here on two laps of three.
    assert shown == pytest.approx(3.6 * float(mine[laps].median()), abs=0.051)
    assert shown > float(card.summary[0].cells[column])
    few = replace(material, spans=material.spans.iloc[:5])
    assert len(corner_cards(few, Units())[3].summary) == 2


def test_ledger_of_the_page_sums_to_the_difference(material: ReportData) -> None:
    from lapwright.report.headline import corner_sums

    c = material.comparison
    assert c is not None
    total = sum(value for _, value, _ in corner_sums(material))
    # The ledger's promise, to rounding.
    assert total == pytest.approx(c.time_difference_s, abs=1e-9)
    # A whole is never less sure than its parts put together as if they were apart.
    for corner, _, sd in corner_sums(material):
        rows = np.flatnonzero(c.ledger["corner"] == corner)
        parts = np.sqrt(np.diagonal(c.ledger_cov_s2)[rows])
        assert sd <= float(parts.sum()) + 1e-12


def test_corners_of_the_summary_and_worth_trying_agree(material: ReportData) -> None:
    named = most_lost(material)
    assert named
    none = replace(material, worth_trying=(), remark="Nothing.")
    text, corners = only_between_two(none)
    # Each corner that line 4 names is either worth trying or said not to be, and linked.
    assert list(corners) == named
    page = html(none)
    line = five_lines(none, Units())[3]
    for number in named:
        assert corner_name(material, number) in line
        assert corner_name(material, number) in text
    part = page[page.index('id="worth-trying"') : page.index('id="laps"')]
    assert all(f'href="#corner-{number}"' in part for number in named)
    every = replace(material, worth_trying=tuple(WorthTryingInWords(n, "braking") for n in named))
    assert only_between_two(every) == ("", ())
    one = replace(material, worth_trying=(WorthTryingInWords(named[0], "braking"),))
    assert only_between_two(one)[1] == tuple(named[1:])


def test_feet_are_shown_everywhere_when_asked(material: ReportData, parsed: Parsed) -> None:
    said = Parsed(html(material, "mph,ft")).words
    row = material.corners.iloc[0]
    # International foot of 1959: 0.3048 m exactly.
    assert f"radius {row['radius_m'] / 0.3048:.0f} ft" in said
    assert f"apex {row['apex_m'] / 0.3048:.0f} ft after the start line" in said
    assert "braking before corner [ft]" in said
    assert "line at apex, + left [ft]" in said
    braked = material.passes[material.passes["lap"] == material.best]["brake_to_corner_m"]
    sds = material.passes[material.passes["lap"] == material.best]["brake_sd_m"]
    first = braked.notna().to_numpy().argmax()
    assert with_sd(braked.iloc[first] / 0.3048, sds.iloc[first] / 0.3048, 0) in said
    # No distance in metres is left, with a number or in a head.
    assert re.search(r"\d m\b", said) is None
    assert "[m]" not in said
    assert re.search(r"\d m\b", parsed.words) is not None


def test_every_lap_to_choose_has_its_own_error_bar(page: str, material: ReportData) -> None:
    data = json.loads(re.search(r'id="numbers">(.*?)</script>', page, re.DOTALL)[1])
    gaps = material.laps.set_index("lap")["gap_sd_s"]
    for lap, values in data["laps"].items():
        assert len(values["sd"]) == len(values["delta"])
        assert values["sd"][0] == 0
        # At the line it is the gap's own error bar, in tenths of a millisecond.
        expected = 0.0 if int(lap) == material.best else 1e4 * gaps[int(lap)]
        assert values["sd"][-1] == pytest.approx(expected, abs=0.51)


def test_cautions_and_limits_are_said(parsed: Parsed) -> None:
    for said in ("not official timing", "closed circuits only", "at speed", "instructors"):
        assert said in parsed.words.lower()


def test_text_of_files_and_people_is_escaped(page: str, parsed: Parsed) -> None:
    assert "<script>window.broken" not in page
    assert "window.broken = 1" in parsed.words
    assert "<b>log</b>" not in page
    # One data block and one script of ours, one style; nothing got in.
    assert [tag for tag, _ in parsed.tags].count("script") == 2
    assert [tag for tag, _ in parsed.tags].count("style") == 1
    assert "b" not in [tag for tag, a in parsed.tags if a]


def test_policy_names_exactly_what_is_inline(page: str, parsed: Parsed) -> None:
    policy = next(
        a["content"]
        for tag, a in parsed.tags
        if tag == "meta" and a.get("http-equiv") == "Content-Security-Policy"
    )
    assert policy is not None
    assert policy.startswith("default-src 'none'")
    for kind in ("script", "style"):
        digest = base64.b64encode(hashlib.sha256(parsed.inline[kind].encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in policy
    assert "unsafe" not in policy


def test_nothing_is_fetched_and_nothing_styled_in_place(parsed: Parsed) -> None:
    for tag, attributes in parsed.tags:
        assert "style" not in attributes
        assert not any(name.startswith("on") for name in attributes)
        for name in ("src", "href", "srcset", "data", "xlink:href", "action"):
            value = attributes.get(name)
            assert value is None or value.startswith(("#", "data:,")), (tag, name, value)


def test_tables_say_what_their_heads_head(parsed: Parsed) -> None:
    heads = [a for tag, a in parsed.tags if tag == "th"]
    assert heads
    assert all(a.get("scope") in ("col", "row", "rowgroup") for a in heads)


def test_items_worth_trying_are_shown_with_evidence_and_stake(material: ReportData) -> None:
    item = WorthTryingInWords(
        corner=4, code="minimum_speed", text="Carry the speed of your quicker passes.",
        time_at_stake_s=0.123, time_at_stake_sd_s=0.031, evidence="4 of 12 passes at 84 km/h.",
    )  # fmt: skip
    words = Parsed(html(replace(material, worth_trying=(item,)))).words
    for said in (item.text, item.evidence, "0.12 s (sd 0.03 s)"):
        assert said in words
    nothing = replace(
        material, worth_trying=(), remark="Nothing, because of lot.", still_known=("Laps vary.",)
    )
    none = Parsed(html(nothing)).words
    assert "Nothing, because of lot. That is a result too" in none
    assert f"What these laps do show Laps vary. {AS_DRIVEN}" in none


def test_what_came_of_the_last_try_opens_the_page(material: ReportData) -> None:
    said = "Corner 4: before 84, after 87 km/h"
    words = Parsed(html(replace(material, came_of_it=(said,)))).words
    assert words.index("What came of what you tried") < words.index(said) < words.index("All laps.")


@pytest.mark.parametrize(
    ("units", "factor"),
    # Mile of the international yard of 1959: 1609.344 m.
    [("km/h", 3.6), ("mph", 3600.0 / 1609.344)],
)
def test_speeds_are_in_the_unit_asked_for(material: ReportData, units: str, factor: float) -> None:
    words = Parsed(html(material, units)).words
    top = float(material.laps.loc[material.laps["kind"] == "timed", "top_speed_mps"].max())
    assert f"Top speed {top * factor:.0f} {units}" in words


@pytest.mark.parametrize("kept", [0, 1, 2])
def test_a_session_of_few_laps_still_makes_a_page(material: ReportData, kept: int) -> None:
    laps = material.laps[material.laps["kind"] == "timed"].head(kept)
    numbers = [int(n) for n in laps["lap"]]
    few = replace(
        material, laps=laps, passes=material.passes[material.passes["lap"].isin(numbers)],
        best=numbers[0] if kept else None, usual=None, comparison=None, other=None,
        traces={n: material.traces[n] for n in numbers}, worth_trying=(), theoretical_best=None,
    )  # fmt: skip
    words = Parsed(html(few)).words
    assert ("no second clean lap" in words) == (kept > 0)
    assert ("nothing to compare" in words) == (kept == 0)


def test_twenty_laps_stay_small(page: str, material: ReportData) -> None:
    assert (material.laps["kind"] == "timed").sum() == 20
    # The limit is 3 MB; what is drawn here needs less than 1.
    assert len(page.encode()) < 1_000_000


def test_the_file_is_written_whole_or_not_at_all(
    session: Session, notes: LogNotes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "debrief.html"
    target.write_text("older")
    with monkeypatch.context() as patch:
        patch.setattr(Path, "write_text", _half_written)
        with pytest.raises(OutputError, match="no space left"):
            write_html(session, target, notes=notes)
    assert target.read_text() == "older"
    assert list(tmp_path.iterdir()) == [target]
    assert write_html(session, target, notes=notes) == target
    assert target.read_text(encoding="utf-8").rstrip().endswith("</html>")
    assert list(tmp_path.iterdir()) == [target]


def _half_written(self: Path, text: str, encoding: str) -> None:
    self.write_bytes(text[: len(text) // 2].encode(encoding))
    msg = "no space left"
    raise OSError(msg)


def test_speeds_and_braking_places_come_with_the_caution(material: ReportData) -> None:
    page = Parsed(html(material)).words
    assert BUILD_UP in page[page.index("Worth trying") :]
    assert BUILD_UP in page[page.index("Corner by corner", page.index("All laps.")) :]
