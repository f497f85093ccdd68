"""Readings: a file is shown as it was understood, and then kept or not."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.knowledge.apart import look_of
from inkaccord.recording.sheet import take_in_sheet, understand
from inkaccord.report.screen import ScreenColour, screen_colours
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.columns import parse_columns
from inkaccord.sheets.reading.formats import ReadingsTaken
from inkaccord.shelf.store import Shelf
from inkaccord.web.rendering import page
from inkaccord.web.studio import MOST_TYPED, ShelfOnPage, asked_shelf
from inkaccord.web.things import asked_things, keep_things, show_things, things_on
from inkaccord.web.typed import typed_date, typed_day, typed_into
from inkaccord.web.undoing import Doing, done_on_shelf, undos
from inkaccord.web.uploads import uploads_of
from inkaccord.words import counted, joined

MOST_FILES = 40
"""Of one sheet: a sheet of several pages may come as a file or a scan of each."""


TOLD = ("columns", "beside", "by", "on")
"""What a person says with the files: names of columns, what lies beside it, who read it, when."""


@dataclass(frozen=True)
class ReadSwatch:
    """A swatch as it was expected beside how it was read."""

    id: str
    expected: ScreenColour
    read: ScreenColour
    apart: float
    """ΔE00 between both."""


def read_page(request: Request) -> Response:
    """Ask for what the instrument or the scanner wrote."""
    here = asked_shelf(request)
    with Shelf.open(here.place) as shelf:
        return _asking(here, _sheet(request, shelf), shelf, dict.fromkeys(TOLD, ""))


async def understood(request: Request) -> Response:
    """Show what was understood of a dropped file, and keep nothing yet."""
    here, uploads = asked_shelf(request), uploads_of(request)
    async with request.form(max_files=MOST_FILES) as form:
        things, told = asked_things(here, form), _told(form)
        word = await uploads.take(form.getlist("file"))
    return await run_in_threadpool(_understood, request, here, word, told, things)


async def keep(request: Request) -> Response:
    """Keep what was shown, all of it."""
    here, uploads = asked_shelf(request), uploads_of(request)
    form = await request.form()
    word, at = str(form.get("file", "")), _at(here, request)
    things = asked_things(here, form)
    try:
        kept, told = None, _told(form)
        if form.get("do") == "keep" and things:
            look = f"{here.at}/look/{request.path_params['sheet']}"
            doing = await run_in_threadpool(keep_things, request, here, word, things, told, look)
            return RedirectResponse(look, 303) if doing is None else undos(request).done(doing)
        if form.get("do") == "keep":
            kept = await run_in_threadpool(_keep, request, here, word, told)
    except InkaccordError as problem:
        return await run_in_threadpool(_again, request, here, problem, told)
    finally:
        uploads.discard(word)
    if kept is None:
        return RedirectResponse(at, 303)
    return undos(request).done(kept)


def _understood(
    request: Request,
    here: ShelfOnPage,
    word: str,
    told: Mapping[str, str],
    things: Sequence[str],
) -> Response:
    uploads = uploads_of(request)
    with Shelf.open(here.place) as shelf:
        sheet = _sheet(request, shelf)
        try:
            if things:
                return show_things(request, here, shelf, word, things, told)
            taken = understand(
                shelf,
                sheet,
                uploads.find(word),
                here.plugins.readings_formats(),
                parse_columns([told["columns"]]),
                order=here.known,
                beside=told["beside"] or None,
            )
        except InkaccordError as problem:
            uploads.discard(word)
            return _asking(here, sheet, shelf, told, uploads.as_dropped(problem.findings))
        swatches = _beside(sheet, taken, shelf)
        is_first = not shelf.readings_of(sheet.pair)
    return page(
        "understood.html",
        here=here,
        sheet=sheet,
        word=word,
        told=told,
        name=joined([path.name for path in uploads.find(word)]),
        taken=taken,
        findings=uploads.as_dropped(taken.findings),
        swatches=swatches,
        is_first=is_first,
    )


def _keep(request: Request, here: ShelfOnPage, word: str, told: Mapping[str, str]) -> Doing | None:
    """Keep the files of a form; None where all was kept before."""
    with Shelf.open(here.place, by=told["by"]) as shelf, shelf.noting() as noted:
        taken = take_in_sheet(
            shelf,
            request.path_params["sheet"],
            uploads_of(request).find(word),
            today=typed_day(told["on"]),
            read_on=typed_date(told["on"]),
            formats=here.plugins.readings_formats(),
            columns=parse_columns([told["columns"]]),
            order=here.known,
            beside=told["beside"] or None,
            by=told["by"],
        )
    words = f"{counted(taken.readings, 'reading')} kept."
    return done_on_shelf(words, _at(here, request), here.place, noted) if noted else None


def _told(form: FormData) -> dict[str, str]:
    return typed_into(form, dict.fromkeys(TOLD, MOST_TYPED))


def _again(
    request: Request, here: ShelfOnPage, problem: InkaccordError, told: Mapping[str, str]
) -> Response:
    findings = uploads_of(request).as_dropped(problem.findings)
    with Shelf.open(here.place) as shelf:
        return _asking(here, _sheet(request, shelf), shelf, told, findings)


def _asking(
    here: ShelfOnPage,
    sheet: SampleSheet,
    shelf: Shelf,
    told: Mapping[str, str],
    findings: Sequence[Diagnostic] = (),
) -> Response:
    """Ask for files, and say what was wrong with the last ones."""
    return page(
        "read.html",
        409 if findings else 200,
        here=here,
        sheet=sheet,
        told=told,
        findings=findings,
        things=things_on(here, sheet),
        others=[it for it in shelf.drawn_sheets(read=True) if it.id != sheet.id],
    )


def _beside(sheet: SampleSheet, taken: ReadingsTaken, shelf: Shelf) -> list[ReadSwatch]:
    """Return every swatch that was read, the farthest from what was expected first."""
    model = look_of(sheet, shelf.readings_of(sheet.pair))
    read = {it.swatch: it.lab for it in taken.readings.readings}
    about = [it for it in sheet.swatches if it.id in read]
    expected = model.predict_lab(np.array([it.build.values for it in about]))
    labs = np.array([read[it.id] for it in about])
    found = zip(
        about,
        screen_colours(expected),
        screen_colours(labs),
        delta_e_2000(expected, labs),
        strict=True,
    )
    swatches = [ReadSwatch(it.id, one, other, float(apart)) for it, one, other, apart in found]
    return sorted(swatches, key=lambda it: -it.apart)


def _at(here: ShelfOnPage, request: Request) -> str:
    """Return the page that it came from: the order's, or without one the sheet's own."""
    return here.at or f"/shelf/{request.path_params['sheet']}"


def _sheet(request: Request, shelf: Shelf) -> SampleSheet:
    return shelf.sheet(request.path_params["sheet"])
