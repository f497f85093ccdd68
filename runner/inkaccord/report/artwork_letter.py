"""The artwork letter: one page for whoever made a piece's artwork, before anything is printed."""

from collections.abc import Iterable, Iterator, Sequence

from inkaccord.artwork.inventory.places import PagePicture
from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.drawing.canvas import BOLD, fit_text
from inkaccord.files import safe_name
from inkaccord.foresight.artwork_letter import ArtworkLetter, LetterColour, artwork_letter
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.pdf.boxes import PageBoxes
from inkaccord.recall.recall import Recall
from inkaccord.report.marked_picture import marked_picture
from inkaccord.report.paper import (
    escape,
    gap,
    grid,
    heights_of,
    marked,
    page_room,
    paper_of,
    picture,
    rule,
    text,
    together,
    typeset,
)
from inkaccord.report.parts import Part
from inkaccord.run.bench import Bench
from inkaccord.run.collected import FoundAs
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery
from inkaccord.run.record import PieceStatus, Run
from inkaccord.units import PT_PER_MM, spoken_length
from inkaccord.words import counted, day, thousands

FOLDER = "artwork-letters"
PAGE_PT = 150.0, 150.0
"""Room for a picture of a page."""
ACROSS = {"lying": 4, "upright": 6}
"""Colours in a row, by how the pages lie."""
COLOUR_PT = {"lying": 62.0, "upright": 82.0}
"""Height of the picture of a colour's places."""
MOST_ROWS = 2, 1
"""How many rows of colours: one where all that has to be changed finds no room below two."""
MOST_MENDED = 6
_EVEN_PT = 0.4
_STANDS = {
    FoundAs.KEPT: "kept",
    FoundAs.FINISH: "a finish",
    FoundAs.UNKNOWN: "no colour of the suite",
}


def artwork_letters(
    order: Order, pieces: Iterable[str], bench: Bench, findings: Sequence[Diagnostic]
) -> list[OutFile]:
    """Return the artwork letter of each of some pieces, one page long."""
    files = []
    for piece in pieces:
        letter = artwork_letter(order, piece, bench, findings)
        files.append(
            OutFile(
                f"{FOLDER}/{safe_name(piece)}.pdf",
                draw_letter(order, letter, bench.recall),
                "artwork-letter",
                pieces=(piece,),
            )
        )
    return files


def draw_letter(order: Order, letter: ArtworkLetter, recall: Recall) -> bytes:
    """Return a letter as a PDF of one page; the same letter gives the same bytes."""
    size, name = paper_of(order), letter.job.name
    title = order.title or order.order

    def story(width_pt: float) -> list[Part]:
        faults = [_fault(at, it, width_pt) for at, it in enumerate(letter.faults, start=1)]
        head, mended = [*_head(order, letter)], _mended(letter)
        understood = [*_understood(letter, width_pt, len(faults))]
        fixed = sum(heights_of([*head, *understood, *mended], width_pt))
        for rows in MOST_ROWS:
            colours = [*_colours(letter, width_pt, rows)]
            taken = fixed + sum(heights_of(colours, width_pt))
            shown = _fitting(faults, width_pt, page_room(size) - taken)
            if shown == len(faults):
                break
        else:  # what finds no room has no number on the picture either
            understood = [*_understood(letter, width_pt, shown)]
        return [*head, *understood, *colours, *_asked(faults, shown), *mended]

    return typeset(
        story,
        size=size,
        title=f"Artwork letter for {name}: {title}",
        running=f"{title} · order {order.order} · {day(order.date)} · {name}",
        recall=recall,
    )


def _head(order: Order, letter: ArtworkLetter) -> Iterator[Part]:
    job = letter.job
    yield text("Artwork letter", "label")
    yield text(job.name, "title")
    yield gap(2)
    yield text(f"{job.piece.artwork}, for {order.title or order.order} of {day(order.date)}")
    yield rule(1.0, before=8, after=7)
    errors = sum(it.severity is Severity.ERROR for it in letter.faults)
    if errors:
        asked = f"{counted(errors, 'thing')} {'has' if errors == 1 else 'have'} to be changed"
    else:
        asked = "Nothing has to be changed"
    looked = len(letter.faults) - errors
    things = f"{counted(looked, 'thing')}{' more' if errors else ''}"
    more = f"; {things} to look at" if looked else ""
    yield marked(
        "This is how your file was understood, before anything is printed. "
        f"<b>{escape(asked)}{escape(more)}.</b>"
    )
    yield gap(8)


def _understood(letter: ArtworkLetter, width_pt: float, shown: int) -> Iterator[Part]:
    pictures = [_page(letter, it, shown) for it in letter.pictures]
    taken = PAGE_PT[0] + 12 if len(pictures) < 2 else PAGE_PT[0] + 60
    left = width_pt - taken if pictures else width_pt
    facts = grid(
        [[text(label, "tag"), text(value)] for label, value in _facts(letter)],
        [82, left - 87],
        lines=False,
        pad_pt=1,
    )
    if not pictures:
        yield facts
        yield gap(8)
        return
    each = (taken - 12) / len(pictures)
    row = grid([pictures], [each] * len(pictures), lines=False, pad_pt=0)
    quiet = text("The line is the cut; what is faint is cut off.", "quiet")
    yield grid([[facts, [row, gap(3), quiet]]], [left, taken], lines=False, pad_pt=0)
    yield gap(8)


def _facts(letter: ArtworkLetter) -> Iterator[tuple[str, str]]:
    job, boxes = letter.job, letter.page
    metric = job.piece.trim.is_metric
    yield "Size when cut", str(job.piece.trim)
    if boxes is not None:
        yield "Page in the file", str(boxes.size_of(boxes.crop))
        yield "Bleed in the file", _rim(boxes, metric=metric)
    asked = f"{spoken_length(job.bleed_pt, metric=metric)} on every side"
    yield "Bleed asked", asked if job.bleed_pt else "none"
    if letter.pages:
        yield "Pages", str(letter.pages)
    yield "Printed by", job.vendor_title
    yield "On", job.stock.description or job.pair.stock


def _rim(boxes: PageBoxes, *, metric: bool) -> str:
    """Return how much of the page lies outside the cut: ``3 mm on every side``."""
    rims = dict(boxes.bleed_pt.named())
    least, most = min(rims.values()), max(rims.values())
    if most < _EVEN_PT:
        return "none: the page ends at the cut"
    if most - least < _EVEN_PT:
        return f"{spoken_length(sum(rims.values()) / 4, metric=metric)} on every side"
    return ", ".join(f"{side} {spoken_length(by, metric=metric)}" for side, by in rims.items())


def _page(letter: ArtworkLetter, page: PagePicture, numbers: int) -> Part:
    """Return a picture of a page on which what has to be changed has its number."""
    across = PAGE_PT[0] if len(letter.pictures) < 2 else (PAGE_PT[0] + 48) / 2 - 6
    scale = min(across / page.width_px, PAGE_PT[1] / page.height_px)
    size = page.width_px * scale, page.height_px * scale
    return marked_picture(page.png, size, _numbers(letter.faults[:numbers], page))


def _numbers(
    faults: Iterable[Diagnostic], shown: PagePicture
) -> Iterator[tuple[int, float, float]]:
    """Yield the number of each fault that has a place on a page, with that place."""
    for number, fault in enumerate(faults, start=1):
        if fault.place.box_mm is not None and (fault.place.page or 1) == shown.page:
            left, bottom, right, top = (edge * PT_PER_MM for edge in fault.place.box_mm)
            yield number, *shown.at((left + right) / 2, (bottom + top) / 2)


def _colours(letter: ArtworkLetter, width_pt: float, rows: int) -> Iterator[Part]:
    if not letter.colours:
        return
    first = letter.pictures[0] if letter.pictures else None
    way = "upright" if first is not None and first.height_px > first.width_px else "lying"
    across = ACROSS[way]
    colours = letter.colours[: rows * across]
    left_out = letter.more_colours + len(letter.colours) - len(colours)
    yield rule(before=0, after=4)
    more = f", and {thousands(left_out)} more" if left_out else ""
    yield marked(f"<b>Its colours, and where they stand</b>{escape(more)}", "body")
    yield gap(3)
    each = width_pt / across
    cells = [_colour(it, (each - 10, COLOUR_PT[way])) for it in colours]
    cells += [[text("")]] * (-len(cells) % across)
    lines = [cells[at : at + across] for at in range(0, len(cells), across)]
    yield grid(lines, [each] * across, lines=False, pad_pt=2)
    yield gap(4)


def _colour(colour: LetterColour, box_pt: tuple[float, float]) -> list[Part]:
    shown, width = colour.picture, box_pt[0]
    parts: list[Part] = []
    if shown is not None:
        parts += [picture(shown.png, shown.width_px, shown.height_px, box_pt), gap(2)]
    first, others = colour.written[0], len(colour.written) - 1
    named = bool(colour.name) and colour.found_as is not FoundAs.NEAR_MISS
    title = colour.name if named else first
    parts.append(marked(f"<b>{escape(fit_text(title, width, 8, BOLD))}</b>", "small"))
    if named:
        parts.append(text(first, "quiet"))
    if others:
        parts.append(text(f"and {thousands(others)} more", "quiet"))
    elif colour.found_as is not FoundAs.BRAND:
        known = f"almost {colour.name}" if colour.name and not named else ""
        parts.append(text(fit_text(known or _STANDS[colour.found_as], width, 8), "quiet"))
    return parts


_ASKED_PT = 52.0
"""Room for the heading of what is asked, and for the line that counts what is left out."""


def _fitting(faults: Sequence[Part], width_pt: float, room_pt: float) -> int:
    """Return how many of the faults there is room for."""
    left = room_pt - _ASKED_PT
    for shown, height in enumerate(heights_of(faults, width_pt)):
        left -= height
        if left < 0:
            return shown
    return len(faults)


def _asked(faults: Sequence[Part], shown: int) -> Iterator[Part]:
    """Yield what has to be changed, as far as it is shown, and how much more there is."""
    if not faults:
        return
    yield rule(before=2, after=5)
    yield text("Please change, or look at", "heading")
    yield gap(2)
    yield from faults[:shown]
    if rest := len(faults) - shown:
        more = counted(rest, "more thing")
        yield text(f"And {more}: ask for the order's own list.", "quiet")


def _fault(number: int, fault: Diagnostic, width_pt: float) -> Part:
    kind = "to change" if fault.severity is Severity.ERROR else "to look at"
    said = [marked(f"{escape(_sentence(fault.message))}", "small")]
    if fault.in_program:
        said.append(text(_sentence(fault.in_program), "quiet"))
    return grid(
        [[marked(f"<b>{number}</b>", "small"), text(kind, "quiet"), said]],
        [16, 52, width_pt - 68],
        lines=False,
        pad_pt=1.5,
    )


def _mended(letter: ArtworkLetter) -> list[Part]:
    if not letter.mended:
        return []
    lines = [text(f"· {_sentence(it)}", "small") for it in letter.mended[:MOST_MENDED]]
    more = len(letter.mended) - MOST_MENDED
    if more > 0:
        lines.append(text(f"· And {counted(more, 'more thing')}.", "small"))
    head = [rule(before=2, after=5), text("Understood and mended by itself", "heading")]
    return [gap(4), together([*head, *lines])]


def _sentence(words: str) -> str:
    """Return words as a sentence; a path at their beginning keeps its letters."""
    start = words.split(" ", 1)[0]
    first = words[:1] if "/" in start or "." in start else words[:1].upper()
    return first + words[1:] + ("" if words.endswith((".", "?", "!")) else ".")


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``artwork-letters/PIECE.pdf`` for each piece whose files can't be sent yet."""
    del gallery
    open_ = [it.name for it in run.pieces if it.status is not PieceStatus.READY]
    if open_:
        bench.progress("writing artwork letters")
    return artwork_letters(order, open_, bench, run.findings)
