"""A page of artwork as a piece: its boxes, and the way from its own space to the piece's."""

import pikepdf
from pikepdf import Name, Object

from inkaccord.diagnostics import Diagnostic, Place, error, note
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.sizes import Box, Size

SIZE_TOLERANCE_PT = 0.75
"""How far the artwork's trim may differ from the order's before it is refused."""


class PageGeometry(Frozen):
    """A page's boxes in its own space, and the way from there to the piece."""

    trim: Box
    shown: Box
    """Trim and bleed as far as the page has them."""
    turn: int
    unit: float
    width_pt: float
    height_pt: float
    guessed: bool

    @classmethod
    def of(cls, page: pikepdf.Page, trim: Size, bleed_pt: float, place: Place) -> "PageGeometry":
        """Read a page's boxes. Raises OrderError when its trim is not the order's."""
        media = _box(page.mediabox)
        unit = float(inherited(page.obj, "/UserUnit") or 1)
        turn = int(inherited(page.obj, "/Rotate") or 0) % 360
        own = page.obj.get(Name.TrimBox)
        width, height = trim.width_pt / unit, trim.height_pt / unit
        if turn in {90, 270}:
            width, height = height, width
        seen = _box(own) if own is not None else _box(page.cropbox)
        box, guessed = seen, False
        if own is None and not _same(seen, width, height):
            guessed = not _same(seen, width + 2 * bleed_pt / unit, height + 2 * bleed_pt / unit)
            x, y = (seen.left + seen.right - width) / 2, (seen.bottom + seen.top - height) / 2
            box = Box(x, y, x + width, y + height)
        if not _same(box, width, height) or not media.holds(box, SIZE_TOLERANCE_PT):
            got = Size(width_pt=seen.width * unit, height_pt=seen.height * unit)
            raise OrderError(_wrong_size(got.turned if turn in {90, 270} else got, trim, place))
        # The order's trim, in the middle of the artwork's.
        x, y = (box.left + box.right - width) / 2, (box.bottom + box.top - height) / 2
        box = Box(x, y, x + width, y + height)
        wanted = box.grown(bleed_pt / unit)
        shown = wanted.common(media)
        return cls(
            trim=box,
            shown=shown,
            turn=turn,
            unit=unit,
            width_pt=trim.width_pt,
            height_pt=trim.height_pt,
            guessed=guessed,
        )

    @property
    def matrix(self) -> tuple[float, float, float, float, float, float]:
        """From the page's space to the piece's: upright, in points, trim corner at (0, 0)."""
        u, box = self.unit, self.trim
        if self.turn == 90:
            return 0, -u, u, 0, -u * box.bottom, u * box.right
        if self.turn == 180:
            return -u, 0, 0, -u, u * box.right, u * box.top
        if self.turn == 270:
            return 0, u, -u, 0, u * box.top, -u * box.left
        return u, 0, 0, u, -u * box.left, -u * box.bottom

    def placed(self, box: Box) -> Box:
        """Return a box of the page in the piece's space."""
        a, b, c, d, e, f = self.matrix
        xs = sorted((a * box.left + c * box.bottom + e, a * box.right + c * box.top + e))
        ys = sorted((b * box.left + d * box.bottom + f, b * box.right + d * box.top + f))
        return Box(xs[0], ys[0], xs[1], ys[1])

    def findings(self, place: Place) -> list[Diagnostic]:
        """Return what is to be said of this page."""
        found: list[Diagnostic] = []
        if self.guessed:
            found.append(
                note(
                    "trim-guessed",
                    "the page has no TrimBox and is larger than the piece: its middle was taken",
                    place=place,
                    hint="export the artwork with its trim box",
                )
            )
        return found


def inherited(node: Object, key: str) -> Object | None:
    """Return a page attribute, from the page or the nearest parent that has it."""
    for _ in range(64):  # deeper trees are broken trees
        value = node.get(key)
        if value is not None:
            return value
        parent = node.get("/Parent")
        if parent is None:
            return None
        node = parent
    return None


def _wrong_size(got: Size, wanted: Size, place: Place) -> Diagnostic:
    turned = got.turned.same_as(wanted, SIZE_TOLERANCE_PT)
    return error(
        "wrong-trim-size",
        f"the artwork's trim is {got}, expected {wanted}",
        place=place,
        hint="turn the page by a quarter, or the piece's 'trim'"
        if turned
        else "set the piece's 'trim', or the artwork's TrimBox",
    )


def _box(array: object) -> Box:
    a, b, c, d = (float(value) for value in array)  # type: ignore[attr-defined]  # a PDF array
    return Box(min(a, c), min(b, d), max(a, c), max(b, d))


def _same(box: Box, width: float, height: float) -> bool:
    return (
        abs(box.width - width) <= SIZE_TOLERANCE_PT
        and abs(box.height - height) <= SIZE_TOLERANCE_PT
    )
