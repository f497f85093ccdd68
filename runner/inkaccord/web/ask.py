"""One question without an order: a colour's build on each pair, its looks, how sure that is."""

from collections.abc import Iterable
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import InkaccordError, OrderError
from inkaccord.knowledge.asking import (
    Apart,
    AskedColour,
    PairAnswer,
    apart_on_pairs,
    resolve_colour,
)
from inkaccord.knowledge.values import Evidence
from inkaccord.order.wanted import Wanted
from inkaccord.recording.asked import AskedShelf
from inkaccord.report.screen import ScreenColour, screen_colour
from inkaccord.shelf.store import Shelf
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, asked_order
from inkaccord.words import quoted


@dataclass(frozen=True)
class Answered:
    """A colour on a pair, as the page shows it."""

    answer: PairAnswer
    colour: ScreenColour
    is_known: bool
    """Whether the pair was read or picked from; else nothing sure can be said."""


def answered(answers: Iterable[PairAnswer]) -> list[Answered]:
    """Return answers as a page shows them."""
    return [
        Answered(one, screen_colour(one.predicted_lab), one.evidence is not Evidence.ESTIMATED)
        for one in answers
    ]


def ask(request: Request) -> Response:
    """Answer what is asked; without a colour, ask for one."""
    order = asked_order(request)
    said = request.query_params.get("colour", "").strip()
    if not said:
        return page("ask.html", order=order, said="", asked=None, findings=())
    try:
        asked, answers, between = _answered(order, said)
    except InkaccordError as problem:
        return page("ask.html", 409, order=order, said=said, asked=None, findings=problem.findings)
    known = {str(it.answer.pair) for it in answers if it.is_known}
    return page(
        "ask.html",
        order=order,
        said=said,
        asked=asked,
        look=None if asked.lab is None else screen_colour(asked.lab),
        answers=answers,
        between=[it for it in between if {it.one, it.other} <= known],
        findings=asked.findings,
    )


def _answered(
    order: OrderOnPage, said: str
) -> tuple[AskedColour, list[Answered], tuple[Apart, ...]]:
    wanted = Wanted.parse(said)
    if wanted.file is not None:
        raise OrderError.of(
            "no-file-here",
            f"{said} looks like a file, and the page opens none by its name",
            hint=f"on the command line: {quoted('inkaccord', 'ask', said)}",
        )
    with Shelf.open(order.shelf) as shelf:
        source = AskedShelf(shelf, order.loaded.order)
        asked = resolve_colour(wanted, source)
        answers = source.answers(asked)
    return asked, answered(answers), apart_on_pairs(answers)
