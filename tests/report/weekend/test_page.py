"""The page: whole, safe, every link leading somewhere, every session and corner on it."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import html as parser

from lapwright.errors import OutputError
from lapwright.report.html.resources import digest
from lapwright.report.weekend.data import WeekendData
from lapwright.report.weekend.page import html, write_page
from lapwright.units import Units
from lapwright.wording.cautions import AS_DRIVEN, BUILD_UP, CAUTIONS, OTHER_CAR


@pytest.fixture(scope="module")
def text(weekend: WeekendData) -> str:
    return html(weekend, Units())


def test_what_people_and_files_say_is_text(text: str) -> None:
    page = parser.fromstring(text)
    assert not page.xpath("//script")
    assert "<b>folder</b>" not in text
    assert "<script>window.broken" not in text
    assert "&lt;script&gt;window.broken" in text


def test_nothing_may_be_loaded_or_run(text: str) -> None:
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]*)"', text)
    assert policy.startswith("default-src 'none';")
    assert "script-src" not in policy
    (style,) = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    assert f"'sha256-{digest(style)}'" in policy
    assert not re.findall(r'(?:src|href)="(?!#|data:)', text)


def test_every_link_leads_somewhere_and_no_anchor_is_there_twice(text: str) -> None:
    page = parser.fromstring(text)
    anchors = page.xpath("//@id")
    assert len(anchors) == len(set(anchors))
    links = {link.removeprefix("#") for link in page.xpath("//a/@href")}
    assert links
    assert links <= set(anchors)


def test_cautions_stay(text: str) -> None:
    said = " ".join(parser.fromstring(text).text_content().split())
    for caution in (*CAUTIONS, BUILD_UP, AS_DRIVEN, OTHER_CAR):
        assert caution in said
    assert "Not official timing" in said
    assert "never at speed" in said


def test_wet_dry_and_drying_are_parts_of_their_own(text: str) -> None:
    page = parser.fromstring(text)
    assert [h.text for h in page.xpath("//h2[@class='field-name']")] == [
        "Dry", "Wet", "Drying or mixed"
    ]  # fmt: skip
    for surface, sessions in (("dry", 4), ("wet", 1), ("changing", 1)):
        card = page.xpath(f"//article[@id='c1-{surface}-corner-4']")[0]
        assert len(card.xpath(".//tbody/tr[@class='']")) == sessions
    # Nothing is compared on a drying track, and there is no card of it.
    assert not page.xpath("//*[starts-with(@id, 'c1-changing-')][contains(@id, 'begin')]")
    assert not page.xpath("//*[@id='c1-changing-card']")
    assert page.xpath("//*[@id='c1-dry-card']")


def test_what_was_tried_and_what_came_of_it(text: str) -> None:
    page = parser.fromstring(text)
    (days,) = page.xpath("//*[@id='c1-days']")
    said = " ".join(days.text_content().split())
    assert "Changed on the car: rear bar softer" in said
    assert "What came of it, compared with friday.csv" in said
    assert len(days.xpath(".//h3")) == 6


def test_what_came_of_changes_to_the_car(text: str, weekend: WeekendData) -> None:
    said = parser.fromstring(text).xpath("//*[@id='changes']")[0].text_content()
    assert "Rear bar: 0.2 s" in said
    without = html(replace(weekend, changes=()), Units())
    assert not parser.fromstring(without).xpath("//*[@id='changes']")


def test_files_that_were_of_no_use_are_named(text: str, weekend: WeekendData) -> None:
    said = parser.fromstring(text).xpath("//*[@id='files']")[0].text_content()
    assert "broken" in said
    assert "notes.txt" in said
    without = replace(weekend, failed=(), left_out=())
    assert not parser.fromstring(html(without, Units())).xpath("//*[@id='files']")


def test_a_weekend_without_a_usable_log_has_a_page_too(weekend: WeekendData) -> None:
    said = parser.fromstring(html(replace(weekend, circuits=()), Units())).text_content()
    assert "No session" in said
    assert "broken" in said


def test_units(weekend: WeekendData) -> None:
    said = html(weekend, Units("mph", "ft"))
    assert "minimum speed [mph]" in said
    assert "braking before corner [ft]" in said


def test_written_whole_or_not_at_all(weekend: WeekendData, tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    assert write_page(weekend, target, Units()) == target
    assert target.read_text(encoding="utf-8") == html(weekend, Units())
    with pytest.raises(OutputError, match="no folder"):
        write_page(weekend, tmp_path / "none" / "page.html", Units())
