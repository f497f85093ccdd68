"""A small picture of a layout as SVG: trims, bleeds, marks, what the device cannot print.

Colours are CSS custom properties with a light and a dark set, so the picture suits the page it
stands in; its text is real text.
"""

from collections.abc import Sequence
from html import escape

from inkaccord.layout.cutplan import Cut
from inkaccord.layout.folds import fold_lines
from inkaccord.layout.marks import MarkSet
from inkaccord.layout.model import Axis, Item, Placement, SheetLayout
from inkaccord.sizes import Box, Size

_STYLE = """
.ia{--paper:#fff;--edge:#555;--out:#e3e3e3;--trim:#1d6f5c;--bleed:#cfe7df;--text:#1c1c1c;\
--mark:#444;--cut:#b3261e}
@media(prefers-color-scheme:dark){.ia{--paper:#23272a;--edge:#aaa;--out:#15181a;--trim:#6fd0b5;\
--bleed:#2f4a43;--text:#f0f0f0;--mark:#bbb;--cut:#ff8a80}}
.ia text{font-family:system-ui,sans-serif;fill:var(--text);text-anchor:middle;\
dominant-baseline:central}
.ia .name{paint-order:stroke;stroke:var(--paper);stroke-linejoin:round}
"""


def sheet_svg(
    layout: SheetLayout,
    items: Sequence[Item],
    *,
    width_px: int = 320,
    placements: Sequence[Placement] | None = None,
    marks: MarkSet | None = None,
    cuts: Sequence[Cut] = (),
    caption: str | None = None,
) -> str:
    """Return an SVG drawing of one side of a layout.

    Parameters
    ----------
    layout
        The layout; its front is drawn unless other placements are given.
    items
        The pieces, for their folds.
    width_px
        Width of the picture; the height follows.
    placements
        What to draw instead of the front, such as the back.
    marks, cuts
        Drawn when given; cuts carry their numbers.
    caption
        What the picture shows, for people who cannot see it. Made from the layout if left out.
    """
    size = layout.sheet.size
    placed = layout.placements if placements is None else tuple(placements)
    by_name = {item.name: item for item in items}
    words = caption or _caption(layout)
    # Room round the sheet, so that its edge and the numbers of cuts are not clipped.
    room = max(size.width_pt, size.height_pt) * 0.03
    box = f"{-room:g} {-room:g} {size.width_pt + 2 * room:g} {size.height_pt + 2 * room:g}"
    height = width_px * (size.height_pt + 2 * room) / (size.width_pt + 2 * room)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="ia" role="img" viewBox="{box}" '
        f'width="{width_px}" height="{height:.0f}" aria-label="{escape(words)}">',
        f"<title>{escape(words)}</title><style>{_STYLE}</style>",
        _rect(Box(0, 0, size.width_pt, size.height_pt), size, "fill:var(--out);stroke:var(--edge)"),
        _rect(layout.sheet.printable, size, "fill:var(--paper)"),
    ]
    parts += [_rect(p.bleed, size, "fill:var(--bleed)") for p in placed]
    scale = (size.width_pt + 2 * room) / width_px
    for piece in placed:
        parts.append(_rect(piece.trim, size, "fill:var(--paper);stroke:var(--trim)", scale * 1.2))
        parts += _folds(piece, by_name, size, scale)
        parts.append(_label(piece, size, scale))
    if marks is not None:
        parts += _marks(marks, size, scale)
    parts += [_cut(cut, size, scale) for cut in cuts]
    parts.append("</svg>")
    return "\n".join(parts)


def _caption(layout: SheetLayout) -> str:
    names = sorted({placed.item for placed in layout.placements})
    pieces = ", ".join(f"{layout.copies_of(name)} × {name}" for name in names)
    return f"{layout.run} sheets {layout.sheet.name} ({layout.sheet.size}): {pieces}"


def _rect(box: Box, size: Size, style: str, stroke: float = 1.0) -> str:
    return (
        f'<rect x="{box.left:.2f}" y="{size.height_pt - box.top:.2f}" width="{box.width:.2f}" '
        f'height="{box.height:.2f}" style="{style};stroke-width:{stroke:.2f}"/>'
    )


def _line(x1: float, y1: float, x2: float, y2: float, size: Size, style: str, width: float) -> str:
    return (
        f'<line x1="{x1:.2f}" y1="{size.height_pt - y1:.2f}" x2="{x2:.2f}" '
        f'y2="{size.height_pt - y2:.2f}" style="{style};stroke-width:{width:.2f}"/>'
    )


def _label(piece: Placement, size: Size, scale: float) -> str:
    """Return the piece's name along its own reading direction, as large as fits."""
    box = piece.trim
    along, across = (box.height, box.width) if piece.turned else (box.width, box.height)
    font = min(11 * scale, across * 0.6, along * 0.9 / max(1, len(piece.item)) / 0.56)
    if font < 4.5 * scale:
        return ""
    x, y = (box.left + box.right) / 2, size.height_pt - (box.bottom + box.top) / 2
    turn = f' transform="rotate({-piece.rotation} {x:.2f} {y:.2f})"' if piece.rotation else ""
    return (
        f'<text class="name" x="{x:.2f}" y="{y:.2f}" font-size="{font:.2f}" '
        f'stroke-width="{font / 3:.2f}"{turn}>{escape(piece.item)}</text>'
    )


def _folds(piece: Placement, by_name: dict[str, Item], size: Size, scale: float) -> list[str]:
    style = f"stroke:var(--trim);stroke-dasharray:{4 * scale:.2f} {3 * scale:.2f}"
    box = piece.trim
    found = []
    for _, at, runs in fold_lines(by_name[piece.item], piece):
        ends = (
            (at, box.bottom, at, box.top) if runs is Axis.UPRIGHT else (box.left, at, box.right, at)
        )
        found.append(_line(*ends, size, style, scale))
    return found


def _marks(marks: MarkSet, size: Size, scale: float) -> list[str]:
    style = "stroke:var(--mark)"
    found = [
        _line(m.x1_pt, m.y1_pt, m.x2_pt, m.y2_pt, size, style, 0.8 * scale) for m in marks.lines
    ]
    found += [
        _rect(box, size, "fill:none;stroke:var(--mark)", 0.6 * scale) for box in marks.targets
    ]
    boxes = [swatch.box for swatch in marks.swatches] + ([marks.slug.box] if marks.slug else [])
    found += [_rect(box, size, "fill:var(--mark);opacity:.45", 0) for box in boxes]
    return found


def _cut(cut: Cut, size: Size, scale: float) -> str:
    """Return the cut as a line through the paper that lies on the table, numbered at its end.

    Two cuts that part neighbours lie close and follow each other: their numbers stand at
    opposite ends.
    """
    paper, odd = cut.paper, cut.number % 2
    if cut.runs is Axis.UPRIGHT:
        ends = (cut.at_pt, paper.bottom, cut.at_pt, paper.top)
        x, y = cut.at_pt, size.height_pt - (paper.top if odd else paper.bottom)
    else:
        ends = (paper.left, cut.at_pt, paper.right, cut.at_pt)
        x, y = (paper.left if odd else paper.right), size.height_pt - cut.at_pt
    return (
        _line(*ends, size, "stroke:var(--cut)", 0.8 * scale)
        + f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{5 * scale:.2f}" style="fill:var(--cut)"/>'
        + f'<text x="{x:.2f}" y="{y:.2f}" font-size="{6.5 * scale:.2f}" '
        + f'style="fill:var(--paper)">{cut.number}</text>'
    )
