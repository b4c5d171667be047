"""What the page's Content-Security-Policy keeps out, in a real browser, from a file."""

from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from browser import address, browser, missing

from lapwright.report.html.page import html
from lapwright.report.report_data import ReportData

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(bool(missing()), reason=missing()),
]

# Each would set `window.broken`, or ask for something, if it ran where mark-up got in.
INJECTED = {
    "script": "<script>window.broken = 1</script>",
    "handler": '<img src="data:," onerror="window.broken = 1">',
    "address": '<a id="in" href="javascript:window.broken=1">x</a>',
    "script from elsewhere": '<script src="http://ELSEWHERE/x.js"></script>',
    "picture": '<img src="http://ELSEWHERE/x.png">',
    "frame": '<iframe src="http://ELSEWHERE/"></iframe>',
    "frame with script": '<iframe srcdoc="<script>parent.broken = 1</script>"></iframe>',
    "style": "<style>body{background:url(http://ELSEWHERE/y.png)}</style>",
}


@pytest.fixture(scope="module")
def text(material: ReportData) -> str:
    return html(material)


@contextmanager
def elsewhere() -> Iterator[tuple[str, list[str]]]:
    """Answer on this machine: its address, and what it was asked for."""
    asked: list[str] = []

    class Answer(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(204)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            return

    with ThreadingHTTPServer(("127.0.0.1", 0), Answer) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"127.0.0.1:{server.server_port}", asked
        server.shutdown()


def opened(driver: Any, text: str, file: Path) -> None:
    file.write_text(text, encoding="utf-8")
    driver.get("about:blank")
    driver.get_log("browser")
    driver.get(address(file))


def test_nothing_that_got_in_would_run_or_ask(text: str, tmp_path: Path) -> None:
    head, tail = text.split("<main>", 1)
    file = tmp_path / "page.html"
    with browser() as driver, elsewhere() as (place, asked):
        for name, plain in INJECTED.items():
            mark_up = plain.replace("ELSEWHERE", place)
            opened(driver, f"{head}<main>{mark_up}{tail}", file)
            if 'id="in"' in mark_up:
                driver.find_element("id", "in").click()
            assert driver.execute_script("return window.broken") is None, name
            said = " ".join(entry["message"] for entry in driver.get_log("browser"))
            # It was kept out by the policy, and not because it would have done nothing.
            assert "Content Security Policy" in said, name
            assert asked == [], name
            # The page's own script and style work all the same.
            assert driver.find_element("css selector", '[role="slider"]'), name


def test_without_the_policy_they_would(text: str, tmp_path: Path) -> None:
    # Break it once: the test above can fail.
    begin = text.index('<meta http-equiv="Content-Security-Policy"')
    bare = text[:begin] + text[text.index(">", begin) + 1 :]
    head, tail = bare.split("<main>", 1)
    file = tmp_path / "page.html"
    with browser() as driver, elsewhere() as (place, asked):
        for name in ("script", "handler", "frame with script"):
            opened(driver, f"{head}<main>{INJECTED[name]}{tail}", file)
            assert driver.execute_script("return window.broken") == 1, name
        for name in ("script from elsewhere", "picture", "frame", "style"):
            mark_up = INJECTED[name].replace("ELSEWHERE", place)
            opened(driver, f"{head}<main>{mark_up}{tail}", file)
        assert {"/x.js", "/x.png", "/", "/y.png"} <= set(asked)
