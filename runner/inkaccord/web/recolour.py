"""One PDF: its colours with their area, and a copy in which some of them are others."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.artwork.inventory.inventory import ColourEntry, inventory
from inkaccord.artwork.inventory.nearest import ColourStanding, Nearest
from inkaccord.artwork.inventory.page import inventory_page
from inkaccord.artwork.inventory.places import SeenPage
from inkaccord.artwork.one_file import Asked, ProvedCopy, proved_copy
from inkaccord.artwork.recolouring.recolour import RecolourOptions
from inkaccord.artwork.swaps import OverprintMode, ProfiledMode, SpotMode, TintMode
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.files import read_bytes, safe_name
from inkaccord.foresight.one_file import FileColours, file_colours
from inkaccord.foresight.palette import paints_of
from inkaccord.knowledge.new_colours import asked_swaps
from inkaccord.web.artworks import clicked, drawn, looks_of, page_in, said_of_place, sizes_of
from inkaccord.web.gate import MADE
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, Studio, shelf_about
from inkaccord.web.uploads import HELD, nothing_dropped, uploads_of

BECOMES = "becomes/"
"""What the names of the fields begin with that say what a colour becomes."""
AT, SHOW, TRY = "at/", "show", "try"
MOST_TYPED, MOST_TEXT, MOST_ROWS, MOST_FIELDS = 200, 4000, 300, 2000


@dataclass(frozen=True)
class ColourRow:
    """A colour of the file.

    Attributes
    ----------
    paints
        What may be swapped here: the colour, or the stops of a gradient that stand nowhere else.
    looks
        How it looks on a screen, ``#2F5D50``, a gradient from stop to stop; empty for what is not
        on the first pages.
    is_own
        Which of an order's colours it is, in words; empty without one.
    """

    entry: ColourEntry
    paints: tuple[Paint, ...]
    looks: tuple[str, ...]
    is_own: str

    @property
    def shown_by(self) -> str:
        """The colour by which the pictures show it; empty where none names it."""
        return str(next(iter(paints_of(self.entry.colour)), ""))


def recolour_page(request: Request) -> Response:
    """Ask for a PDF."""
    return _shown(request, {"order": request.query_params.get("order", "")})


async def change(request: Request) -> Response:
    """Show the colours of a PDF, or what it would become."""
    async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
        texts = {name: it for name, it in form.items() if isinstance(it, str)}
        most = {"swaps": MOST_TEXT}
        typed = {name: it[: most.get(name, MOST_TYPED)] for name, it in texts.items()}
        typed[HELD] = await uploads_of(request).of_form(form, "file")
    return await run_in_threadpool(_changed, request, typed)


def picture(request: Request) -> Response:
    """Send the picture of a page of a file that lies here."""
    return drawn(_page(request), request)


def pointed_at(request: Request) -> Response:
    """Say which colour stands at a place."""
    return said_of_place(_page(request), request)


def copy(request: Request) -> Response:
    """Send a copy that was proved."""
    path = _file(request)
    named = {"Content-Disposition": f'attachment; filename="{path.name}"'}
    return Response(read_bytes(path), media_type="application/pdf", headers=named)


def colours_file(request: Request) -> Response:
    """Send the page that ``inkaccord colours --picture`` writes."""
    path, order = _file(request), _order(request, request.query_params.get("order", ""))
    plain = ProfiledMode.PLAIN if request.query_params.get("plain") else None
    found = _colours(path, order, plain)
    text = inventory_page(path, found.found, nearest=found.nearest)
    return Response(text, media_type="text/html", headers={"Content-Security-Policy": MADE})


def _changed(request: Request, typed: Mapping[str, str]) -> Response:
    try:
        if not typed[HELD]:
            raise nothing_dropped()
        if typed.get("do") != TRY:
            return _shown(request, typed)
        path = uploads_of(request).find(typed[HELD])[0]
        made = _copy(request, path, typed)
    except InkaccordError as problem:
        return _shown(request, typed, findings=problem.findings)
    name = f"{safe_name(path.stem)}-recoloured.pdf"
    word = uploads_of(request).hold({name: made.made.data}) if made.is_good else ""
    return _shown(request, typed, made=made, word=word)


def _copy(request: Request, path: Path, typed: Mapping[str, str]) -> ProvedCopy:
    """Return the copy that a form asks for. Raises InkaccordError."""
    new = {name: text.strip() for name, text in typed.items() if name.startswith(BECOMES)}
    texts = [f"{name.removeprefix(BECOMES)} = {new[name]}" for name in new if new[name]]
    texts += [it.strip() for it in typed.get("swaps", "").splitlines() if it.strip()]
    if not texts:
        raise OrderError.of(
            "no-swap",
            "nothing is to be another colour yet",
            hint="write beside a colour what it becomes: cmyk 78 12 55 41",
        )
    shelf = shelf_about(request, _order(request, typed.get("order", "")))
    swaps, said = asked_swaps(texts, lambda _: shelf.opened())
    options = RecolourOptions(
        spots=SpotMode.KEEP if typed.get("keep_spots") else SpotMode.PROCESS,
        tints=TintMode.OFF if typed.get("no_tints") else TintMode.FOLLOW,
        overprint=OverprintMode.OFF if typed.get("overprint_off") else OverprintMode.REPORT,
        profiled=ProfiledMode.PLAIN if typed.get("plain") else ProfiledMode.AS_PROFILED,
    )
    asked = Asked(
        swaps=tuple(swaps),
        options=options,
        black_neutrals=bool(typed.get("black")),
        break_signature=bool(typed.get("break_signature")),
    )
    return proved_copy(read_bytes(path), asked, said)


def _shown(
    request: Request,
    typed: Mapping[str, str],
    *,
    findings: Sequence[Diagnostic] = (),
    made: ProvedCopy | None = None,
    word: str = "",
) -> Response:
    uploads, studio = uploads_of(request), _studio(request)
    held, colours, path = typed.get(HELD, ""), None, None
    if held:
        try:
            path = uploads.find(held)[0]
            plain = ProfiledMode.PLAIN if typed.get("plain") else None
            colours = _colours(path, _order(request, typed.get("order", "")), plain)
        except InkaccordError as problem:  # a file that can't be used is dropped anew
            findings, held = findings or problem.findings, ""
    refused = bool(findings)
    rows = _rows(colours, path) if colours and path else []
    pages = sizes_of(colours.found) if colours else ()
    return page(
        "recolour.html",
        409 if refused else 200,
        typed=typed,
        orders=[it for it in studio.orders() if it.trouble is None],
        held=held,
        name=path.name if path else "",
        colours=colours,
        rows=rows[:MOST_ROWS],
        more=max(0, len(rows) - MOST_ROWS),
        pages=pages,
        show=clicked(path, pages, AT, typed) or typed.get(SHOW, "") if path and colours else "",
        findings=uploads.as_dropped(findings),
        made=made,
        word=word,
        said=uploads.as_dropped(made.made.findings) if made else (),
        BECOMES=BECOMES,
    )


def _rows(colours: FileColours, path: Path) -> list[ColourRow]:
    """Return the colours, the largest first; each that can be swapped has one field."""
    judged: Sequence[Nearest | None] = colours.nearest or [None] * len(colours.shown.colours)
    flat = [it for it in colours.shown.colours if not it.colour.parts]
    asked = {paint for it in flat for paint in paints_of(it.colour)}
    given: set[Paint] = set()
    rows: list[ColourRow] = []
    entries = zip(colours.shown.colours, colours.found.colours, judged, strict=True)
    for entry, as_found, near in entries:
        own = [it for it in paints_of(entry.colour) if it not in given]
        if entry.colour.parts:
            own = [it for it in own if it not in asked]
        given |= set(own)
        looks = looks_of(path, as_found.colour)
        rows.append(ColourRow(entry, tuple(own), looks, _own(near)))
    return rows


def _own(near: Nearest | None) -> str:
    """Return which of an order's colours one is, in words."""
    if near is None or near.standing in {ColourStanding.KEPT, ColourStanding.UNKNOWN}:
        return ""
    if near.tint_percent is not None:
        return f"{near.brand} {near.tint_percent:.0f} %"
    return f"nearly {near.brand}" if near.standing is ColourStanding.NEAR_MISS else str(near.brand)


_looked_through = lru_cache(maxsize=24)(inventory)
"""A dropped file stays as it is."""


def _colours(path: Path, order: OrderOnPage | None, profiled: ProfiledMode | None) -> FileColours:
    asked = order.loaded.order if order is not None else None
    return file_colours(path, asked, profiled, look=_looked_through)


def _studio(request: Request) -> Studio:
    studio: Studio = request.app.state.studio
    return studio


def _order(request: Request, key: str) -> OrderOnPage | None:
    """Return the order that was chosen. Raises OrderError for one that is not there any more."""
    return _studio(request).order(key) if key else None


def _file(request: Request) -> Path:
    return uploads_of(request).find(request.path_params["word"])[0]


def _page(request: Request) -> SeenPage:
    return page_in(_file(request), request.path_params["page"])
