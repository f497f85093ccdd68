"""The studio's book as a card for the wall: every colour, and its build on every pair."""

from collections.abc import Iterator, Sequence

from inkaccord.colour.lab import Lab
from inkaccord.errors import OrderError
from inkaccord.knowledge.asking import PairAnswer
from inkaccord.knowledge.book import BookLine
from inkaccord.knowledge.values import Evidence
from inkaccord.report.book_files import remark_on
from inkaccord.report.graphics import Chart, Mark, Tile
from inkaccord.report.paper import Row as Cells
from inkaccord.report.paper import gap, grid, rule, text, together, typeset
from inkaccord.report.paper_chart import drawn
from inkaccord.report.parts import Part
from inkaccord.report.screen import screen_colour
from inkaccord.sizes import Size
from inkaccord.words import counted, day

_PATCH = (84.0, 52.0)
"""Width and height of a colour's own patch, in points."""
_SMALL = (30.0, 13.0)
"""Of what one pair prints of it."""
_LEAST = Size.parse("190mm x 130mm")
"""The smallest page that has room for a colour and its builds."""
_TOGETHER = 16
"""Pairs up to which a colour stays on one page."""


def card_title(client: str | None) -> str:
    """Return what stands at the head of a card that nobody gave a title."""
    return f"Colours of {client}" if client else "The studio's colours"


def book_card(lines: Sequence[BookLine], *, size: Size, title: str) -> bytes:
    """Return a PDF of the book's colours; the same bytes for the same book and evidence.

    Raises OrderError ``card-too-small`` for a page without room for a colour and its builds.
    """
    if size.width_pt < _LEAST.width_pt or size.height_pt < _LEAST.height_pt:
        raise OrderError.of(
            "card-too-small",
            f"a page of {size} has no room for the book's colours and their builds",
            hint=f"give one of at least {_LEAST}, such as a4, letter, or 8.5in x 5.5in",
        )

    def story(width_pt: float) -> list[Part]:
        return [
            text("Book of colours", "label"),
            text(title, "title"),
            gap(2),
            text(_summary(lines)),
            rule(1.0, before=8, after=10),
            *(part for line in lines for part in _colour(line, width_pt)),
            text(
                "Distances are ΔE00 (ISO/CIE 11664-6) as predicted, under D50 for the 2° observer; "
                "± is the 95 % bound. A colour that is estimated has not been read on that pair: "
                "its build is good for a preview, and not for printing. Patches on this page are "
                "sRGB, as your printer has them, and no proof.",
                "quiet",
            ),
        ]

    return typeset(story, size=size, title=title, running=title)


def _summary(lines: Sequence[BookLine]) -> str:
    pairs = {answer.pair for line in lines for answer in line.answers}
    newest = max(line.since for line in lines).date()
    return (
        f"{counted(len(lines), 'colour')} on {counted(len(pairs), 'pair')} of device and stock. "
        f"The book as of {day(newest)}."
    )


def _colour(line: BookLine, width_pt: float) -> Iterator[Part]:
    colour = line.colour
    words = [text(colour.name, "heading"), text(f"Aim: {colour.aim.words}", "small")]
    if colour.client:
        words.append(text(f"For {colour.client}", "small"))
    if colour.note:
        words.append(text(colour.note, "quiet"))
    head = grid(
        [[_patch(line.lab, _PATCH), words]],
        [_PATCH[0] + 12, width_pt - _PATCH[0] - 12],
        lines=False,
    )
    parts = [head, _builds(line, width_pt), gap(14)]
    if len(line.answers) + len(line.unknown) <= _TOGETHER:
        yield together(parts)
    else:
        yield from parts


def _builds(line: BookLine, width_pt: float) -> Part:
    widths = [_SMALL[0] + 8, 0.0, 104.0, 34.0, 40.0, 146.0]
    widths[1] = width_pt - sum(widths)
    head: Cells = [
        text(""),
        text("Device and stock", "label"),
        text("Build", "label"),
        text("Off", "number-label"),
        text("Sure to", "number-label"),
        text("Known", "label"),
    ]
    rows: list[Cells] = [[*_answer(one)] for one in line.answers]
    rows += [
        [text(""), text(pair.replace("@", " @")), text("none yet", "tag"), text(""), text(""),
         text(why, "quiet")]
        for pair, why in sorted(line.unknown.items())
    ]  # fmt: skip
    return grid([head, *rows], widths, head=True, pad_pt=1.6)


def _answer(one: PairAnswer) -> Iterator[Part | list[Part]]:
    known = one.evidence is not Evidence.ESTIMATED
    yield _patch(one.predicted_lab, _SMALL)
    yield text(str(one.pair).replace("@", " @"))
    yield text(str(one.build), "strong" if known else "italic")
    yield text("" if one.delta_e_00 is None or not known else f"{one.delta_e_00:.1f}", "number")
    yield text(f"±{one.uncertainty:.1f}" if known else "", "number")
    said = "estimated: not read yet" if not known else remark_on(one)
    if not said:
        said = "the print that is the aim" if one.itself else "read"
    yield text(said, "quiet")


def _patch(lab: Lab | None, box_pt: tuple[float, float]) -> Part:
    """Return a colour as a screen has it; an empty frame where it is not known."""
    width, height = box_pt
    fill = "#ffffff" if lab is None else screen_colour(lab).hex
    marks: list[Mark] = [Tile(0, 0, width, height, "paper" if lab is None else "printed", fill)]
    return drawn(Chart(width, height, "", tuple(marks)), 1.0)
