"""What may be asked of the page, and by whom: host, origin, key, form token, size."""

from __future__ import annotations

import hmac
import math
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BYTES = 8_000_000
FREE_TRIES = 4
LONGEST_WAIT_S = 60
TOO_MUCH = "More was sent than this page reads."
CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
PAPER_CSP = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
"""For sheets, which bring their own styles and run nothing."""
HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}
ENTER, STATIC = "/enter", "/static/"
"""What is answered without a key: nothing of the folder is in it."""


@dataclass
class Patience:
    """Wrong passwords of all visitors together; from the fourth on each doubles the wait for the next."""

    now: Callable[[], float] = time.monotonic
    wrong: int = 0
    until: float = 0.0

    def look(self) -> None:
        """Raises HTTPException 429 while nobody may try."""
        left = math.ceil(self.until - self.now())
        if left > 0:
            raise HTTPException(429, f"Too many wrong passwords. Try again in {left} s.")

    def note(self, right: bool) -> None:
        self.wrong = 0 if right else self.wrong + 1
        if self.wrong >= FREE_TRIES:
            self.until = self.now() + min(2 ** (self.wrong - FREE_TRIES + 1), LONGEST_WAIT_S)


@dataclass(frozen=True)
class Keys:
    """Secrets of one start: `key` opens the page, `form` goes with every form. With a `password` the key is
    given out for it, and `hosts` are the names the page answers to ("127.0.0.1:4321").
    """

    hosts: frozenset[str]
    password: str = ""
    key: str = field(default_factory=lambda: secrets.token_hex(24))
    form: str = field(default_factory=lambda: secrets.token_hex(24))
    patience: Patience = field(default_factory=Patience)

    @property
    def cookie(self) -> str:
        """Cookies are shared by all ports of a host, so the port is in the name."""
        return f"optimiser-{min(self.hosts).rpartition(':')[2]}"

    def opens(self, given: str) -> bool:
        return hmac.compare_digest(given.encode(), self.key.encode())

    def fits(self, given: str) -> bool:
        return hmac.compare_digest(given.encode(), self.form.encode())

    def knows(self, word: str) -> bool:
        """Whether it is the password. Raises HTTPException 429 after too many wrong ones."""
        self.patience.look()
        right = bool(self.password) and hmac.compare_digest(word.encode(), self.password.encode())
        self.patience.note(right)
        return right


class Guard:
    """Refuses what does not come from the page itself, and sends the safety headers with every answer.

    `answered` is set once something was answered.
    """

    def __init__(self, app: ASGIApp, keys: Keys) -> None:
        self._app, self._keys = app, keys
        self.answered = threading.Event()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope, headers)

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                out = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    out.setdefault(name, value)
                out.setdefault("content-security-policy", CSP)
            await send(message)

        if refusal is not None:
            await refusal(scope, receive, sending)
            return
        await self._app(scope, _counted(receive), sending)
        self.answered.set()

    def _refusal(self, scope: Scope, headers: Headers) -> Response | None:
        if headers.get("host", "") not in self._keys.hosts:
            return _told("This name is not the page's own.", 421)
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return _told("Only reading and posting are answered.", 405)
        if scope["method"] == "POST" and not self._own(headers):
            return _told("This did not come from the page itself.", 403)
        if _length(headers) > MOST_BYTES:
            return _told(TOO_MUCH, 413)
        return self._keyless(scope, headers)

    def _own(self, headers: Headers) -> bool:
        origin = headers.get("origin")
        if origin is not None and origin.partition("://")[2] not in self._keys.hosts:
            return False
        return headers.get("sec-fetch-site", "same-origin") in ("same-origin", "none")

    def _keyless(self, scope: Scope, headers: Headers) -> Response | None:
        """The key in the address becomes a cookie; without either nothing of the folder is shown."""
        path, keys = scope["path"], self._keys
        if path == ENTER or path.startswith(STATIC):
            return None
        jar: SimpleCookie = SimpleCookie()
        try:
            jar.load(headers.get("cookie", ""))
        except Exception:  # a broken cookie is no cookie
            jar = SimpleCookie()
        if keys.cookie in jar and keys.opens(jar[keys.cookie].value):
            return None
        given = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("key", [""])[0]
        if scope["method"] != "POST" and not keys.password and given and keys.opens(given):
            return entered(keys, path)
        if keys.password:
            return RedirectResponse(ENTER, 303)
        return _told("Open the address that the program printed: it carries the key of this start.", 403)


def entered(keys: Keys, path: str = "/") -> Response:
    """To the page, with the key as a cookie that no script and no other site can use."""
    answer = RedirectResponse(path, 303)
    answer.set_cookie(keys.cookie, keys.key, httponly=True, samesite="strict")
    return answer


def _told(text: str, status: int) -> Response:
    return PlainTextResponse(text + "\n", status)


def _length(headers: Headers) -> int:
    given = headers.get("content-length", "0")
    plain = given.isascii() and given.isdigit() and len(given) < 15
    return int(given) if plain else MOST_BYTES + 1


def _counted(receive: Receive) -> Receive:
    seen = 0

    async def counting() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > MOST_BYTES:
            raise HTTPException(413, TOO_MUCH)
        return message

    return counting
