"""The page's server, asked as a phone asks and as a stranger does; and in a real browser."""

import http.client
import json
import re
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from urllib.parse import urlsplit

import pytest
from browser import browser, missing, requests

import lapwright as lw
from lapwright.cli.live.board import Board, Shown
from lapwright.cli.live.page import Page
from lapwright.live_session.events import LapGoing, LapTimed, Receiving
from lapwright.units import Units


def shown(at_s: float = 10.2) -> Shown:
    board = Board(Units())
    board.take(Receiving("fixes", "", 0.1, "recording to <b>r</b>.nmea"), 10.0)
    board.take(
        LapTimed(3, "timed", (), 94.8, 0.02, (), (), 0.0, 94.0, refined=True, best=True), 10.0
    )
    board.take(
        LapGoing(5, "timed", 9.0, 58.4, 1800.0, 38.0, -0.26, 0.04, 94.5, 0.05, "lap 3"), 10.0
    )
    return board.shown(at_s)


@contextmanager
def asked(page: Page, path: str, **headers: str) -> Iterator[http.client.HTTPResponse]:
    parts = urlsplit(page.link)
    connection = http.client.HTTPConnection("127.0.0.1", parts.port, timeout=10)
    with closing(connection):
        connection.request("GET", path, headers=headers)
        with connection.getresponse() as answer:
            yield answer


def status(page: Page, path: str, **headers: str) -> int:
    with asked(page, path, **headers) as answer:
        return answer.status


def test_the_page_asks_for_nothing_from_elsewhere() -> None:
    page = Page("0")
    try:
        with asked(page, "/") as answer:
            text = answer.read().decode()
            policy = answer.headers["Content-Security-Policy"]
            assert answer.status == 200
            assert answer.headers["Cache-Control"] == "no-store"
    finally:
        page.stop()
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert not re.search(r"(src|href)=[\"']?(https?:)?//", text)


def test_the_stream_says_at_once_what_there_is_and_then_what_is_new() -> None:
    page = Page("0")
    try:
        page.show(shown())
        with asked(page, "/events") as answer:
            assert answer.headers["Content-Type"] == "text/event-stream"
            lines = [answer.readline() for _ in range(4)]
            said = json.loads(lines[2].removeprefix(b"data: "))
            assert said["live"] is True
            assert said["texts"]["delta"] == "-0.26"
            page.show(shown(20.0))
            said = json.loads(answer.readline().removeprefix(b"data: "))
            assert said["texts"]["delta"] == "--"
    finally:
        page.stop()


def test_on_this_machine_only_it_is_asked_by_its_own_name() -> None:
    page = Page("0")
    try:
        assert page.token == ""
        assert page.link.startswith("http://127.0.0.1:")
        assert status(page, "/", Host="evil.example") == 404
        assert status(page, "/events", Host="evil.example:80") == 404
        assert status(page, "/../../etc/passwd") == 404
        assert status(page, "/state") == 404
    finally:
        page.stop()


def test_elsewhere_the_link_holds_a_token_that_is_needed() -> None:
    page, other = Page("0.0.0.0:0"), Page("0.0.0.0:0")
    try:
        path = urlsplit(page.link).path
        assert len(page.token) >= 16
        # Nobody can open 0.0.0.0.
        assert page.link.startswith("http://THIS-COMPUTER:")
        assert page.token != other.token
        assert status(page, path) == 200
        for wrong in ("/", "/events", f"/{other.token}/", f"/{page.token}x/", f"/{page.token}"):
            assert status(page, wrong) == 404
    finally:
        page.stop()
        other.stop()


@pytest.mark.parametrize("address", ["", "here", "tcp://a:1", "1.2.3.4:", "127.0.0.1:99999"])
def test_what_is_no_address_is_one_clear_error(address: str) -> None:
    with pytest.raises(lw.OutputError, match="is not an address for a page"):
        Page(address)


def test_a_port_that_is_taken_is_one_clear_error() -> None:
    page = Page("0")
    try:
        with pytest.raises(lw.OutputError, match="no page can be shown there"):
            Page(str(urlsplit(page.link).port))
    finally:
        page.stop()


@pytest.mark.browser
@pytest.mark.skipif(bool(missing()), reason=missing() or "all there")
def test_in_a_browser_it_lives_goes_grey_and_comes_back() -> None:
    def wait_for(driver: object, name: str, text: str) -> None:
        end = time.monotonic() + 20.0
        while time.monotonic() < end:
            if driver.find_element("id", name).text == text:  # type: ignore[attr-defined]
                return
            page.show(words)
            time.sleep(0.1)
        pytest.fail(f"{name} is {driver.find_element('id', name).text!r}")  # type: ignore[attr-defined]

    page, words = Page("0"), shown()
    port = str(urlsplit(page.link).port)
    with browser(390, 844) as driver:
        driver.get(page.link)
        wait_for(driver, "delta", "-0.26")
        assert driver.find_element("id", "state").text == "LIVE"
        # Text, never markup.
        assert driver.find_element("id", "recording").text == "recording to <b>r</b>.nmea"
        assert "stale" not in driver.find_element("tag name", "body").get_attribute("class")
        words = shown(20.0)
        wait_for(driver, "delta", "--")
        assert driver.find_element("id", "why").text == "last fix 10 s ago"
        words = shown()
        wait_for(driver, "delta", "-0.26")
        page.stop()
        end = time.monotonic() + 20.0
        while driver.find_element("id", "state").text != "NO CONNECTION":
            assert time.monotonic() < end
            time.sleep(0.1)
        assert driver.find_element("id", "delta").text == "--"
        assert driver.find_element("id", "last").text == "lap 3 1:34.80 ± 0.02 best"
        page = Page(port)
        wait_for(driver, "delta", "-0.26")
        page.stop()
        asked_for = {urlsplit(u).netloc for u in requests(driver) if u.startswith("http")}
        assert asked_for == {f"127.0.0.1:{port}"}
        said = [entry["message"] for entry in driver.get_log("browser")]
        assert [text for text in said if "Content Security Policy" in text] == []
