"""Cells as text: nothing breaks out of one, none grows without end, frames ask for nothing."""

import re
from dataclasses import replace
from typing import Any

import pytest
from cell_reading import Cell, cell_of
from lxml import html
from page_reading import numbers_block, only, words
from worlds import make_world

import lapwright as lw
from lapwright import simulate as sim
from lapwright.notebook.cell import MAX_LAPS, framed
from lapwright.report.html.alone import frame_document
from lapwright.report.html.along import lap_arrays
from lapwright.report.html.whole_lap import whole_lap
from lapwright.report.report_data import gather
from lapwright.report.two_laps import LapsCompared
from lapwright.session import Session
from lapwright.units import Units


@pytest.fixture(scope="module", params=["session", "comparison", "other"])
def text(request: pytest.FixtureRequest, session: Session, other: Session) -> str:
    results = {
        "session": session, "comparison": session.compare(2, 3),
        "other": session.compare(2, 3, other),
    }  # fmt: skip
    return lw.show(results[request.param]).html


def tags(element: Any) -> set[str]:
    return {one.tag for one in element.iter() if isinstance(one.tag, str)}


def test_what_people_wrote_is_text(text: str, session: Session) -> None:
    cell = cell_of(text)
    # The notebook's own page gets no script, and one element of style, which is ours.
    assert "script" not in tags(cell.element)
    assert "b" in tags(cell.element)
    style = only(cell.element, ".//style").text
    assert "{" in style
    assert "<" not in style
    # All is within the one element of the cell, and within the frame all is in its place.
    assert html.fragment_fromstring(text).get("class") == "lapwright"
    scripts = cell.frame.xpath("//script")
    assert [one.get("id") for one in scripts] == ["numbers", None]
    assert tags(cell.frame.xpath("//body")[0]) <= {
        "body", "p", "span", "div", "svg", "g", "line", "path", "rect", "text", "circle", "title",
        "output", "script",
    }  # fmt: skip
    corner = session.corners.set_index("corner")["name"][2]
    assert "</iframe>" in corner
    assert corner in {name for _, name, *_ in numbers_block(cell.frame)["corners"]}
    assert corner in words(cell.element)


def test_names_are_shown_as_they_were_written(session: Session, other: Session) -> None:
    cell = cell_of(lw.show(session).html)
    said = words(cell.element)
    for name in (session.track.name, session.notes.driver, session.log.path.name):
        assert name in said
    assert "Something <script>top.broken" in said
    against = cell_of(lw.show(session.compare(2, 3, other)).html)
    assert other.log.path.name in words(against.element)
    assert other.log.path.name in against.picture.xpath("string()")


def test_the_frame_is_shut_in_and_asks_for_nothing(text: str) -> None:
    element = html.fromstring(text)
    frame = only(element, ".//iframe")
    # No `allow-same-origin`: what runs in it can touch nothing of the notebook.
    assert frame.get("sandbox") == "allow-scripts"
    assert frame.get("title").startswith("Plan of Hollow")
    assert frame.get("src") is None
    document = frame.get("srcdoc")
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', document)
    assert policy is not None
    assert policy[1].startswith("default-src 'none'; script-src 'sha256-")
    for address in re.findall(r"(?:href|src|url)\s*[=(]\s*[\"']?([^\"'\s>)]*)", text + document):
        assert address.startswith(("data:", "#", "lapwright")) or address == ""


def test_the_document_of_the_frame_is_the_report_s_own(session: Session) -> None:
    comparison = session.compare(2, 3)
    material = LapsCompared(comparison)
    lap = whole_lap(material, Units())
    assert lap is not None
    element = html.fromstring(lw.show(comparison).html)
    true = frame_document(lap, lap_arrays(material, Units()))
    assert only(element, ".//iframe").get("srcdoc") == true


def test_a_cell_has_some_hundred_kilobytes_however_many_laps(
    session: Session, tmp_path_factory: pytest.TempPathFactory
) -> None:
    # Of thirty laps the frame has the numbers of eight; a row of the table is 0.4 kB at most.
    plan, receiver = sim.Plan((30,)), replace(sim.ORDINARY, rate_hz=2.0)
    world = make_world(tmp_path_factory.mktemp("thirty"), plan, receiver=receiver, seed=3)
    many = Session(world.log, world.session.shared_track, repeat_line=False)
    text = lw.show(many).html
    data = numbers_block(cell_of(text).frame)
    assert len(data["laps"]) == MAX_LAPS
    assert {many.best_lap, many.typical_lap} <= {int(n) for n in data["laps"]}
    assert len(text.encode()) < 250_000
    assert len(lw.show(session.compare(2, 3)).html.encode()) < 160_000


def test_on_a_long_circuit_the_frame_has_fewer_laps(session: Session) -> None:
    material = gather(session)
    clean = list(material.clean["lap"])
    assert len(clean) > 2
    assert len(_laps_in(framed(material, Units(), clean))) == len(clean)

    class Long(LapsCompared):
        """The same laps, as if the circuit had 25 km."""

        length_m = 25_000.0

    long = Long(session.compare(2, 3))
    assert len(_laps_in(framed(long, Units()))) == 2


def _laps_in(frame: dict[str, str]) -> list[str]:
    page = html.document_fromstring(frame["document"])
    return list(numbers_block(page)["laps"])


def test_without_a_best_lap_there_is_no_frame(session: Session) -> None:
    material = replace(gather(session), best=None, usual=None, comparison=None)
    assert framed(material, Units()) == {}


def test_cautions_stand_in_every_cell(text: str) -> None:
    said = words(cell_of(text).element)
    assert "Not official timing; for closed circuits only." in said
    assert "two times in three the truth lies within it" in said
    # A speed is named in the frame: its caution stands beside it.
    assert "Build up to it; leave it if track, tyres or traffic differ" in said


def test_the_picture_is_whole_in_itself(text: str) -> None:
    cell: Cell = cell_of(text)
    svg = cell.picture
    assert svg.tag == "{http://www.w3.org/2000/svg}svg"
    assert svg.xpath("//*[local-name()='script' or local-name()='image' or @href]") == []
    assert len(svg.xpath("//*[contains(@class, 'plot')]")) == 2
    assert len(svg.xpath("//*[contains(@class, 'plan')]")) == 1
