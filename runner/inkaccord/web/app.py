"""The page as a whole: which address shows what, behind the gate."""

import logging
from http import HTTPStatus
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.exceptions import ExceptionMiddleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from inkaccord.errors import FileError, InkaccordError
from inkaccord.prepress.foretelling import said_of_copy
from inkaccord.recall.recent import Recent
from inkaccord.recall.soon import Soon
from inkaccord.web import (
    again,
    another,
    approve,
    artworks,
    ask,
    begin,
    book,
    compare,
    copies,
    cost,
    devices,
    differences,
    letters,
    look,
    make,
    order,
    orders,
    pieces,
    read,
    recolour,
    sent,
    several,
    sheet,
    shelf,
    suite,
    target,
    text,
)
from inkaccord.web.doors import Doors, order_at
from inkaccord.web.gate import JOIN, Gate, Start
from inkaccord.web.made import made
from inkaccord.web.rendering import page
from inkaccord.web.running import Commands
from inkaccord.web.studio import Studio
from inkaccord.web.undoing import Undos, undo
from inkaccord.web.uploads import Uploads

RESULTS = 600
"""What was found out last while one typed, and is not computed again: ten things of 60 pieces."""
STATIC = Path(__file__).parent / "static"
TYPED = ("name", "pair", "said", "by", "note", "light", "on", "text", "colour", "by_eye", "client",
         "swaps")  # fmt: skip
"""Fields of our forms that a person types into, but for those of an order, which have a slash."""
STYLE = Path(__file__).parents[1] / "report" / "templates" / "style.css"


def make_app(studio: Studio, runs: Commands, uploads: Uploads, start: Start) -> Starlette:
    """Return the page of a studio, as an ASGI application."""
    # Beside the routes, inside of the gate: there what was sent can still be read, and given back.
    handlers = {
        InkaccordError: _trouble,
        HTTPException: _no_page,
        OSError: _disk,
        ClientDisconnect: _left,
        Exception: _fallen,
    }
    caught = Middleware(ExceptionMiddleware, handlers=handlers)
    app = Starlette(
        routes=[Mount("/", routes=_routes(), middleware=[caught])],
        middleware=[Middleware(Gate, start), Middleware(Doors)],
    )
    app.state.studio, app.state.runs, app.state.uploads = studio, runs, uploads
    app.state.undos, app.state.start = Undos(), start
    app.state.trials = {}
    app.state.recent = Recent(RESULTS)
    app.state.soon = Soon(app.state.recent, {said_of_copy}, RESULTS)
    return app


def _routes() -> list[BaseRoute]:
    at = "/order/{order}"
    return [
        Route("/", orders.orders),
        Route("/begin", begin.begin_page),
        Route("/begin", begin.begin, methods=["POST"]),
        Route(at, order.order_page),
        Route(f"{at}/run", order.run, methods=["POST"]),
        Route(f"{at}/stop", order.stop, methods=["POST"]),
        Route(f"{at}/answer", order.answer, methods=["POST"]),
        Route(f"{at}/progress", order.progress),
        Route(f"{at}/sent", sent.sent, methods=["POST"]),
        Route(f"{at}/samples", sheet.of_vendor, methods=["POST"]),
        Route(f"{at}/approve", approve.approved, methods=["POST"]),
        Route(f"{at}/look/{{sheet}}", look.look),
        Route(f"{at}/look/{{sheet}}/answer", look.answer, methods=["POST"]),
        Route(f"{at}/cost", cost.cost_page),
        Route(f"{at}/cost.csv", cost.save_csv),
        Route(f"{at}/again", again.again_page),
        Route(f"{at}/again", again.again, methods=["POST"]),
        Route(f"{at}/differences", differences.differences_page),
        Route(f"{at}/differences", differences.since_dropped, methods=["POST"]),
        Route(f"{at}/suite", suite.suite_page),
        *(
            Route(f"{of}{path}", shown, methods=methods)
            for of in ("", at)
            for path, shown, methods in (
                ("/ask", ask.ask, ["GET"]),
                ("/ask", ask.ask_of_file, ["POST"]),
                ("/book", book.book_page, ["GET"]),
                ("/book", book.change, ["POST"]),
                ("/book/colour", book.colour_page, ["GET"]),
                ("/book/card.pdf", book.draw_card, ["GET"]),
                ("/book/files.zip", book.save_files, ["GET"]),
                ("/read/{sheet}", read.read_page, ["GET"]),
                ("/read/{sheet}", read.understood, ["POST"]),
                ("/read/{sheet}/keep", read.keep, ["POST"]),
                ("/compare", compare.compare_page, ["GET"]),
                ("/compare", compare.compared, ["POST"]),
                ("/compare/keep", compare.keep, ["POST"]),
                ("/copies", copies.copies_page, ["GET"]),
                ("/copies", copies.put_back, ["POST"]),
                ("/copies/shelf.sqlite", copies.save_copy, ["GET"]),
                ("/copies/shelf.zip", copies.save_text, ["GET"]),
                ("/make", make.make_page, ["GET"]),
                ("/make", make.make, ["POST"]),
                ("/make/{word}/{name}", make.made_file, ["GET"]),
                ("/shelf", shelf.shelf_page, ["GET"]),
                ("/shelf", several.change, ["POST"]),
                ("/shelf/{sheet}", sheet.sheet_page, ["GET"]),
                ("/shelf/{sheet}", sheet.change, ["POST"]),
                ("/shelf/{sheet}/sheet.pdf", sheet.draw, ["GET"]),
                ("/shelf/{sheet}/label.pdf", sheet.draw_label, ["GET"]),
                ("/shelf/{sheet}/mask.pdf", make.mask, ["GET"]),
                ("/target", target.target_page, ["GET"]),
                ("/target", target.take_in, ["POST"]),
                ("/another", another.another_page, ["GET"]),
                ("/another", another.change, ["POST"]),
            )
        ),
        Route("/recolour", recolour.recolour_page),
        Route("/recolour", recolour.change, methods=["POST"]),
        Route("/recolour/{word}/{page:int}.png", recolour.picture),
        Route("/recolour/{word}/{page:int}/at", recolour.pointed_at),
        Route("/recolour/{word}/colours.html", recolour.colours_file),
        Route("/recolour/{word}/copy.pdf", recolour.copy),
        Route("/recolour/{word}/progress", recolour.progress),
        Route("/recolour/{word}/stop", recolour.stop, methods=["POST"]),
        Route("/devices", devices.devices_page),
        Route("/devices", devices.change, methods=["POST"]),
        Route(JOIN, devices.join_page),
        Route(JOIN, devices.join, methods=["POST"]),
        Route("/undo", undo, methods=["POST"]),
        Route(f"{at}/pieces", pieces.pieces_page),
        Route(f"{at}/pieces", pieces.change, methods=["POST"]),
        Route(f"{at}/letters.zip", letters.save_letters),
        Route(f"{at}/seen/{{piece}}/{{page:int}}.png", artworks.picture),
        Route(f"{at}/seen/{{piece}}/{{page:int}}/at", artworks.pointed_at),
        Route(f"{at}/text", text.text_page),
        Route(f"{at}/text", text.keep, methods=["POST"]),
        Route(f"{at}/made/{{path:path}}", made),
        Mount("/static", StaticFiles(directory=STATIC)),
        Route("/style.css", style),
    ]


def style(_: Request) -> Response:
    """Send the type and colours that the page and the report share."""
    return Response(STYLE.read_text("utf-8"), media_type="text/css")


async def _trouble(request: Request, problem: Exception) -> Response:
    assert isinstance(problem, InkaccordError)  # noqa: S101 - the handler's own kind
    return await _told(request, problem, 404)


async def _no_page(request: Request, problem: Exception) -> Response:
    assert isinstance(problem, HTTPException)  # noqa: S101 - the handler's own kind
    if problem.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
        words = "this address only takes in what a button sends, and has nothing to show"
    elif problem.status_code == HTTPStatus.NOT_FOUND:
        words = "there is no page under this address"
    else:
        words = problem.detail
    told = InkaccordError.of("no-page", words, hint="go back to the page that you came from")
    return await _told(request, told, problem.status_code)


async def _disk(request: Request, problem: Exception) -> Response:
    assert isinstance(problem, OSError)  # noqa: S101 - the handler's own kind
    failure = FileError.of(
        "file-trouble",
        f"a file could not be read or written: {problem.strerror or problem}",
        hint="free some disk space, or check the rights of the folder; nothing was kept of this: "
        "go back and try again",
    )
    return await _told(request, failure, 500)


async def _left(_: Request, __: Exception) -> Response:
    """Answer nobody: the browser was closed while it sent something, of which nothing is kept."""
    return Response(status_code=HTTPStatus.BAD_REQUEST)


async def _fallen(request: Request, problem: Exception) -> Response:
    logging.getLogger(__name__).error("a page could not go on", exc_info=problem)
    failure = InkaccordError.of(
        "fallen",
        f"the page could not go on: {type(problem).__name__}: {problem}",
        hint="nothing was kept of it; go back and try again, or use the command line",
    )
    return await _told(request, failure, 500)


async def _told(request: Request, problem: InkaccordError, status: int) -> Response:
    codes = {it.code for it in problem.findings}
    return page(
        "trouble.html",
        status,
        findings=problem.findings,
        typed=await _typed(request),
        at="" if "no-such-order" in codes else order_at(request.url.path),
    )


async def _typed(request: Request) -> list[str]:
    """Return what a person typed into the form that did not work, so that it is not lost."""
    if request.method != "POST":
        return []
    try:
        form = await request.form()
    except (ClientDisconnect, HTTPException, RuntimeError):  # it broke off, or was no form
        return []
    texts = {name: text for name, text in form.items() if isinstance(text, str) and text.strip()}
    alone = [texts[name] for name in TYPED if name in texts]
    fields = [f"{name}: {text}" for name, text in texts.items() if "/" in name]
    return [*alone, "\n".join(fields)] if fields else alone
