"""Things that lie with a sheet in a scan or a photograph: what is found is shown, and then kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import OrderError
from inkaccord.recording.sheet import take_in_sheet
from inkaccord.recording.things import second_opinion, see_things
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.on_glass import FoundOnGlass
from inkaccord.shelf.store import Shelf
from inkaccord.web.looks import Coloured, coloured_by, kept_looks
from inkaccord.web.rendering import page
from inkaccord.web.studio import ShelfOnPage
from inkaccord.web.typed import typed_day
from inkaccord.web.undoing import Doing
from inkaccord.web.uploads import uploads_of
from inkaccord.words import joined

THING = "thing"
"""The field of a form that names a colour whose thing lies there."""


@dataclass(frozen=True)
class ThingSeen:
    """What a picture tells of a thing, and the swatches that look most like it."""

    found: FoundOnGlass
    nearest: Coloured


def things_on(here: ShelfOnPage, sheet: SampleSheet) -> Mapping[str, str]:
    """Return the colours that are matched to a thing and are on a sheet, with the thing."""
    there = {it.colour for it in sheet.swatches} | {it.colour for it in sheet.berths}
    colours = here.known.colours.items() if here.known else ()
    return {name: it.aim.by_eye for name, it in colours if it.aim.by_eye and name in there}


def asked_things(here: ShelfOnPage, form: FormData) -> tuple[str, ...]:
    """Return the colours that a form says a thing lies there for.

    Raises OrderError ``unknown-colour`` for one that the order lacks.
    """
    names = tuple(dict.fromkeys(str(it) for it in form.getlist(THING)))
    for name in names:
        if here.known is None or name not in here.known.colours:
            raise OrderError.of("unknown-colour", f"no order here has a colour '{name[:63]}'")
    return names


def show_things(
    request: Request,
    here: ShelfOnPage,
    shelf: Shelf,
    word: str,
    colours: Sequence[str],
    told: Mapping[str, str],
) -> Response:
    """Show what the dropped files tell of things, and keep nothing.

    ``told`` is who looked, ``by``, and when, ``on``. Raises InkaccordError as
    :func:`~inkaccord.recording.things.see_things`.
    """
    uploads, sheet = uploads_of(request), shelf.sheet(request.path_params["sheet"])
    files, asked = uploads.find(word), here.known
    day, by = typed_day(told["on"]), told["by"]
    seen = see_things(sheet, files, colours, today=day, order=asked, by=by)
    coloured = coloured_by(shelf, sheet)
    return page(
        "things.html",
        here=here,
        sheet=sheet,
        word=word,
        told=told,
        name=joined([path.name for path in files]),
        findings=uploads.as_dropped(seen.findings),
        things=[ThingSeen(one, coloured(one.swatches)) for one in seen.found],
        second=second_opinion(seen.found[0].photographed),
    )


def keep_things(
    request: Request,
    here: ShelfOnPage,
    word: str,
    colours: Sequence[str],
    told: Mapping[str, str],
    at: str,
) -> Doing | None:
    """Keep what was shown, as looks; return how to take back those that are new, done at a page.

    Raises InkaccordError where it can't be kept.
    """
    files, sheet = uploads_of(request).find(word), request.path_params["sheet"]
    by = told["by"]
    with Shelf.open(here.place, by=by) as shelf:
        keep = partial(
            take_in_sheet,
            shelf,
            sheet,
            files,
            today=typed_day(told["on"]),
            order=here.known,
            things=colours,
            by=by,
        )
        return kept_looks(here.place, shelf, sheet, keep, at)
