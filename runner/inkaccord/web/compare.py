"""Two sheets on one glass: what a scan of both tells is shown, and then kept as looks, or not."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.recording.comparing import see_comparison, take_in_comparison
from inkaccord.report.screen import ScreenColour, screen_colours
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.comparing import BroughtTogether, SwatchesCompared
from inkaccord.shelf.store import Shelf
from inkaccord.web.looks import Coloured, coloured_by, kept_looks
from inkaccord.web.rendering import page
from inkaccord.web.studio import asked_shelf
from inkaccord.web.typed import typed_day, typed_into
from inkaccord.web.undoing import Doing, undos
from inkaccord.web.uploads import uploads_of

ASKED = ("one", "other", "by", "on")


@dataclass(frozen=True)
class PairOfSwatches:
    """Two swatches of one build, about as the scanner saw them."""

    compared: SwatchesCompared
    colours: tuple[ScreenColour, ScreenColour]


@dataclass(frozen=True)
class Together:
    """A colour that was brought together, and the swatches on the other sheet most like it."""

    brought: BroughtTogether
    nearest: Coloured


def compare_page(request: Request) -> Response:
    """Ask for two sheets and the scan that shows both."""
    query = request.query_params
    asked = {name: query.get(name, "") for name in ASKED}
    return _asking(request, asked)


async def compared(request: Request) -> Response:
    """Show what a scan of two sheets tells, and keep nothing yet."""
    uploads = uploads_of(request)
    async with request.form(max_files=1) as form:
        asked = _asked(form)
        try:
            word = await uploads.take(form.getlist("file"))
        except InkaccordError as problem:
            return await run_in_threadpool(_asking, request, asked, problem.findings)
    return await run_in_threadpool(_compared, request, asked, word)


async def keep(request: Request) -> Response:
    """Keep what was shown, or discard it."""
    uploads = uploads_of(request)
    form = await request.form()
    word, asked, doing = str(form.get("file", "")), _asked(form), None
    try:
        if form.get("do") == "keep":
            doing = await run_in_threadpool(_keep, request, asked, word)
    except InkaccordError as problem:
        findings = uploads.as_dropped(problem.findings)
        return await run_in_threadpool(_asking, request, asked, findings)
    finally:
        uploads.discard(word)
    at = f"{asked_shelf(request).at}/shelf"
    return RedirectResponse(at, 303) if doing is None else undos(request).done(doing)


def _compared(request: Request, asked: Mapping[str, str], word: str) -> Response:
    here, uploads = asked_shelf(request), uploads_of(request)
    with Shelf.open(here.place) as shelf:
        try:
            found = see_comparison(
                shelf,
                asked["one"],
                asked["other"],
                uploads.find(word)[0],
                today=typed_day(asked["on"]),
                order=here.known,
                by=asked["by"],
            )
        except InkaccordError as problem:
            uploads.discard(word)
            return _asking(request, asked, uploads.as_dropped(problem.findings))
        together = _together(shelf, found.sheets[1], found.compared.together)
    swatches = sorted(found.compared.swatches, key=lambda it: -it.delta_e_00)
    seen = screen_colours(np.array([it.seen for it in swatches]))
    return page(
        "compared.html",
        here=here,
        asked=asked,
        word=word,
        name=uploads.find(word)[0].name,
        found=found,
        together=together,
        swatches=[
            PairOfSwatches(one, (seen[2 * at], seen[2 * at + 1])) for at, one in enumerate(swatches)
        ],
        findings=uploads.as_dropped(found.compared.findings),
    )


def _keep(request: Request, asked: Mapping[str, str], word: str) -> Doing | None:
    here, file = asked_shelf(request), uploads_of(request).find(word)[0]
    with Shelf.open(here.place, by=asked["by"]) as shelf:
        other = shelf.sheet(asked["other"]).id
        taking = partial(
            take_in_comparison,
            shelf,
            asked["one"],
            other,
            file,
            today=typed_day(asked["on"]),
            order=here.known,
            by=asked["by"],
        )
        return kept_looks(here.place, shelf, other, taking, f"{here.at}/shelf/{other}")


def _together(
    shelf: Shelf, sheet: SampleSheet, brought: Sequence[BroughtTogether]
) -> list[Together]:
    if not brought:
        return []
    coloured = coloured_by(shelf, sheet)
    return [Together(one, coloured(one.swatches)) for one in brought]


def _asking(
    request: Request,
    asked: Mapping[str, str],
    findings: Sequence[Diagnostic] = (),
) -> Response:
    here = asked_shelf(request)
    with Shelf.open(here.place) as shelf:
        sheets = shelf.drawn_sheets()
    return page(
        "compare.html",
        409 if findings else 200,
        here=here,
        asked=asked,
        sheets=sheets,
        findings=findings,
    )


def _asked(form: FormData) -> dict[str, str]:
    return typed_into(form, dict.fromkeys(ASKED, 80))
