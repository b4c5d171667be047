"""
A page on this machine for a phone at the wall: one small server, one page, one stream of texts.

It listens to this machine alone unless another address is asked for; then the link holds a random
token, for whoever is on the same network could open it.  The page asks for nothing from elsewhere.
"""

import base64
import hashlib
import hmac
import ipaddress
import json
import re
import secrets
import threading
from dataclasses import asdict
from functools import cache
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from socket import AF_INET, AF_INET6
from typing import Any

import jinja2
from markupsafe import Markup

from lapwright.cli.live.board import Shown
from lapwright.errors import OutputError
from lapwright.wording.cautions import NOT_OFFICIAL
from lapwright.wording.live import CREW_ONLY, HEADS, NOT_YET

DEFAULT = "127.0.0.1:8390"
# A phone that does not take what it is sent for so long is let go of; it comes again. [s]
_SLOW_S = 5.0
# A page hears something at least this often. [s]
_BEAT_S = 1.0
# More pages at once are not a pit wall.
_MOST_PAGES = 24
_ADDRESS = re.compile(r"(?:(?P<host>\[[^\]]+\]|[^:\[\]]+):)?(?P<port>\d{1,5})")


class Page:
    """
    The server of the page.

    Parameters
    ----------
    address : str
        ``ADDRESS:PORT`` or a port alone, which is on this machine.

    Attributes
    ----------
    link : str
        What to open; where it listens on all addresses, with this computer's own in its place.

    Raises
    ------
    OutputError
        If it is no address, or nothing can listen there.
    """

    def __init__(self, address: str) -> None:
        host, port = _parts(address)
        self.token = "" if _is_here(host) else secrets.token_urlsafe(12)
        try:
            self._server = _Server(host, port, self.token)
        except OSError as error:
            what = f"no page can be shown there ({error.strerror or error})"
            hint = "Give another port, for example --page 8391"
            raise OutputError(what, address, hint=hint) from error
        shown_host = f"[{host}]" if ":" in host else host
        if host in ("0.0.0.0", "::"):
            shown_host = "THIS-COMPUTER"
        path = f"{self.token}/" if self.token else ""
        self.link = f"http://{shown_host}:{self._server.server_port}/{path}"
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)
        self._thread.start()

    def show(self, shown: Shown) -> None:
        """Give all pages a moment's texts."""
        texts = asdict(shown)
        laps, live = texts.pop("laps"), texts.pop("live")
        self._server.tell(json.dumps({"live": live, "laps": laps, "texts": texts}))

    def stop(self) -> None:
        """End."""
        self._server.over = True
        self._server.tell(self._server.said)
        self._server.shutdown()
        self._server.server_close()


class _Server(ThreadingHTTPServer):
    """Keeps what was said last, and wakes the streams."""

    daemon_threads = True
    block_on_close = False
    allow_reuse_address = True

    def __init__(self, host: str, port: int, token: str) -> None:
        self.address_family = AF_INET6 if ":" in host else AF_INET
        self.token, self.here = token, not token
        self.said, self.count, self.over = "", 0, False
        self.news = threading.Condition()
        self.pages = 0
        super().__init__((host, port), _Handler)

    def tell(self, said: str) -> None:
        """Say something to all streams."""
        with self.news:
            self.said, self.count = said, self.count + 1
            self.news.notify_all()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A phone that went away is nothing to speak of."""


class _Handler(BaseHTTPRequestHandler):
    """Answers one request."""

    server: _Server
    server_version, sys_version = "lapwright", ""
    protocol_version = "HTTP/1.1"
    timeout = _SLOW_S

    def do_GET(self) -> None:
        """Give the page or the stream; nothing else is here."""
        place = self._place()
        if place == "":
            self._send_page()
        elif place == "events":
            self._stream()
        else:
            self.send_error(HTTPStatus.NOT_FOUND)

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing: the terminal shows the lap."""

    def _place(self) -> str | None:
        """What is asked for, below the token; None for who may not ask."""
        path = self.path.split("?", 1)[0].removeprefix("/")
        if self.server.here:
            # Another site's page must not read this one under a name of its own.
            host = self.headers.get("Host", "").rsplit(":", 1)[0]
            return path if host in ("127.0.0.1", "localhost", "[::1]") else None
        token, slash, rest = path.partition("/")
        good = hmac.compare_digest(token.encode(), self.server.token.encode())
        return rest if good and slash else None

    def _send_page(self) -> None:
        page, policy = _document()
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(page)))
        self.send_header("Content-Security-Policy", policy)
        self._send_common()
        self.wfile.write(page)

    def _send_common(self) -> None:
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Referrer-Policy", "no-referrer")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()

    def _stream(self) -> None:
        server = self.server
        if server.pages >= _MOST_PAGES:
            self.send_error(HTTPStatus.SERVICE_UNAVAILABLE)
            return
        self.close_connection = True
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Connection", "close")
        self._send_common()
        server.pages += 1
        try:
            self.wfile.write(b"retry: 1000\n\n")
            seen = -1
            while not server.over:
                with server.news:
                    if server.count == seen:
                        server.news.wait(_BEAT_S)
                    fresh, seen, said = server.count != seen, server.count, server.said
                # A beat without news only keeps the line open: the page counts the seconds.
                self.wfile.write(f"data: {said}\n\n".encode() if fresh and said else b": \n\n")
        except OSError:
            # The phone went away.
            return
        finally:
            server.pages -= 1


@cache
def _document() -> tuple[bytes, str]:
    """Return the page, and the policy that lets its own style and script run and nothing else."""
    folder = files("lapwright.cli.live")
    source, style, script = (
        folder.joinpath(f"page.{kind}").read_text(encoding="utf-8")
        for kind in ("html.jinja", "css", "js")
    )
    template = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined).from_string(
        source
    )
    page = template.render(
        style=Markup(style), script=Markup(script), heads={**HEADS, "laps": "laps"},
        not_yet=NOT_YET, caution=CREW_ONLY, not_official=NOT_OFFICIAL,
    )  # fmt: skip
    policy = (
        f"default-src 'none'; style-src '{_digest(style)}'; script-src '{_digest(script)}'; "
        "connect-src 'self'; img-src data:; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )
    return page.encode(), policy


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _parts(address: str) -> tuple[str, int]:
    match = _ADDRESS.fullmatch(address)
    if match is None or not 0 <= int(match["port"]) <= 65535:
        what = "is not an address for a page"
        hint = "Give ADDRESS:PORT or a port, after SOURCE: --page 192.168.1.20:8390"
        raise OutputError(what, address, hint=hint)
    return (match["host"] or "127.0.0.1").strip("[]"), int(match["port"])


def _is_here(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
