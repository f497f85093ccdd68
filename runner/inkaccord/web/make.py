"""A sheet that a person asks for by hand: the controls alone, or a swatch set; its mask."""

from collections.abc import Mapping, Sequence

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response

from inkaccord.colour.builds import Drive
from inkaccord.colour.lab import Lab
from inkaccord.colour.sampling.ranges import parse_range
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.layout.punching import Holes
from inkaccord.order.aperture import check_aperture
from inkaccord.order.keeping import Keep
from inkaccord.planning.on_request import (
    KeepingAsked,
    MadeByHand,
    PageAsked,
    SetAsked,
    SheetAsked,
    make_controls,
    make_mask,
    make_swatches,
)
from inkaccord.recording.asked import AskedShelf
from inkaccord.sheets.drawing.mask import draw_mask
from inkaccord.shelf.changes import Change
from inkaccord.shelf.store import Shelf
from inkaccord.units import parse_length
from inkaccord.web.rendering import page
from inkaccord.web.studio import ShelfOnPage, asked_shelf
from inkaccord.web.typed import (
    typed,
    typed_choice,
    typed_day,
    typed_into,
    typed_number,
    typed_pair,
    typed_size,
)
from inkaccord.web.undoing import Doing, done_on_shelf, undos
from inkaccord.web.uploads import uploads_of

PAGE = ("size", "margin", "bleed")
FIELDS = ("pair", *PAGE, "keep", "holes", "card", "aperture", "drive",
          "count", "apart", "hues", "near", "reach", "name", "add_to", "whole", "ink_limit",
          "paper", "on")  # fmt: skip
MOST = 120
"""Characters of a field."""
MOST_SWATCHES = 5000
SWATCHES = "swatches"


def make_page(request: Request) -> Response:
    """Ask for which pair a sheet is, and what is on it."""
    return _asking(request, {"pair": request.query_params.get("pair", "")[:MOST]})


async def make(request: Request) -> Response:
    """Make a sheet, keep it on the shelf, and show its files."""
    form = await request.form()
    said = typed_into(form, dict.fromkeys(FIELDS, MOST))
    do = str(form.get("do", ""))
    return await run_in_threadpool(_made, request, said, do)


def made_file(request: Request) -> Response:
    """Send a file of a sheet that was made a while ago."""
    name = request.path_params["name"]
    try:
        files = uploads_of(request).find(request.path_params["word"])
    except OrderError:
        files = []
    path = next((it for it in files if it.name == name), None)
    if path is None:
        raise OrderError.of(
            "no-file",
            "this file is not here any more",
            hint="make the sheet again, or print it again from its own page on the shelf",
        )
    kind = "inline" if path.suffix == ".pdf" else "attachment"
    return FileResponse(path, filename=name, content_disposition_type=kind)


def mask(request: Request) -> Response:
    """Send a mask through which a thing is held against a sheet, as ``inkaccord mask`` draws it."""
    here = asked_shelf(request)
    asked = _page_asked(typed_into(request.query_params, dict.fromkeys(PAGE, MOST)))
    with Shelf.open(here.place) as shelf:
        sheet = shelf.sheet(request.path_params["sheet"])
        made, _ = make_mask(AskedShelf(shelf, here.known), sheet, asked)
    named = {"Content-Disposition": f'inline; filename="mask-{sheet.id}.pdf"'}
    return Response(draw_mask(made), media_type="application/pdf", headers=named)


def _made(request: Request, said: Mapping[str, str], do: str) -> Response:
    here = asked_shelf(request)
    try:
        asked = _sheet_asked(said)
        which = _set_asked(said) if do == SWATCHES else None
        with Shelf.open(here.place) as shelf, shelf.noting() as noted:
            source = AskedShelf(shelf, here.known)
            making = (source, here.plugins.draw_sheet, asked)
            made = make_controls(*making) if which is None else make_swatches(*making, which)
    except InkaccordError as problem:
        return _asking(request, said, problem.findings)
    return page(
        "made.html",
        here=here,
        made=made,
        word=uploads_of(request).hold(made.files),
        done=_done(request, here, made, noted),
    )


def _done(
    request: Request, here: ShelfOnPage, made: MadeByHand, noted: Sequence[Change]
) -> tuple[str, Doing] | None:
    """Remember how a new sheet is taken back; None for one that was on the shelf before."""
    if not made.new:
        return None
    words = f"Sheet {made.sheet.id} is on the shelf."
    doing = done_on_shelf(words, f"{here.at}/shelf", here.place, noted)
    return undos(request).keep(doing), doing


def _sheet_asked(said: Mapping[str, str]) -> SheetAsked:
    """Return what a form asks for. Raises OrderError ``no-pair``, ``not-so``."""
    return SheetAsked(
        typed_pair(said["pair"]),
        typed_day(said["on"]),
        _page_asked(said),
        KeepingAsked(
            typed_choice(said["keep"], Keep), typed_choice(said["holes"], Holes),
            typed_size(said["card"]),
        ),
        typed(said["aperture"], lambda text: check_aperture(parse_length(text))),
        typed_choice(said["drive"], Drive),
    )  # fmt: skip


def _page_asked(said: Mapping[str, str]) -> PageAsked:
    return PageAsked(
        typed_size(said["size"]),
        typed(said["margin"], parse_length),
        typed(said["bleed"], parse_length),
    )


def _set_asked(said: Mapping[str, str]) -> SetAsked:
    """Return which swatches a form asks for. Raises OrderError ``not-so``, and of a range."""
    count = typed_number(said["count"], "how many swatches", 1, MOST_SWATCHES)
    return SetAsked(
        count=None if count is None else int(count),
        apart=typed_number(said["apart"], "how far apart, ΔE00,", 0.01, 100),
        hues=parse_range(said["hues"]) if said["hues"] else None,
        near=said["near"] or None,
        reach=typed_number(said["reach"], "the reach, ΔE00,", 0.01, 60) or SetAsked.reach,
        name=said["name"] or None,
        add_to=said["add_to"] or None,
        whole=bool(said["whole"]),
        ink_limit=typed_number(said["ink_limit"], "total ink, percent,", 100, 400),
        paper=typed(said["paper"], _paper),
    )


def _paper(text: str) -> Lab:
    try:
        lightness, a, b = (float(it) for it in text.replace(",", " ").split())
    except ValueError:
        raise ValueError(f"a paper is three numbers, as in '92 1 8', and not {text!r}") from None
    return lightness, a, b


def _asking(
    request: Request, said: Mapping[str, str], findings: Sequence[Diagnostic] = ()
) -> Response:
    here = asked_shelf(request)
    return page(
        "make.html",
        409 if findings else 200,
        here=here,
        pairs=[str(it) for it in here.pairs()],
        said=dict.fromkeys(FIELDS, "") | dict(said),
        longest=MOST,
        most=MOST_SWATCHES,
        holes=[(it.value, it.value) for it in Holes],
        findings=findings,
    )
