"""A shelf, pair by pair: its sheets, how old and how used, and how they drifted."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from types import MappingProxyType

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import OrderError
from inkaccord.knowledge.course import follow
from inkaccord.order.model import Order
from inkaccord.recording.intake import device_of, tolerance_of
from inkaccord.report.charts import drift_chart
from inkaccord.report.graphics import svg
from inkaccord.report.view_pairs import control_drift
from inkaccord.shelf.overview import ListPage, SheetSummary
from inkaccord.shelf.store import Shelf
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import asked_shelf
from inkaccord.web.undoing import told


@dataclass(frozen=True)
class PairOnShelf:
    """The sheets of a pair, and how its controls went over the days."""

    pair: Pair
    lines: tuple[SheetSummary, ...]
    drift: Markup | None
    """A chart; None for a pair whose controls were read once at most."""


def shelf_page(request: Request) -> Response:
    """List the sheets of a shelf, pair by pair."""
    return shown_shelf(request)


def shown_shelf(
    request: Request,
    *,
    findings: Sequence[Diagnostic] = (),
    ticked: Sequence[str] = (),
    said: Mapping[str, str] = MappingProxyType({}),
) -> Response:
    """Return that list, with what was ticked and typed, and what is wrong with it."""
    here = asked_shelf(request)
    asked = request.query_params.get("page", "1")
    number = max(1, int(asked)) if asked.isdecimal() and len(asked) < 7 else 1
    with Shelf.open(here.place) as shelf, shelf.one_state():
        lines = shelf.overview(retired=True, page=ListPage.numbered(number))
        pairs = tuple(_by_pair(lines, shelf, here.known))
        of_all = shelf.number_of_sheets(retired=True)
    return page(
        "shelf.html",
        409 if findings else 200,
        here=here,
        pairs=pairs,
        today=today(),
        number=number,
        pages=ListPage.pages(of_all),
        of_all=of_all,
        done=told(request),
        findings=findings,
        ticked=ticked,
        said=said,
    )


def _by_pair(
    lines: Iterable[SheetSummary], shelf: Shelf, order: Order | None
) -> Iterator[PairOnShelf]:
    for pair, own in groupby(lines, key=lambda it: it.pair):
        of_pair = tuple(own)
        drifted = any(it.drift is not None for it in of_pair)
        yield PairOnShelf(pair, of_pair, _drift_of(pair, shelf, order) if drifted else None)


def _drift_of(pair: Pair, shelf: Shelf, order: Order | None) -> Markup | None:
    tolerance = tolerance_of(device_of(pair, order))
    try:
        drifts = control_drift(follow(shelf.readings_of(pair), tolerance))
    except OrderError:  # readings that can't be compared: the list says what each is
        return None
    return svg(drift_chart(str(pair), drifts, tolerance), sized=False) if len(drifts) > 1 else None
