"""The client's page: the suite as it will print, to be looked at, understood and signed.

It has what a client decides about and nothing of how colour is found: no distance and no build. The
pictures are those of the report.
"""

import math
from collections.abc import Iterator, Sequence
from functools import partial

from inkaccord.hooks import hookimpl
from inkaccord.order.approving import code_of
from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.report.agreement_page import FEW, patch
from inkaccord.report.html import environment, piece_views
from inkaccord.report.paper import (
    escape,
    gap,
    grid,
    marked,
    page_count,
    paper_of,
    picture,
    rule,
    text,
    tick_box,
    together,
    typeset,
)
from inkaccord.report.parts import Part
from inkaccord.report.view_client import PieceSeen, PrintSeen, Seen, what_is_seen
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import LIST_PX, Gallery, Picture
from inkaccord.run.record import RecordedPiece, Run
from inkaccord.words import counted, day, joined

TALLEST_PT, WIDEST = 196.0, 0.465
"""How large the largest page may be: points, and share of the column's width, so that a front and a
back lie side by side."""
NARROWEST_PT, BETWEEN_PT = 118.0, 14.0
"""Room for the words under a piece, and between two pieces."""
ACROSS, NAMED_PT = 5, 104.0
"""How many stocks of a colour stand in a line, beside its name."""
WRITING_LINES, WRITING_PT = 3, 22.0
"""To write on what is to change."""
SMALLER = (0.7, 0.8, 0.9)
"""How much smaller the suite may be shown where that spares a page."""
FEW_STOCKS = 8
"""So many stay on one page with the place to sign."""

PICTURES = (
    "They show which words, images and colours stand where, at which size and on which stock. "
    "A screen, or a desk printer, shows colours its own way, and other light makes others of "
    "them: no picture here is a proof of colour, and none is to be judged by."
)
SIGNED_FOR = (
    "What is signed for: words and images, sizes, numbers, stocks, and which colour stands where, "
    "as shown here. Not: how a screen or a desk printer shows a colour."
)
CHANGES = "To be changed:"


def client_pages(order: Order, run: Run, known: Bench, gallery: Gallery) -> list[OutFile]:
    """Return ``client.pdf`` and ``client.html``: the same bytes for the same order and evidence."""
    seen = what_is_seen(order, run, known, gallery)
    return [
        OutFile("client.pdf", _paper(order, run, known, gallery, seen), "client-page"),
        OutFile("client.html", _screen(order, run, gallery, seen).encode(), "client-page"),
    ]


def _screen(order: Order, run: Run, gallery: Gallery, seen: Seen) -> str:
    views = piece_views(run, gallery)
    return (
        environment()
        .get_template("client.html")
        .render(
            run=run,
            order=order,
            pieces=list(zip(views, seen.pieces, strict=True)),
            seen=seen,
            about_pictures=PICTURES,
            signed_for=SIGNED_FOR,
            changes=CHANGES,
            page_code=_page_code(run) if run.shown else "",
            stage_px=max((it.height_px for it in views), default=0),
        )
    )


def _paper(order: Order, run: Run, known: Bench, gallery: Gallery, seen: Seen) -> bytes:
    title = run.title or run.order

    def set_at(smaller: float) -> bytes:
        return typeset(
            partial(_story, run, gallery, seen, smaller),
            size=paper_of(order),
            title=f"For approval: {title}",
            running=f"{title} · order {run.order} · {day(run.date)} · for approval",
            recall=known.recall,
        )

    found = set_at(1.0)
    pages = page_count(found)
    # From the smallest: where that spares no page, none does.
    for smaller in SMALLER if pages > 1 else ():
        tighter = set_at(smaller)
        if page_count(tighter) == pages:
            break
        found = tighter
    return found


def _story(run: Run, gallery: Gallery, seen: Seen, smaller: float, width_pt: float) -> list[Part]:
    return [
        text("For approval", "label"),
        text(run.title or run.order, "title"),
        gap(2),
        text(summary(run)),
        rule(1.0, before=8, after=8),
        *_what_these_are(seen, width_pt),
        *_suite(run, gallery, seen, width_pt, smaller),
        *_colours(seen, width_pt),
        *_to_the_end([*_stocks(seen, width_pt), *_signing(run, width_pt)], seen),
    ]


def _to_the_end(parts: list[Part], seen: Seen) -> list[Part]:
    """Return the stocks and the place to sign, which is not to stand alone on the last page."""
    return [together(parts)] if len(seen.stocks) <= FEW_STOCKS else parts


def summary(run: Run) -> str:
    """Return what is ordered, in a sentence."""
    due = f", due {day(run.due, weekday=True)}" if run.due else ""
    return (
        f"{counted(run.suites, 'suite')} of {counted(len(run.pieces), 'piece')}{due}. "
        f"Order {run.order} of {day(run.date)}."
    )


def _what_these_are(seen: Seen, width_pt: float) -> Iterator[Part]:
    half = width_pt / 2 - BETWEEN_PT / 2
    cells = [
        [text("These are pictures", "strong"), text(PICTURES, "small")],
        [text("")],
        [text("A proof is printed", "strong"), text(seen.proofs, "small")],
    ]
    yield grid([cells], [half, BETWEEN_PT, half], lines=False, pad_pt=0)
    yield gap(12)


def _suite(
    run: Run, gallery: Gallery, seen: Seen, width_pt: float, smaller: float
) -> Iterator[Part]:
    """Lay all pages of all pieces side by side at one scale, each in the first row with room."""
    yield text("The suite as it will print", "heading")
    yield gap(4)
    scale = _scale(run, width_pt) * smaller
    rows: list[list[tuple[float, list[Part]]]] = []
    for recorded, piece in zip(run.pieces, seen.pieces, strict=True):
        pages = gallery.best(recorded.name, LIST_PX).pages
        for block in _blocks(recorded, piece, pages, scale, width_pt):
            needed = width_pt - block[0]
            room = (row for row in rows if sum(width for width, _ in row) <= needed)
            row = next(room, None)
            if row is None:
                rows.append(row := [])
            row.append(block)
    for row in rows:
        yield from _row(row)
    yield text("All at one scale. Photographs are shown in their own colours.", "quiet")
    yield gap(10)


def _scale(run: Run, width_pt: float) -> float:
    """Return points for each mm of the pieces."""
    widest = max((it.trim_mm[0] for it in run.pieces), default=1.0)
    tallest = max((it.trim_mm[1] for it in run.pieces), default=1.0)
    many = max(1.0, math.sqrt(len(run.pieces) / FEW))
    return min(TALLEST_PT / tallest, width_pt * WIDEST / widest) / many


def _blocks(
    recorded: RecordedPiece,
    piece: PieceSeen,
    pages: Sequence[Picture],
    scale: float,
    width_pt: float,
) -> Iterator[tuple[float, list[Part]]]:
    """Yield a piece's pages with its words under the first of them, each as wide as it is."""
    width, height = (side * scale for side in recorded.trim_mm)
    across = max(1, int((width_pt - BETWEEN_PT) // (width + 6)))
    told = [text(piece.name, "strong"), *(text(fact, "quiet") for fact in piece.facts)]
    if piece.not_yet:
        told.append(text(piece.not_yet, "italic"))
    lines = [pages[at : at + across] for at in range(0, len(pages), across)] or [()]
    for number, line in enumerate(lines):
        shown = [picture(it.png, it.width_px, it.height_px, (width, height)) for it in line]
        cells = [[it] for it in shown] or [[text("no picture yet", "quiet")]]
        widths = [width + 6] * len(shown) or [NARROWEST_PT]
        block = [grid([cells], widths, lines=False, pad_pt=1), gap(2)]
        yield (
            max(sum(widths), NARROWEST_PT) + BETWEEN_PT,
            [*block, *(told if number == len(lines) - 1 else ())],
        )


def _row(row: Sequence[tuple[float, list[Part]]]) -> Iterator[Part]:
    yield grid([[cell for _, cell in row]], [width for width, _ in row], lines=False, pad_pt=2)
    yield gap(8)


def _colours(seen: Seen, width_pt: float) -> Iterator[Part]:
    """Name each colour, and show it on each stock, side by side."""
    if not seen.colours:
        return
    heading: list[Part] = [text("The colours, by name", "heading"), gap(2)]
    for colour in seen.colours:
        named = [text(colour.name, "strong"), text(colour.note, "quiet")]
        shown = [*(_print(it) for it in colour.prints), *(_none(it) for it in colour.waiting)]
        rows = []
        for at in range(0, len(shown), ACROSS):
            line = shown[at : at + ACROSS]
            rows.append([named, *line, *([text("")] * (ACROSS - len(line)))])
            named = [text("")]
        widths = [NAMED_PT, *([(width_pt - NAMED_PT) / ACROSS] * ACROSS)]
        yield together([*heading, grid(rows, widths, lines=False, pad_pt=2), rule(after=3)])
        heading = []
    if seen.off_screen:
        yield text("≈ lies beyond what a screen shows; the nearest stands for it.", "quiet")
    yield gap(10)


def _print(printed: PrintSeen) -> list[Part]:
    mark = "" if printed.printed.shown else " ≈"
    return [
        patch(printed.paper, printed.printed),
        gap(2),
        text(f"{printed.stock}{mark}", "small"),
        text(wording.some(printed.pieces), "quiet"),
    ]


def _none(stock: str) -> list[Part]:
    return [gap(21), text(stock, "small"), text("not matched yet", "quiet")]


def _stocks(seen: Seen, width_pt: float) -> Iterator[Part]:
    widths = [44.0, width_pt * 0.45, width_pt * 0.55 - 44.0]
    rows = [
        [patch(None, stock.paper), text(stock.title), text(joined(stock.pieces), "quiet")]
        for stock in seen.stocks
    ]
    yield together([text("The stocks", "heading"), gap(4), grid(rows, widths, pad_pt=1.6)])
    yield gap(12)


def _signing(run: Run, width_pt: float) -> Iterator[Part]:
    third = width_pt / 3
    choice = [
        [tick_box(), text("Approved as shown")],
        [tick_box(), text(f"Approved once changed. {CHANGES}")],
    ]
    writing: list[Part] = []
    for _ in range(WRITING_LINES):
        writing += [gap(WRITING_PT), rule()]
    names = [text(it, "label") for it in ("Name", "Date", "Signature")]
    yield together(
        [
            text("To sign", "heading"),
            marked(escape(SIGNED_FOR), "small"),
            gap(6),
            grid(choice, [20, width_pt - 20], lines=False, pad_pt=2),
            *writing,
            gap(34),
            grid([names], [third] * 3, over=True),
            *([gap(6), text(_page_code(run), "quiet")] if run.shown else ()),
        ]
    )


def _page_code(run: Run) -> str:
    return (
        f"This is page {code_of(run.shown)}. Anything changed in what is signed for makes another."
    )


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``client.pdf`` and ``client.html``."""
    bench.progress("writing the client's page")
    return client_pages(order, run, bench, gallery)
