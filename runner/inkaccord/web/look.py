"""Picking by eye: a printed sheet lies beside the screen, and a tap says which swatch is nearest.

A tap is kept at once, and may then be said more exactly. What is asked, and what an answer means,
is what ``inkaccord look`` asks and takes.
"""

import datetime
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import Any, Self
from urllib.parse import urlencode

import numpy as np
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.colour.direction import Direction
from inkaccord.colour.predictor import Predictor
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.knowledge.apart import look_of
from inkaccord.knowledge.holdings import gather
from inkaccord.knowledge.pairs import learn_pair
from inkaccord.knowledge.picking import Picked
from inkaccord.recall.recent import Recent
from inkaccord.recording.looking import (
    LIGHT,
    WHO,
    Looking,
    Question,
    known_colours,
    offered,
    row_of,
    wanted_colours,
)
from inkaccord.report.screen import ScreenColour, screen_colours
from inkaccord.sheets.model import Pick, SampleSheet, Swatch
from inkaccord.sheets.reading.pick_text import in_words
from inkaccord.shelf.store import Shelf
from inkaccord.web.rendering import page
from inkaccord.web.studio import MOST_TYPED, OrderOnPage, asked_order, recalled
from inkaccord.web.typed import typed_day, typed_number
from inkaccord.web.undoing import told

SAID = ("by", "light", "on", "sure", "colour")
"""What is said before the first question: who, under which light, when, how sure, which colours."""


@dataclass(frozen=True)
class TapSwatch:
    """A swatch to tap: about as it was printed, as far as a screen can show it."""

    swatch: Swatch
    colour: ScreenColour


@dataclass(frozen=True)
class Sitting:
    """What a person said before the first question, and takes along from one to the next.

    Attributes
    ----------
    said
        The fields as they were filled in, with their names; each colour has one.
    """

    said: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, fields: Iterable[tuple[str, Any]]) -> Self:
        """Return what a form, or an address, says. Raises OrderError ``not-so``."""
        said = ((name, str(it)[:MOST_TYPED]) for name, it in fields if name in SAID)
        made = cls(tuple(dict.fromkeys(said)))
        _ = made.day, made.sure
        return made

    def _one(self, field: str) -> str:
        return next((it for name, it in self.said if name == field), "")

    @property
    def by(self) -> str:
        """Who looks."""
        return self._one("by")

    @property
    def light(self) -> str:
        """Under which light."""
        return self._one("light")

    @property
    def on(self) -> str:
        """When, as it was typed; empty for today."""
        return self._one("on")

    @property
    def day(self) -> datetime.date:
        """When."""
        return typed_day(self.on)

    @property
    def sure(self) -> float:
        """How sure the person is of an answer that says nothing of it."""
        sure = typed_number(self._one("sure"), "how sure", 0, 1)
        return Looking.sure if sure is None else sure

    @property
    def colours(self) -> tuple[str, ...]:
        """Which colours are asked for alone; none: all that the sheet offers."""
        return tuple(it for name, it in self.said if name == "colour" and it)


@dataclass(frozen=True)
class Scene:
    """A person beside a sheet, and the question that is asked now."""

    order: OrderOnPage
    shelf: Shelf
    sheet: SampleSheet
    sitting: Sitting
    asked: str | None
    """The number of a question that is to be answered again; None for the first open one."""
    recent: Recent

    @cached_property
    def looking(self) -> Looking:
        """Who asks."""
        return Looking(
            self.sheet,
            by=self.sitting.by,
            light=self.sitting.light,
            day=self.sitting.day,
            sure=self.sitting.sure,
            order=self.order.loaded.order,
            scanned=self.kept,
        )

    @cached_property
    def kept(self) -> tuple[Pick, ...]:
        """Every look at the sheet."""
        return tuple(it.pick for it in self.shelf.picks_of_sheet(self.sheet.id))

    @cached_property
    def own(self) -> tuple[Pick, ...]:
        """What this person said that day."""
        return self.looking.own(self.kept)

    @cached_property
    def colours(self) -> Sequence[str]:
        """What is asked for: as was said, or all that the sheet offers to the eye.

        Raises OrderError ``nothing-to-look-at``, ``unknown-colour``.
        """
        return wanted_colours(self.sheet, self.sitting.colours, self.order.loaded.order)

    def going_to(self, question: int) -> str:
        """Return what leads to a question, in an address."""
        return urlencode([*self.sitting.said, ("q", question)])

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """What is asked at one sitting, and last what only two looks that differ ask for."""
        return (*self.looking.questions(self.colours), *self._of_two())

    @cached_property
    def number(self) -> int | None:
        """The question that is asked now, from 0 on; None when all is answered."""
        if (
            self.asked is not None
            and self.asked.isdecimal()
            and int(self.asked) < len(self.questions)
        ):
            return int(self.asked)
        return next((n for n, it in enumerate(self.questions) if self.answer_to(it) is None), None)

    def answer_to(self, question: Question) -> Pick | None:
        """Return this person's answer of that day to a question."""
        return next((it for it in self.own if question.is_answered_by(it)), None)

    def take(self, question: Question, answer: str) -> None:
        """Keep an answer, in the place of an earlier one to the same question."""
        look = self.looking.read(question, answer)
        self.shelf.record_picks([look], instead_of=self.answer_to(question))

    def rows(self, about: Sequence[Swatch]) -> list[list[TapSwatch]]:
        """Return swatches row by row as they stand on the sheet."""
        if not about:
            return []
        looks = self.model.predict_lab(np.array([it.build.values for it in about]))
        tiles = [TapSwatch(*it) for it in zip(about, screen_colours(looks), strict=True)]
        return [list(row) for _, row in groupby(tiles, key=lambda it: row_of(it.swatch))]

    def picked(self, colour: str) -> Picked | None:
        """Return what follows for a colour from all that was seen on the sheet's pair."""
        order, pair = self.order.loaded.order, self.sheet.pair
        if pair not in order.pairs_needed():
            return None
        with recalled(self.recent, self.order.loaded) as recall:  # else each tap fits the pair anew
            holdings = gather(self.shelf, order, [pair])
            return learn_pair(order, holdings, pair, recall).picked(colour)

    @cached_property
    def model(self) -> Predictor:
        """What the sheet's pair prints, as far as anyone can say."""
        return look_of(self.sheet, self.shelf.readings_of(self.sheet.pair))

    def _of_two(self) -> Iterator[Question]:
        for colour in self.colours:
            second = self.looking.second_look(colour, self.own, lambda: self.model)
            if second is not None:
                yield second


def look(request: Request) -> Response:
    """Ask who looks, then one question after the other."""
    order, query = asked_order(request), request.query_params
    with Shelf.open(order.shelf) as shelf:
        sheet = shelf.sheet(request.path_params["sheet"])
        if "by" not in query:
            return _asking(request, order, shelf, sheet)
        try:
            sitting = Sitting.of(query.multi_items())
            return _shown(
                Scene(order, shelf, sheet, sitting, query.get("q"), request.app.state.recent)
            )
        except OrderError as problem:
            return _asking(request, order, shelf, sheet, problem)


def _asking(
    request: Request,
    order: OrderOnPage,
    shelf: Shelf,
    sheet: SampleSheet,
    problem: OrderError | None = None,
) -> Response:
    """Ask who looks, and what else is said once."""
    known = known_colours(sheet, order.loaded.order)
    if not known:
        wanted_colours(sheet)  # else nobody is asked who looks
    usual = next((it.pick for it in reversed(shelf.picks_of_sheet(sheet.id))), None)
    query = request.query_params
    return page(
        "look_who.html",
        409 if problem else 200,
        order=order,
        sheet=sheet,
        by=query.get("by") or (usual.by if usual else ""),
        light=query.get("light") or (usual.light if usual else ""),
        on=query.get("on", ""),
        sure=query.get("sure", ""),
        usual_sure=Looking.sure,
        colours=known,
        chosen=query.getlist("colour"),
        offers=offered(sheet),
        who=WHO,
        light_asked=LIGHT,
        findings=problem.findings if problem else (),
        done=told(request),
    )


async def answer(request: Request) -> Response:
    """Keep an answer and show what can be said more exactly."""
    form = await request.form()
    return await run_in_threadpool(_answer, request, form)


def _answer(request: Request, form: FormData) -> Response:
    order, sitting = asked_order(request), Sitting.of(form.multi_items())
    with Shelf.open(order.shelf, by=sitting.by) as shelf:
        sheet = shelf.sheet(request.path_params["sheet"])
        scene = Scene(
            order, shelf, sheet, sitting, str(form.get("q", "")), request.app.state.recent
        )
        number = scene.number
        if number is None:
            raise OrderError.of("not-asked", "that is not asked any more", hint="go on")
        try:
            scene.take(scene.questions[number], str(form.get("answer", "")))
        except InkaccordError as problem:
            return _shown(scene, problem)
    at = f"/order/{order.key}/look/{sheet.id}"
    return RedirectResponse(f"{at}?{scene.going_to(number)}", 303)


def _shown(scene: Scene, problem: InkaccordError | None = None) -> Response:
    number = scene.number
    if number is None:
        follows = [(it, scene.picked(it)) for it in scene.colours]
        return page("look_done.html", scene=scene, follows=follows)
    question = scene.questions[number]
    kept = scene.answer_to(question)
    rows = scene.rows(scene.looking.swatches(question))
    beside = _neighbours(rows, kept) if kept is not None else ()
    whole = kept is not None and question.among is None
    return page(
        "look.html",
        status=200 if problem is None else 409,
        scene=scene,
        question=question,
        number=number,
        rows=rows,
        others=scene.rows(scene.looking.others(question)),
        kept=kept,
        in_words=in_words(kept) if kept is not None else "",
        beside=beside,
        directions=list(Direction),
        follows=scene.picked(question.colour) if whole else None,
        findings=problem.findings if problem else (),
    )


def _neighbours(rows: Sequence[Sequence[TapSwatch]], kept: Pick) -> tuple[str, ...]:
    """Return the swatches left and right of the one that was chosen."""
    for row in rows:
        names = [it.swatch.id for it in row]
        if kept.swatch in names:
            at = names.index(kept.swatch)
            return tuple(names[max(at - 1, 0) : at] + names[at + 1 : at + 2])
    return ()
