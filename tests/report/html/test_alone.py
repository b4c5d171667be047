"""The whole lap outside of the page: the same figures, complete in themselves."""

import base64
import hashlib
import re

from lxml import etree, html

from lapwright.report.html.alone import frame_document, picture, picture_address
from lapwright.report.html.along import lap_arrays
from lapwright.report.html.page import html as page_of
from lapwright.report.html.whole_lap import WholeLap, whole_lap
from lapwright.report.report_data import ReportData
from lapwright.units import Units


def lap_of(material: ReportData) -> WholeLap:
    lap = whole_lap(material, Units())
    assert lap is not None
    return lap


def view(text: str) -> str:
    """What is drawn of the whole lap, white space collapsed."""
    found = html.document_fromstring(text).xpath("//div[@class='lap-view']")
    return " ".join(html.tostring(found[0], encoding="unicode", with_tail=False).split())


def test_the_frame_draws_what_the_page_draws(material: ReportData) -> None:
    document = frame_document(lap_of(material), lap_arrays(material, Units()))
    page = page_of(material)
    assert view(document) == view(page)
    script = r"<script>(.*?)</script>"
    ours, theirs = (re.findall(script, text, re.DOTALL) for text in (document, page))
    assert ours == theirs
    assert len(ours) == 1
    digest = base64.b64encode(hashlib.sha256(ours[0].encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}'" in document


def test_the_picture_is_well_formed_and_has_all_curves(material: ReportData) -> None:
    lap = lap_of(material)
    svg = etree.fromstring(picture(lap))
    drawn = {p.get("d") for p in svg.xpath("//*[local-name()='path']")}
    curves = [*lap.plan.curves, *(curve for figure in lap.figures for curve in figure.curves)]
    assert len(curves) == 5
    assert {curve.path for curve in curves} <= drawn
    texts = [" ".join("".join(t.itertext()).split()) for t in svg.xpath("//*[@class='said']")]
    assert [*texts[:2]] == [lap.best, lap.usual]
    assert set(lap.names) <= set(texts)
    held = base64.b64decode(picture_address(lap).partition("base64,")[2])
    assert held.decode() == picture(lap)
