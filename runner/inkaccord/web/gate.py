"""Who may speak to the page: this machine's own browser, with the key of this start.

A page on loopback can be reached by every page that a browser has open, and by every program. So
a request needs our own name as its Host (a foreign name may be made to lead here: DNS rebinding),
the key in a cookie, and where it changes something our own page as its Origin. Other devices of the
house get in only where the page was opened for them, each by a key of its own.
"""

import secrets
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders, QueryParams
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from inkaccord.web.joining import Joining, is_loopback, is_of_house

MOST_BYTES = 256 * 1024 * 1024
"""The most that one request may carry."""
JOIN = "/join"
"""Where another device of the house says the code."""
_SAFE = {"GET", "HEAD"}
_OWN = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; frame-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
MADE = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'; "
    "sandbox allow-same-origin allow-popups"
)
"""The policy of HTML that a run made: it has its styles inside, and may run nothing."""
_HEADERS = {
    "Content-Security-Policy": _OWN,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


@dataclass(frozen=True)
class Start:
    """The one address of a start, and its key."""

    port: int
    joining: Joining | None = None
    """How other devices of the house join; None for a page of this machine alone."""
    key: str = field(default_factory=lambda: secrets.token_urlsafe(32))

    @property
    def hosts(self) -> frozenset[str]:
        """What a browser of this machine calls it."""
        return frozenset(f"{name}:{self.port}" for name in ("127.0.0.1", "localhost", "[::1]"))

    @property
    def house(self) -> frozenset[str]:
        """What a browser of another device calls it; nothing where none may join."""
        joining = self.joining
        return (
            frozenset(f"{it}:{self.port}" for it in joining.addresses) if joining else frozenset()
        )

    @property
    def cookie(self) -> str:
        """Name of the cookie: two pages at once don't take each other's."""
        return f"inkaccord-{self.port}"

    @property
    def address(self) -> str:
        """Where a browser comes in."""
        return f"http://127.0.0.1:{self.port}/?key={self.key}"

    def takes(self, key: str | None) -> bool:
        """Tell whether a key is this start's."""
        return key is not None and secrets.compare_digest(key.encode(), self.key.encode())

    def lets_in(self, key: str | None, *, from_house: bool) -> bool:
        """Tell whether a key opens the page: at home this start's, elsewhere a joined device's."""
        if not from_house:
            return self.takes(key)
        return self.joining is not None and self.joining.takes(key)


class Gate:
    """Lets through what :class:`Start` allows, and says on every answer what a browser may do."""

    def __init__(self, app: ASGIApp, start: Start) -> None:
        self._app, self._start = app, start

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it before anything of it was read."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers, start = Headers(scope=scope), self._start
        from_house = headers.get("host") in start.house
        answer: ASGIApp
        if not (from_house or headers.get("host") in start.hosts) or not _may_ask(
            scope, from_house=from_house
        ):
            answer = PlainTextResponse("This page is not known by that name.", 421)
        elif not from_house and start.takes(QueryParams(scope["query_string"]).get("key")):
            answer = RedirectResponse(scope["path"], 303)
            answer.set_cookie(start.cookie, start.key, httponly=True, samesite="strict")
        elif not (
            start.lets_in(_cookies(headers).get(start.cookie), from_house=from_house)
            or (from_house and _is_for_joining(scope["path"]))
        ):
            answer = _not_let_in(from_house=from_house)
        elif scope["method"] not in _SAFE and not _is_own(headers):
            answer = PlainTextResponse("Another page asked for this; nothing was done.", 403)
        elif _length(headers) > MOST_BYTES:
            answer = PlainTextResponse("That is too much at once; nothing was kept.", 413)
        else:
            answer = self._app
        await answer(scope, _bounded(receive), _with_headers(send))


def _may_ask(scope: Scope, *, from_house: bool) -> bool:
    """Tell whether who asks is where its name says: at home, or in the house."""
    client = (scope.get("client") or ("",))[0]
    return is_of_house(client) if from_house else is_loopback(client)


def _is_for_joining(path: str) -> bool:
    """Tell whether a path is the page to join on, or what that page looks like."""
    return path in {JOIN, "/style.css"} or path.startswith("/static/")


def _not_let_in(*, from_house: bool) -> ASGIApp:
    if from_house:
        return RedirectResponse(JOIN, 303)
    return PlainTextResponse("Open the page by the address that 'inkaccord open' printed.", 403)


def _is_own(headers: Headers) -> bool:
    return urlsplit(headers.get("origin", "")).netloc == headers.get("host")


def _length(headers: Headers) -> int:
    told = headers.get("content-length", "0")
    return int(told) if told.isdecimal() and len(told) < 15 else MOST_BYTES + 1


def _cookies(headers: Headers) -> Mapping[str, str]:
    try:
        return {name: it.value for name, it in SimpleCookie(headers.get("cookie", "")).items()}
    except CookieError:
        return {}


def _bounded(receive: Receive) -> Receive:
    """Count what comes: a request in chunks does not say how long it will be."""
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        return message if seen <= MOST_BYTES else {"type": "http.disconnect"}

    return counted


def _with_headers(send: Send) -> Callable[[Message], Awaitable[None]]:
    async def told(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return told
