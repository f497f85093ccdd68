"""Commands that a mend names, as the pages that do the same: whoever has the page types nothing."""

import re
from contextvars import ContextVar

from markupsafe import Markup, escape
from starlette.types import ASGIApp, Receive, Scope, Send

from inkaccord.shelf.place import SHELF_OF_ITS_OWN
from inkaccord.words import visible

_AT: ContextVar[str] = ContextVar("at", default="")
_ORDER = re.compile(r"/order/[^/]+")
_COMMAND = re.compile(
    r"(?:(?P<quote>')|(?<!'))inkaccord (?P<name>[a-z]+)"
    r"(?P<more>(?:[ ](?:'[^']*'|[^\s',;]+))*)(?(quote)')"
)
_SHEET = re.compile(r"[A-Z0-9]{3}-[A-Z0-9]{3}")
_SHELF_PAGES = {
    "list": ("/shelf", "Shelf"),
    "export": ("/copies", "Save all of it as text"),
    "import": ("/another", "Text of another shelf"),
    "back-up": ("/copies", "Copies of the shelf"),
    "restore": ("/copies", "Copies of the shelf"),
    "verify": ("/copies", "Copies of the shelf"),
}
_PAGES = {
    "swatches": ("/make", "Make a sheet"),
    "controls": ("/make", "Make a sheet"),
    "compare": ("/compare", "Compare two sheets"),
    "book": ("/book", "Book of colours"),
    "ask": ("/ask", "Ask for a colour"),
}
"""Of an order, and of the studio without one."""
_OWN = {
    "colours": ("/recolour", "Colours of one PDF"),
    "recolour": ("/recolour", "Colours of one PDF"),
    "new": ("/begin", "A new order"),
}
"""Of the studio alone."""
_OF_ORDER = {
    "check": ("/pieces", "Pieces and colours"),
    "cost": ("/cost", "What it costs"),
    "diff": ("/differences", "What was changed"),
    **dict.fromkeys(("run", "samples", "sent", "approve", "message"), ("", "the order’s page")),
}


class Doors:
    """Lets the mends on each page lead to pages of the order that its address names."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        before = _AT.set(order_at(scope.get("path", "")))
        try:
            await self._app(scope, receive, send)
        finally:
            _AT.reset(before)


def order_at(path: str) -> str:
    """Return what the addresses of the order begin with that an address is of; else nothing."""
    found = _ORDER.match(path)
    return found[0] if found else ""


def with_doors(text: str) -> Markup:
    """Return a mend with a link for each command that a page does as well; the others stay."""
    at, end, text = _AT.get(), 0, text.replace(SHELF_OF_ITS_OWN, "")
    parts: list[Markup] = []
    for found in _COMMAND.finditer(text):
        door = _door(at, found["name"], found["more"].split())
        if door is not None:
            address, words = door
            link = Markup('<a href="{}">{}</a>').format(address, words)
            parts += [escape(visible(text[end : found.start()])), Markup("‘{}’").format(link)]
            end = found.end()
    return Markup().join([*parts, escape(visible(text[end:]))])


def _door(at: str, name: str, more: list[str]) -> tuple[str, str] | None:
    """Return where a page does what a command does, and what it is called there."""
    if name == "record" and "--pair" in more:
        return f"{at}/target", "A target of others"
    sheet = next((it for it in more if _SHEET.fullmatch(it)), None)
    if sheet is not None and (name != "look" or at):
        page = {"record": "read", "look": "look"}.get(name, "shelf")
        words = {"read": "Readings of", "look": "Look at"}.get(page, "Sheet")
        return f"{at}/{page}/{sheet}", f"{words} {sheet if page == 'shelf' else 'sheet ' + sheet}"
    if name in {"record", "look", "mask"}:
        return f"{at}/shelf", "the sheet’s page on the shelf"
    if name == "shelf":
        path, words = _SHELF_PAGES.get(more[0] if more else "", _SHELF_PAGES["list"])
        return at + path, words
    if name in _OWN:
        return _OWN[name]
    if name in _PAGES:
        path, words = _PAGES[name]
        return at + path, words
    if at and name in _OF_ORDER:
        path, words = _OF_ORDER[name]
        return at + path, words
    return None
