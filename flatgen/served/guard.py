"""Who comes in at the bench page's door, and with what: asked of every request before anything of ours sees it.

The page is for this machine's own browser: it knows a random token from the address that the terminal shows, which
becomes a cookie. A request for another host (a name that was made to lead here), from a page of another origin, with a
wrong token, with a path that climbs, too large or too slow, is answered with one sentence: nothing is served, and
nothing is written.
"""

import asyncio
import hmac
from collections.abc import Mapping
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs

from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from uvicorn.protocols.http.h11_impl import H11Protocol

MOST = 1_000_000  # of what a form sends [bytes]
HEAD_TIME = 10.0  # for a request's first lines [s]
BODY_TIME = 15.0  # for the rest of it [s]
SEND_TIME = 60.0  # for a piece of the answer to be taken [s]
MOST_WAITING = 24  # connections that have not said yet what they want
MOST_INSIDE = 64  # requests at once
LONGEST = 1000  # path [characters], and of a name in it a quarter
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
    "connection": "close",
}
BODY = "flatgen.body"


@dataclass(frozen=True, slots=True)
class Door:
    """Which hosts the page answers for, as browsers write them, and the token that opens it."""

    hosts: frozenset[str]
    token: str

    @property
    def cookie(self) -> str:
        """Name of the cookie: cookies are shared by all ports of a host."""
        return "bench-" + next(iter(sorted(self.hosts))).rpartition(":")[2]


class Guard:
    """The app behind the door, which may get another token while the page stands.

    others : the app for whoever has not the token; without one they are sent away
    """

    def __init__(self, app: ASGIApp, door: Door, others: ASGIApp | None = None) -> None:
        """Keep what is asked."""
        self.app, self.door, self.others = app, door, others
        self._inside = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close"})
            return
        self._inside += 1
        try:
            await self._let_in(scope, receive, _sending(send))
        finally:
            self._inside -= 1

    async def _let_in(self, scope: Scope, receive: Receive, send: Send) -> None:
        answer = self._at_the_door(scope)
        body = b""
        if answer is None:
            try:
                async with asyncio.timeout(BODY_TIME):
                    body = await _body(scope, receive)
            except TimeoutError:
                answer = _refused(408, "This took too long to arrive.")
            except ValueError:
                answer = _refused(413, f"This is more than {MOST} bytes.")
            except ConnectionError:
                return
        if answer is not None:
            await answer(scope, _nothing, send)
            return
        scope[BODY] = body
        app = self.app if self._known(scope) else self.others
        assert app is not None
        await app(scope, _once(body, receive), send)

    def _at_the_door(self, scope: Scope) -> Response | None:
        """What a request is answered that does not come in; None for one that does."""
        if self._inside > (MOST_INSIDE if self._known(scope) else MOST_INSIDE // 2):
            return _refused(503, "Too much is asked at once.")
        heads = _heads(scope)
        if heads is None or heads.get("host", "") not in self.door.hosts:
            return _refused(421, "This page is not served under that name.")
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return _refused(405, "This page knows GET and POST only.")
        own = f"http://{heads['host']}"
        foreign = heads.get("origin", own) != own or heads.get("sec-fetch-site", "none") not in ("none", "same-origin")
        if foreign or (scope["method"] == "POST" and "origin" not in heads):
            return _refused(403, "This came from another page.")
        if _climbs(scope["path"]):
            return _refused(404, "There is no such page.")
        told = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if told and _same(told, self.door.token):
            welcome = RedirectResponse(scope["path"], 303)
            welcome.set_cookie(self.door.cookie, self.door.token, httponly=True, samesite="strict", path="/")
            return welcome
        if self.others is not None or self._known(scope):
            return None
        return _refused(403, "Open the address that the terminal shows, with its token.")

    def _known(self, scope: Scope) -> bool:
        """Whether a request has the token."""
        return _same(cookie(_heads(scope) or {}, self.door.cookie), self.door.token)


def _heads(scope: Scope) -> dict[str, str] | None:
    """Heads of a request by name; None where one that counts stands there twice."""
    heads: dict[str, str] = {}
    for name, value in scope["headers"]:
        key = name.decode("latin-1").lower()
        if key in ("host", "origin", "cookie", "content-length") and key in heads:
            return None
        heads[key] = value.decode("latin-1")
    return heads


def _climbs(path: str) -> bool:
    names = path.split("/")
    long = len(path) > LONGEST or max(map(len, names)) > LONGEST // 4
    return long or ".." in names or "\\" in path or "\0" in path or "//" in path


def _same(told: str, known: str) -> bool:
    return hmac.compare_digest(told.encode(), known.encode())


def cookie(heads: Mapping[str, str], name: str) -> str:
    """The value of a cookie; empty where there is none."""
    try:
        found = SimpleCookie(heads.get("cookie", "")).get(name)
    except CookieError:
        return ""
    return found.value if found is not None else ""


def _refused(status: int, sentence: str) -> Response:
    return PlainTextResponse(sentence + "\n", status)


async def _body(scope: Scope, receive: Receive) -> bytes:
    """All that a request sends; ValueError where it is too much, ConnectionError where it stops."""
    length = (_heads(scope) or {}).get("content-length", "0")
    if not length.isdecimal() or int(length) > MOST:
        raise ValueError
    found = bytearray()
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            raise ConnectionError
        found += message.get("body", b"")
        if len(found) > MOST:
            raise ValueError
        if not message.get("more_body", False):
            return bytes(found)


async def _nothing() -> Message:
    return {"type": "http.request", "body": b"", "more_body": False}


def _once(body: bytes, receive: Receive) -> Receive:
    """The body that is here already, then what the connection says."""
    waiting = [body]

    async def again() -> Message:
        if waiting:
            return {"type": "http.request", "body": waiting.pop(), "more_body": False}
        return await receive()

    return again


def _sending(send: Send) -> Send:
    """Answers with the heads of every answer; one that is not taken in time ends."""

    async def told(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = {name.decode("latin-1").lower() for name, _ in message["headers"]}
            own = [(k.encode(), v.encode()) for k, v in HEADERS.items() if k not in given]
            message = {**message, "headers": [*message["headers"], *own]}
        async with asyncio.timeout(SEND_TIME):
            await send(message)

    return told


class Prompt(H11Protocol):
    """A connection that must say what it wants within a time; each serves one request.

    Of many that have not said it yet the oldest is sent away, so that they keep nobody out who speaks at once.
    """

    def connection_made(self, transport: Any) -> None:
        """Set the clock."""
        super().connection_made(transport)
        self.since = self.loop.time()
        self.loop.call_later(HEAD_TIME, self._look)
        silent = [one for one in self.connections if isinstance(one, Prompt) and one.silent]
        if len(silent) > MOST_WAITING:
            min(silent, key=lambda one: one.since).transport.abort()

    @property
    def silent(self) -> bool:
        """Whether its request is not all here."""
        return (self.cycle is None or self.cycle.more_body) and not self.transport.is_closing()

    def _look(self) -> None:
        if self.cycle is None and not self.transport.is_closing():
            self.transport.close()

    def send_400_response(self, msg: str) -> None:
        """What is no request gets the heads of every answer too."""
        if self.cycle is not None and self.cycle.response_started:
            self.transport.close()
            return
        text = f"{msg}\n".encode("ascii")
        heads = {"content-type": "text/plain; charset=utf-8", "content-length": str(len(text)), **HEADERS}
        lines = "".join(f"{name}: {value}\r\n" for name, value in heads.items())
        self.transport.write(f"HTTP/1.1 400 Bad Request\r\n{lines}\r\n".encode("ascii") + text)
        self.transport.close()
