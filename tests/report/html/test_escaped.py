"""Whatever text is put into a page comes out as that text, by another reader of HTML and XML."""

import json
from functools import cache

import jinja2
from hypothesis import given
from lxml import etree
from lxml import html as reader
from nasty import cannot_be_seen, texts

from lapwright.escaping.unseen import visible
from lapwright.report.html.resources import templates

PAGE = (
    '<!doctype html><html><head><meta charset="utf-8"><title>{{ text }}</title></head><body>'
    '{% macro cell(t) %}<td title="{{ t }}">{{ t }}</td>{% endmacro %}'
    '<table><tr>{{ cell(text) }}</tr></table><p>{{ text }}</p><a href="#{{ text }}">x</a>'
    '<script type="application/json" id="numbers">{{ {"name": text, "n": [1, 2]} | tojson }}'
    "</script><p id='last'>end</p></body></html>"
)
PICTURE = (
    '<svg xmlns="http://www.w3.org/2000/svg" aria-label="{{ text }}"><title>{{ text }}</title>'
    "<text>{{ text }}</text></svg>"
)


@cache
def template(text: str) -> jinja2.Template:
    return templates().from_string(text)


def shown(text: str) -> str:
    """As it is to be seen; XML and HTML take every end of a line for a line feed."""
    return visible(text)


@given(texts)
def test_a_page_says_it_and_no_more(text: str) -> None:
    made = template(PAGE).render(text=text)
    assert cannot_be_seen(made) == []
    page = reader.document_fromstring(made.encode("utf-8"))
    assert [e.tag for e in page.iter()] == [
        "html", "head", "meta", "title", "body", "table", "tr", "td", "p", "a", "script", "p",
    ]  # fmt: skip
    (cell,) = page.xpath("//td")
    assert cell.attrib == {"title": shown(text)}
    assert (cell.text or "") == shown(text)
    assert (page.xpath("//title")[0].text or "") == shown(text)
    assert page.xpath("//a")[0].get("href") == f"#{shown(text)}"
    assert json.loads(page.xpath("//script")[0].text) == {"name": visible(text), "n": [1, 2]}
    assert page.xpath("//p[@id='last']")[0].text == "end"


@given(texts)
def test_a_picture_is_good_xml_that_says_it(text: str) -> None:
    picture = etree.fromstring(template(PICTURE).render(text=text).encode("utf-8"))
    assert [etree.QName(e).localname for e in picture.iter()] == ["svg", "title", "text"]
    assert (picture[1].text or "") == shown(text)
    # XML 1.0, section 3.3.3: in an attribute every blank is read as a space.
    assert picture.get("aria-label") == shown(text).replace("\n", " ").replace("\t", " ")
