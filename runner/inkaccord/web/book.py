"""The studio's book: its colours, all that each was said to be, their builds, what goes out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.files import zipped
from inkaccord.knowledge.book import BookLine, book_line
from inkaccord.recording.asked import AskedShelf
from inkaccord.recording.book import SaidInBook, book_lines, say_in_book, strike, take_back
from inkaccord.report.book_card import book_card, card_title
from inkaccord.report.book_files import FORMS, book_files
from inkaccord.report.screen import ScreenColour, screen_colour
from inkaccord.sizes import Size
from inkaccord.web.ask import answered
from inkaccord.web.rendering import page
from inkaccord.web.studio import ShelfOnPage, asked_shelf
from inkaccord.web.typed import thing_in_file, typed_colour, typed_into, typed_pairs, typed_size
from inkaccord.web.undoing import Doing, told, undos
from inkaccord.web.uploads import uploads_of
from inkaccord.words import counted

LONGEST = {"name": 80, "colour": 200, "by_eye": 200, "sample": 80, "client": 200, "note": 2000}
"""Characters of each field; the name's, the client's and the note's are those of the book."""
STRIKE, CHANGE = "strike", "change"


@dataclass(frozen=True)
class BookColourShown:
    """A colour of the book, and what it looks like as far as that is known."""

    line: BookLine
    look: ScreenColour | None


def book_page(request: Request) -> Response:
    """List the colours of the book, and ask for another."""
    typed = {"colour": request.query_params.get("colour", "")[: LONGEST["colour"]]}
    return _listed(request, typed, done=told(request))


def colour_page(request: Request) -> Response:
    """Show a colour of the book: its builds, and all that was ever said of it."""
    return _one(request, request.query_params.get("name", ""))


async def change(request: Request) -> Response:
    """Put a colour into the book, say otherwise of one, or strike it out."""
    uploads = uploads_of(request)
    async with request.form(max_files=1) as form:
        said = typed_into(form, LONGEST)
        do = str(form.get("do", ""))
        word = await uploads.of_form(form, "file")
    files = uploads.find(word) if word else []
    try:
        done = await run_in_threadpool(_change, request, do, said, files)
    except InkaccordError as problem:
        findings = uploads.as_dropped(problem.findings)
        shows = partial(_one, request, said["name"]) if do == CHANGE else partial(_listed, request)
        return await run_in_threadpool(shows, typed=said, findings=findings)
    finally:
        uploads.discard(word)
    return undos(request).done(done)


def draw_card(request: Request) -> Response:
    """Send the card for the wall, as ``book card`` draws it."""
    query = request.query_params
    lines, _ = _chosen(request)
    title = query.get("title", "").strip() or card_title(_client(request))
    size = typed_size(query.get("size", "")) or Size.parse("a4")
    named = {"Content-Disposition": 'inline; filename="book.pdf"'}
    pdf = book_card(lines, size=size, title=title)
    return Response(pdf, media_type="application/pdf", headers=named)


def save_files(request: Request) -> Response:
    """Send the files that ``book export`` writes, in a zip."""
    lines, pairs = _chosen(request)
    forms = [it for it in FORMS if it in request.query_params.getlist("form")]
    made = book_files(lines, pairs, forms or FORMS)
    data = zipped({f"book/{it.path}": it.data for it in made}, max(it.since for it in lines).date())
    named = {"Content-Disposition": 'attachment; filename="book.zip"'}
    return Response(data, media_type="application/zip", headers=named)


def _change(request: Request, do: str, said: Mapping[str, str], files: Sequence[Path]) -> Doing:
    kept = asked_shelf(request)
    with kept.opened() as source:
        done = (
            strike(source.shelf, said["name"])
            if do == STRIKE
            else _said(source, said, files, is_whole=do == CHANGE)
        )
    colour = done.kept.colour
    words = f"The book says of {colour.name}: {colour.aim.words}."
    if colour.struck:
        words = f"{colour.name} is struck out of the book."
    elif not done.new:
        words = f"The book says so already: {colour.name}, {colour.aim.words}."
    back = partial(_take_back, kept, done)
    return Doing(" ".join([words, *(it.message for it in done.findings)]),
                 f"{kept.at}/book", back)  # fmt: skip


def _said(
    source: AskedShelf,
    said: Mapping[str, str],
    files: Sequence[Path],
    *,
    is_whole: bool,
) -> SaidInBook:
    """Say what a form says; ``is_whole`` where an empty client or note means that there is none."""
    given = [it for it in (said["colour"], said["by_eye"], files) if it]
    if len(given) > 1:
        raise OrderError.of(
            "two-aims",
            "a colour, a thing and a file each say what it looks like",
            hint="give one of them",
        )
    wanted = None
    if files:
        wanted = thing_in_file(files[0], said["sample"])
    elif said["colour"]:
        wanted = typed_colour(said["colour"])
    return say_in_book(
        source,
        said["name"],
        wanted=wanted,
        by_eye=said["by_eye"] or None,
        client=said["client"] if is_whole else said["client"] or None,
        note=said["note"] if is_whole else said["note"] or None,
    )


def _take_back(kept: ShelfOnPage, done: SaidInBook) -> None:
    with kept.opened() as source:
        if done.new:
            take_back(source.shelf, done)


def _listed(
    request: Request,
    typed: Mapping[str, str],
    *,
    findings: Sequence[Diagnostic] = (),
    done: tuple[str, Doing] | None = None,
) -> Response:
    kept = asked_shelf(request)
    with kept.opened() as source:
        lines = [book_line(it, (), source) for it in source.shelf.book.colours()]
        pairs = source.pairs()
    return page(
        "book.html",
        409 if findings else 200,
        kept=kept,
        colours=[_shown(it) for it in lines],
        lead=counted(len(lines), "colour"),
        clients=sorted({it.colour.client for it in lines if it.colour.client}),
        pairs=pairs,
        forms=FORMS,
        typed=dict.fromkeys(LONGEST, "") | dict(typed),
        longest=LONGEST,
        findings=findings,
        done=done,
    )


def _one(
    request: Request,
    name: str,
    *,
    typed: Mapping[str, str] | None = None,
    findings: Sequence[Diagnostic] = (),
) -> Response:
    kept = asked_shelf(request)
    with kept.opened() as source:
        book = source.shelf.book
        line, editions = book_line(book.colour(name), source.pairs(), source), book.editions(name)
    colour = line.colour
    now = {"name": colour.name, "client": colour.client, "note": colour.note}
    return page(
        "book_colour.html",
        409 if findings else 200,
        kept=kept,
        shown=_shown(line),
        answers=answered(line.answers),
        editions=editions[::-1],
        typed=dict.fromkeys(LONGEST, "") | now | dict(typed or {}),
        longest=LONGEST,
        findings=findings,
    )


def _shown(line: BookLine) -> BookColourShown:
    return BookColourShown(line, None if line.lab is None else screen_colour(line.lab))


def _chosen(request: Request) -> tuple[list[BookLine], Sequence[Pair]]:
    """Return the colours of a client, or of all, on the pairs that were ticked, or on all."""
    pairs = typed_pairs(request.query_params.getlist("pair"))
    with asked_shelf(request).opened() as source:
        return book_lines(source, _client(request), pairs)


def _client(request: Request) -> str | None:
    return request.query_params.get("client", "").strip() or None
