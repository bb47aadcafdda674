"""The page for one phone at the brake: the tally and the settings, on the local network, after a code was typed.

Only the phone that was paired last is known; pairing another lets it go. A code counts once, and a few wrong ones make
it another, which stands on the bench page's own screen.
"""

import hmac
import secrets
from collections.abc import Callable
from urllib.parse import parse_qsl

from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from flatgen.served.guard import BODY, Door, Guard
from flatgen.served.shell import PHONE, templates

MOST_WRONG = 5  # tries at one code
MOST_CODES = 20  # codes until no phone is paired any more
OPEN = ("/tally", "/settings", "/brake/plan", "/events", "/files/")  # what a phone may ask for
ENTERED = "/tally/"  # where it may enter something


class Phone:
    """The door for phones. ``renewed`` is told of every new code."""

    def __init__(self, app: ASGIApp, host: str) -> None:
        """Nobody is paired."""
        self.app, self.host = app, host
        self.renewed: Callable[[str], object] = lambda code: None
        self.paired, self.code, self._wrong, self._codes = False, _code(), 0, 0
        self.guard = Guard(self._known, self._door(), self._unknown)

    @property
    def address(self) -> str:
        """What is typed into the phone."""
        return f"http://{self.host}/"

    def _door(self) -> Door:
        return Door(frozenset({self.host}), secrets.token_urlsafe(32))

    async def _known(self, scope: Scope, receive: Receive, send: Send) -> None:
        """A request of the paired phone: the few pages that are for it."""
        path, method = scope["path"], scope["method"]
        if path == "/":
            await RedirectResponse("/tally", 303)(scope, receive, send)
        elif not path.startswith(OPEN) or (method == "POST" and not path.startswith(ENTERED)):
            await PlainTextResponse("This is not for a phone.\n", 403)(scope, receive, send)
        else:
            await self.app({**scope, PHONE: True}, receive, self._while_paired(send))

    def _while_paired(self, send: Send) -> Send:
        """What is still told to a phone ends when another is paired."""
        door = self.guard.door

        async def told(message: Message) -> None:
            if self.guard.door is not door:
                raise OSError("another phone was paired")
            await send(message)

        return told

    async def _unknown(self, scope: Scope, receive: Receive, send: Send) -> None:
        """A request of any other device: the question for the code, and its style."""
        if scope["path"] == "/files/page.css" and scope["method"] == "GET":
            await self.app({**scope, PHONE: True}, receive, send)
            return
        answer = self._pair(scope) if (scope["path"], scope["method"]) == ("/pair", "POST") else _question("", 403)
        await answer(scope, receive, send)

    def _pair(self, scope: Scope) -> Response:
        try:
            typed = dict(parse_qsl(scope[BODY].decode("latin-1"), max_num_fields=20)).get("code", "")
        except ValueError:  # too many fields
            typed = ""
        if self._codes >= MOST_CODES:
            return _question("Too many wrong codes. Start the bench page anew to pair a phone.", 403)
        right = hmac.compare_digest("".join(typed.split()).encode(), self.code.replace(" ", "").encode())
        if not right:
            self._wrong += 1
            if self._wrong >= MOST_WRONG:
                self._codes += 1
                self._renew()
            return _question("This is not the code.", 403)
        self._renew()
        self.paired, self.guard.door = True, self._door()
        answer = RedirectResponse("/tally", 303)
        door = self.guard.door
        answer.set_cookie(door.cookie, door.token, httponly=True, samesite="strict", path="/")
        return answer

    def _renew(self) -> None:
        self.code, self._wrong = _code(), 0
        self.renewed(self.code)


def _code() -> str:
    digits = f"{secrets.randbelow(10**8):08d}"
    return f"{digits[:4]} {digits[4:]}"


def _question(sentence: str, status: int) -> Response:
    return HTMLResponse(templates().get_template("pair.html").render(sentence=sentence), status)
