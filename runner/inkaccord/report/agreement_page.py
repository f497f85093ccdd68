"""The agreement sheet: on paper, in a page or two, how the order's pieces agree in colour.

It is made to be filed with the order and signed: the pieces side by side, every build with its
evidence, and what was known of their distances on the day.
"""

import math
from collections import Counter
from collections.abc import Collection, Iterator, Sequence

from inkaccord.artwork.finishing.groups import INKS_NOT_KNOWN
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.report.glance import MOST_WITH_SWATCHES, glance, legend
from inkaccord.report.graphics import Chart, Mark, Tile
from inkaccord.report.paper import (
    Row as Cells,
)
from inkaccord.report.paper import (
    escape,
    gap,
    grid,
    marked,
    paper_of,
    picture,
    rule,
    text,
    together,
    typeset,
)
from inkaccord.report.paper_chart import drawn
from inkaccord.report.parts import GridPart, Part
from inkaccord.report.screen import ScreenColour
from inkaccord.report.view_colours import ColourView, Row, colour_views
from inkaccord.run.agreement import Distance
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import LIST_PX, Gallery, Picture
from inkaccord.run.record import PieceStatus, RecordedPiece, Run
from inkaccord.run.verdicts import at_a_glance, judged_by_eye, not_sure, told
from inkaccord.words import counted, day, joined

TALLEST_PT, WIDEST = 150.0, 0.46
"""How large the largest piece may be: points, and share of the page's width."""
FEW = 10
"""Pieces from which on they are shown smaller."""
LEAST_PT_PER_MM = 0.42
"""Scale from which on all pieces stand in one row."""
BETWEEN_PT = 14.0
GLANCE_PT = 520.0
"""Height of the first picture at most."""
LONGEST = 240
"""Letters of what the order says of a colour; the rest stands in the order."""
MOST_BUILDS = 80
"""Builds that are given one by one: about four pages of them."""


def agreement_page(order: Order, run: Run, known: Bench, gallery: Gallery) -> OutFile | None:
    """Return ``agreement.pdf``; the same bytes for the same record, order and evidence.

    None while no colour is known anywhere: there is nothing to agree to.
    """
    if not run.translations:
        return None
    title = run.title or run.order
    colours = colour_views(run, order, known)

    def story(width_pt: float) -> list[Part]:
        builds = [*_colours(colours, order, width_pt)]
        tables = [at for at, part in enumerate(builds) if isinstance(part, GridPart)]
        below = tables[-1] + 1 if tables else 0
        return [
            text("Agreement sheet", "label"),
            text(title, "title"),
            gap(2),
            text(_summary(run)),
            rule(1.0, before=8, after=8),
            *_standing(order, run),
            *_suite(run, gallery, width_pt),
            *_glance(order, run, known, width_pt),
            *_how_to_read(order),
            *builds[:below],
            # Nobody signs a page that has nothing on it.
            together([*builds[below:], *_signing(width_pt)]),
        ]

    data = typeset(
        story,
        size=paper_of(order),
        title=f"Agreement sheet: {title}",
        running=f"{title} · order {run.order} · {day(run.date)} · agreement sheet",
        recall=known.recall,
    )
    return OutFile("agreement.pdf", data, "agreement-sheet")


def _summary(run: Run) -> str:
    due = f", due {day(run.due, weekday=True)}" if run.due else ""
    return (
        f"Order {run.order} of {day(run.date)}: {counted(run.suites, 'suite')} of "
        f"{counted(len(run.pieces), 'piece')}{due}."
    )


def _standing(order: Order, run: Run) -> Iterator[Part]:
    """Say what may be said of the whole, the worst first."""
    waiting = [it for it in run.pieces if it.status is not PieceStatus.READY]
    unsure = not_sure(run, but_by_eye=True)
    by_eye = judged_by_eye(run, order)
    if not waiting and not unsure and run.agreement:
        word = "All that was measured agrees" if by_eye else "All shared colours agree"
        but = ", but for what is accepted" if run.accepted or _not_known(run) else ""
        yield text(f"{word}, surely within the order's tolerances{but}.", "strong")
    if unsure:
        verb = "is" if len(unsure) == 1 else "are"
        yield text(f"{joined(unsure)} {verb} not surely within the tolerances.", "strong")
    for judged in by_eye:
        on = wording.some(judged.pieces)
        yield text(f"{joined(judged.colours)} on {on}: judged by eye, not measured.")
    for one in run.accepted:
        again = "" if one.holds else ", but has become worse since"
        said = f"{one.colour} on {one.piece} is accepted at {one.known:.1f} ΔE00{again}: {one.why}."
        yield marked(escape(said))
    for piece in waiting:
        why = f", {piece.why}" if piece.why else ""
        yield marked(f"<b>{escape(piece.name)}</b>: {piece.status}{escape(why)}")
    for name, why in _not_known(run):
        yield marked(
            f"<b>Not known in which inks {escape(name)} prints</b>: its page is converted before "
            f"it is printed. Accepted: {escape(why)}."
        )
    yield gap(8)


def _not_known(run: Run) -> list[tuple[str, str]]:
    """Return the pieces that the order lets be though their inks can't be known, and why."""
    return [
        (piece.name, why)
        for piece in run.pieces
        for code, why in sorted(piece.waived.items())
        if code in INKS_NOT_KNOWN
    ]


def _suite(run: Run, gallery: Gallery, width_pt: float) -> Iterator[Part]:
    """Lay the pieces side by side at one scale, in as many rows as they need."""
    pages = {it.name: gallery.best(it.name, LIST_PX).pages[:1] for it in run.pieces}
    waiting = {it.name for it in run.pieces if not gallery.translated(it.name, LIST_PX).pages}
    scale = _scale(run, width_pt)
    row: list[RecordedPiece] = []
    used = 0.0
    for piece in run.pieces:
        need = _column_pt(piece, scale)
        if row and used + need > width_pt:
            yield from _row(row, pages, waiting, scale)
            row, used = [], 0.0
        row.append(piece)
        used += need
    yield from _row(row, pages, waiting, scale)
    yield text(
        "As each pair is predicted to print it, on its stock; first pages. A screen or a desk "
        "printer can't show print exactly: judge by the numbers and by printed swatches.",
        "quiet",
    )
    legends = {it.name: gallery.best(it.name, LIST_PX).legend for it in run.pieces}
    if told := [f"on {name}, {legend}" for name, legend in legends.items() if legend]:
        yield text(f"Finishes: {'. '.join(told)}.", "quiet")
    yield gap(10)


def _scale(run: Run, width_pt: float) -> float:
    """Return points for each mm, such that all pieces stand in one row if that isn't too small."""
    widths = [it.trim_mm[0] for it in run.pieces]
    tallest = max(it.trim_mm[1] for it in run.pieces)
    many = max(1.0, math.sqrt(len(widths) / FEW))
    largest = min(TALLEST_PT / tallest, width_pt * WIDEST / max(widths)) / many
    low, high = LEAST_PT_PER_MM, max(largest, LEAST_PT_PER_MM)
    if sum(_column_pt(it, low) for it in run.pieces) > width_pt:
        return largest
    for _ in range(20):  # halves what is left each time
        middle = (low + high) / 2
        if sum(_column_pt(it, middle) for it in run.pieces) <= width_pt:
            low = middle
        else:
            high = middle
    return low


def _column_pt(piece: RecordedPiece, scale: float) -> float:
    return max(piece.trim_mm[0] * scale, 62.0) + BETWEEN_PT


def _row(
    row: Sequence[RecordedPiece],
    pages: dict[str, tuple[Picture, ...]],
    waiting: Collection[str],
    scale: float,
) -> Iterator[Part]:
    cells: list[list[Part]] = []
    for piece in row:
        box = piece.trim_mm[0] * scale, piece.trim_mm[1] * scale
        shown = [
            picture(page.png, page.width_px, page.height_px, box) for page in pages[piece.name]
        ]
        pair = str(piece.pair).replace("@", " @")
        told = [text(piece.name, "strong"), text(pair, "quiet")]
        if piece.name in waiting:
            told.append(text("original builds: not matched yet", "quiet"))
        cells.append([*(shown or [text("no picture", "quiet")]), gap(2), *told])
    yield grid([cells], [_column_pt(it, scale) for it in row], lines=False, pad_pt=2)
    yield gap(6)


def _glance(order: Order, run: Run, known: Bench, width_pt: float) -> Iterator[Part]:
    if len(run.pieces) > MOST_WITH_SWATCHES:
        return  # the picture would be too small on paper; the tables below hold it all
    chart = glance(run, order, known)
    parts = [
        text("At a glance", "heading"),
        drawn(chart, min(0.75, width_pt / chart.width, GLANCE_PT / chart.height)),
        gap(2),
        drawn(legend(dict.fromkeys(at_a_glance(run).values())), 0.66),
    ]
    yield together(parts)
    yield gap(12)


def _colours(views: Sequence[ColourView], order: Order, width_pt: float) -> Iterator[Part]:
    """Give every build; of an order with very many, what is worst of each colour."""
    if sum(len(view.rows) for view in views) > MOST_BUILDS:
        yield _in_short(views, width_pt)
        yield gap(4)
        yield text("Every build with its evidence stands in the report.", "small")
        return
    for view in views:
        yield from _colour(view, order, width_pt)


def _in_short(views: Sequence[ColourView], width_pt: float) -> Part:
    widths = [40.0, 0.0, 96.0, 132.0, 132.0]
    widths[1] = width_pt - sum(widths)
    head = [text(it, "label") for it in ("", "Colour", "Known", "Farthest apart", "From the aim")]
    rows = [[*_worst(view)] for view in views]
    return grid([head, *rows], widths, head=True, pad_pt=1.6)


def _worst(view: ColourView) -> Iterator[Part | list[Part]]:
    yield text("") if view.aim is None else patch(None, view.aim)
    yield [text(view.name, "strong"), text(_short(view.aim_words), "quiet")]
    ways = Counter(str(row.translation.evidence) for row in view.rows)
    known = [text(f"{number} {way}", "small") for way, number in ways.items()]
    if view.inks_unknown:
        known.append(text(f"inks of {counted(len(view.inks_unknown), 'piece')} not known", "small"))
    if view.waiting:
        known.append(text(f"{len(view.waiting)} not known yet", "small"))
    yield known or text("not known yet", "small")
    for far, whom in ((view.agreement.worst, True), (view.agreement.worst_to_aim, False)):
        if far is None:
            yield text("nothing to compare" if whom else "known by eye only", "small")
            continue
        pieces = f"{far.piece} and {far.other}" if whom else far.piece
        yield [
            text(
                f"{far.delta_e_00:.1f} ±{far.uncertainty:.1f} of {far.tolerance:.1f}: {told(far)}",
                "small",
            ),
            text(pieces, "quiet"),
        ]


def _colour(view: ColourView, order: Order, width_pt: float) -> Iterator[Part]:
    widths = [40.0, 0.0, 96.0, 36.0, 40.0, 116.0]
    widths[1] = width_pt - sum(widths)
    note = f"{view.note}; " if view.note else ""
    head: Cells = [
        text("") if view.aim is None else patch(None, view.aim),
        [text(view.name, "strong"), text(_short(f"{note}aim: {view.aim_words}"), "quiet")],
        text("Build", "label"),
        text("To aim", "number-label"),
        text("Sure to", "number-label"),
        text("Evidence", "label"),
    ]
    rows = [[*_build(row)] for row in view.rows]
    yield grid([head, *rows], widths, head=True, pad_pt=1.6)
    for line in _distances(view, order):
        yield text(line, "small")
    if view.waiting:
        yield text(f"Not known yet on {joined(view.waiting)}.", "small")
    if view.inks_unknown:
        yield text(wording.inks_unknown(view.inks_unknown), "small")
    yield gap(12)


def _build(row: Row) -> Iterator[Part | list[Part]]:
    translation = row.translation
    yield patch(row.paper, row.printed)
    yield [
        text(row.pair.replace("@", " @")),
        text(wording.some(row.pieces) or "no piece", "quiet"),
    ]
    yield text(str(translation.build))
    yield text(translation.to_aim, "number")
    yield text(translation.sure_to, "number")
    since = f", {day(translation.known_since)}" if translation.known_since else ""
    said = [text(f"{translation.evidence}{since}", "small")]
    if translation.sheets:
        said.append(text(f"sheet {joined(translation.sheets)}", "quiet"))
    if not translation.reachable:
        said.append(
            text(_short(f"{translation.reach}: {translation.lost or 'the nearest build'}"), "small")
        )
    yield said


def _short(words: str) -> str:
    return words if len(words) <= LONGEST else f"{words[:LONGEST].rstrip()} …"


def _distances(view: ColourView, order: Order) -> Iterator[str]:
    """Say the two worst distances in words."""
    far, aim = view.agreement.worst, view.agreement.worst_to_aim
    if far:
        yield f"Farthest apart: {far.piece} and {far.other}, {_numbers(far, order)}."
    if aim:
        yield f"Farthest from the aim: {aim.piece}, {_numbers(aim, order)}."


def _numbers(distance: Distance, order: Order) -> str:
    more = ""
    if distance.paper_relative is not None:
        more += (
            f", against the papers {distance.paper_relative:.1f} ±{distance.paper_uncertainty:.1f}"
        )
    if distance.other_light is not None:
        more += f", under {order.light} {distance.other_light:.1f}"
    numbers = (
        f"{distance.delta_e_00:.1f} ±{distance.uncertainty:.1f} of {distance.tolerance:.1f} allowed"
    )
    return f"{numbers}{more}: {told(distance)}"


def patch(paper: ScreenColour | None, printed: ScreenColour) -> Part:
    """Return a colour on its stock; an aim without a stock fills the whole."""
    rim = 0.0 if paper is None else 4.0
    marks: list[Mark] = []
    if paper is not None:
        marks.append(Tile(0, 0, 34, 20, "paper", paper.hex))
    marks.append(Tile(rim, rim, 34 - 2 * rim, 20 - 2 * rim, "printed", printed.hex))
    return drawn(Chart(34, 20, "", tuple(marks)), 0.95)


def _how_to_read(order: Order) -> Iterator[Part]:
    yield text(
        f"Distances are ΔE00 (ISO/CIE 11664-6) between predicted CIELAB values for D50 and the 2° "
        f"observer; ± is their 95 % bound, from those of both pieces or of the piece and the aim. "
        f"The order allows {order.tolerances.between_pieces:g} "
        f"between two pieces and {order.tolerances.to_aim:g} to the aim. Colours on this page are "
        "sRGB. Nothing here is a proof: for a job that must not fail, print one swatch of each "
        "build.",
        "quiet",
    )
    yield gap(12)


def _signing(width_pt: float) -> Iterator[Part]:
    yield gap(20)
    third = width_pt / 3
    yield grid(
        [[text("Seen and agreed", "label"), text("Name", "label"), text("Date", "label")]],
        [third] * 3,
        over=True,
    )


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``agreement.pdf``, once something is known."""
    bench.progress("writing the agreement sheet")
    page = agreement_page(order, run, bench, gallery)
    return [] if page is None else [page]
