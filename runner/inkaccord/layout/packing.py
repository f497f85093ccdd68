"""Lay pieces on sheets: fewest sheets, then least paper, then fewest layouts."""

from collections.abc import Sequence
from dataclasses import dataclass

from inkaccord.diagnostics import Diagnostic, Place, error, note, warning
from inkaccord.errors import OrderError
from inkaccord.layout.columns import Bed
from inkaccord.layout.duplex import (
    TOLERANCE_PT,
    back_of,
    backed,
    check_turning,
    register_error_pt,
    turning_axis,
)
from inkaccord.layout.fitting import too_large, usable
from inkaccord.layout.folds import check_grain
from inkaccord.layout.guillotine import UNITS_PER_PT, Leaf, Part, Tree, to_units
from inkaccord.layout.model import (
    Axis,
    Block,
    Duplex,
    Gutter,
    Imposition,
    Item,
    LayoutRules,
    Placement,
    SheetLayout,
    SheetStock,
)
from inkaccord.layout.runs import bound_on_sheets, plan_runs
from inkaccord.layout.thinning import thinned
from inkaccord.layout.weighing import weighed
from inkaccord.sizes import Box


def lay_out(
    items: Sequence[Item], sheets: Sequence[SheetStock], rules: LayoutRules | None = None
) -> Imposition:
    """Return the layouts that need the fewest sheets, then the least paper, and print no more.

    Parameters
    ----------
    items
        Pieces that share device, stock and sides.
    sheets
        The sheet sizes that the device takes; more than one may be used.
    rules
        Gutters, room for marks, and how the second side is printed.

    Raises
    ------
    OrderError
        If a piece fits on no sheet, names repeat, or sides and turning do not go together.
    """
    rules = rules or LayoutRules()
    _check(items, sheets, rules)
    rooms = [_Room.of(items, sheet, rules) for sheet in sheets]
    _check_fit(items, sheets, rooms, rules)
    beds, wanted = [room.bed(items) for room in rooms], [item.quantity for item in items]
    plan = plan_runs(beds, wanted, max_layouts=rules.max_layouts, costs=rules.costs)
    if plan is None:
        raise OrderError.of(
            "too-few-layouts",
            f"the pieces could not be laid in {rules.max_layouts} different layouts",
            hint="allow more layouts, or larger sheets",
        )
    yields = [bed.yields for bed in beds]
    options = [
        tuple(
            rooms[column.bed].layout(items, column.tree, run)
            for column, run in thinned(chosen, wanted, yields)
        )
        for chosen in plan.options
    ]
    at, ways = weighed(options, rules.costs)
    imposition = Imposition(
        items=tuple(items),
        layouts=options[at],
        lower_bound=plan.lower_bound,
        method=plan.method,
        ways=ways,
    )
    return judged(imposition, rules)


def least_sheets(items: Sequence[Item], sheets: Sequence[SheetStock], rules: LayoutRules) -> int:
    """Return how many sheets pieces that fit on them need at least, quicker than laying them."""
    beds = [_Room.of(items, sheet, rules).bed(items) for sheet in sheets]
    return bound_on_sheets(beds, [item.quantity for item in items])


def judged(imposition: Imposition, rules: LayoutRules) -> Imposition:
    """Return an imposition with what is to be said of its grain, its bound and its gutters."""
    findings = (*check_grain(imposition), *_remarks(imposition, rules))
    return imposition.model_copy(update={"findings": findings})


def half_gutter_pt(item: Item, rules: LayoutRules) -> float:
    """Return how much of the gutter around a piece is its own, on every side."""
    share = item.bleed_pt if rules.gutter is Gutter.TOUCH else item.bleed_pt / 2
    return max(share, rules.between_pt / 2)


@dataclass(frozen=True)
class _Room:
    """The part of one sheet into which cells are packed."""

    sheet: SheetStock
    rules: LayoutRules
    box: Box

    @classmethod
    def of(cls, items: Sequence[Item], sheet: SheetStock, rules: LayoutRules) -> "_Room":
        # A cell is the trim with its half of the gutters. At the sheet's edge only the bleed
        # must be printable, so there cells may reach out by what is more, or must stay in.
        slack = min(half_gutter_pt(item, rules) - item.bleed_pt for item in items)
        box = usable(sheet, rules).grown(slack)
        if rules.duplex.one_forme:
            middle = sheet.size.width_pt / 2, sheet.size.height_pt / 2
            if turning_axis(sheet, rules.duplex) is Axis.UPRIGHT:
                box = box._replace(right=middle[0])
            else:
                box = box._replace(top=middle[1])
        return cls(sheet, rules, box)

    def part(self, item: Item) -> Part:
        """Return a piece as a cell, and the ways it may lie on this sheet."""
        gutter = 2 * half_gutter_pt(item, self.rules)
        asked, grain = item.grain, self.sheet.grain
        upright = asked is None or grain is None or asked is grain
        turned = item.may_turn and (asked is None or grain is None or asked is not grain)
        return Part(
            to_units(item.trim.width_pt + gutter),
            to_units(item.trim.height_pt + gutter),
            upright,
            turned,
        )

    def bed(self, items: Sequence[Item]) -> Bed:
        """Return the room in whole units."""
        return Bed(
            max(0, to_units(self.box.width)),
            max(0, to_units(self.box.height)),
            tuple(self.part(item) for item in items),
            self.sheet.size.width_pt * self.sheet.size.height_pt,
            2 if self.rules.duplex.one_forme else 1,
        )

    def layout(self, items: Sequence[Item], tree: Tree, run: int) -> SheetLayout:
        """Return the tree as placements in points, in the middle of the room."""
        width, height = self._extent(items, tree)
        x = self.box.left + (self.box.width - width) / 2
        y = self.box.bottom + (self.box.height - height) / 2
        axis = turning_axis(self.sheet, self.rules.duplex)
        if self.rules.duplex.one_forme and axis is Axis.UPRIGHT:
            x = self.box.right - width
        elif self.rules.duplex.one_forme:
            y = self.box.top - height
        placements: list[Placement] = []
        block = self._place(items, tree, x, y, placements)
        if self.rules.duplex.one_forme:
            block = self._mirrored(items, block, axis, placements)
        return SheetLayout(
            sheet=self.sheet,
            duplex=self.rules.duplex,
            placements=tuple(placements),
            run=run,
            tree=block,
        )

    def _extent(self, items: Sequence[Item], tree: Tree) -> tuple[float, float]:
        if isinstance(tree, Leaf):
            part = self.part(items[tree.part])
            size = part.width / UNITS_PER_PT, part.height / UNITS_PER_PT
            return size[::-1] if tree.turned else size
        sizes = [self._extent(items, part) for part in tree.parts]
        widths, heights = [w for w, _ in sizes], [h for _, h in sizes]
        if tree.cut is Axis.UPRIGHT:
            return sum(widths), max(heights)
        return max(widths), sum(heights)

    def _place(
        self, items: Sequence[Item], tree: Tree, x: float, y: float, into: list[Placement]
    ) -> Block:
        if isinstance(tree, Leaf):
            item = items[tree.part]
            size = item.trim.turned if tree.turned else item.trim
            inset = half_gutter_pt(item, self.rules)
            placed = Placement(
                item=item.name,
                x_pt=x + inset,
                y_pt=y + inset,
                width_pt=size.width_pt,
                height_pt=size.height_pt,
                rotation=90 if tree.turned else 0,
                bleed_pt=item.bleed_pt,
            )
            into.append(placed)
            return Block(box=placed.trim, placement=len(into) - 1)
        blocks: list[Block] = []
        for part in tree.parts:
            width, height = self._extent(items, part)
            blocks.append(self._place(items, part, x, y, into))
            x += width if tree.cut is Axis.UPRIGHT else 0.0
            y += height if tree.cut is Axis.LEVEL else 0.0
        return Block(box=_around(blocks), cut=tree.cut, parts=tuple(blocks))

    def _mirrored(
        self, items: Sequence[Item], block: Block, axis: Axis, placements: list[Placement]
    ) -> Block:
        """Add the backs beyond the turning axis, and cut the sheet along that axis first."""
        by_name = {item.name: item for item in items}
        fronts = len(placements)
        placements.extend(
            backed(placed, by_name[placed.item], self.sheet.size, axis)
            for placed in tuple(placements)
        )

        def other(this: Block) -> Block:
            if this.placement is not None:
                at = this.placement + fronts
                return Block(box=placements[at].trim, placement=at)
            parts = [other(part) for part in this.parts]
            if this.cut is axis:
                parts.reverse()
            return Block(box=_around(parts), cut=this.cut, parts=tuple(parts))

        halves = [block, other(block)]
        parts = tuple(
            part for half in halves for part in (half.parts if half.cut is axis else (half,))
        )
        return Block(box=_around(halves), cut=axis, parts=parts)


def _around(blocks: Sequence[Block]) -> Box:
    box = blocks[0].box
    for block in blocks[1:]:
        box = box.around(block.box)
    return box


def _check(items: Sequence[Item], sheets: Sequence[SheetStock], rules: LayoutRules) -> None:
    findings: list[Diagnostic] = []
    if not items or not sheets:
        findings.append(error("nothing-to-lay", "expected at least one piece and one sheet size"))
    names = [item.name for item in items]
    findings.extend(
        error("name-repeats", f"two pieces are named {name}", hint="name each piece once")
        for name in sorted({name for name in names if names.count(name) > 1})
    )
    for item in items:
        place = Place(field=f"pieces.{item.name}")
        if item.sides == 2 and rules.duplex is Duplex.ONE_SIDED:
            findings.append(
                error(
                    "needs-two-sides",
                    f"{item.name} has two sides, the sheets are printed on one",
                    place=place,
                    hint="say how the device prints the second side: its 'turning'",
                )
            )
        if item.sides == 1 and rules.duplex.one_forme:
            findings.append(
                error(
                    "needs-one-side",
                    f"{item.name} has one side, but {rules.duplex} prints both with one forme",
                    place=place,
                    hint="lay one-sided pieces on their own sheets, or change the device's "
                    "'turning'",
                )
            )
    if findings:
        raise OrderError(findings)
    for sheet in sheets:
        check_turning(sheet, rules.duplex)


def misfit(
    item: Item, sheets: Sequence[SheetStock], rules: LayoutRules | None = None
) -> Diagnostic | None:
    """Return why a piece, laid alone, fits on none of the sheets; None where one takes it."""
    rules = rules or LayoutRules()
    rooms = [_Room.of([item], sheet, rules) for sheet in sheets]
    if any(room.bed([item]).turned_if_fits(0) is not None for room in rooms):
        return None
    return too_large(item, sheets, rules)


def _check_fit(
    items: Sequence[Item],
    sheets: Sequence[SheetStock],
    rooms: Sequence[_Room],
    rules: LayoutRules,
) -> None:
    beds = [room.bed(items) for room in rooms]
    findings = [
        too_large(item, sheets, rules)
        for i, item in enumerate(items)
        if all(bed.turned_if_fits(i) is None for bed in beds)
    ]
    if findings:
        raise OrderError(findings)


def _remarks(imposition: Imposition, rules: LayoutRules) -> list[Diagnostic]:
    found: list[Diagnostic] = []
    if imposition.gap:
        found.append(
            note(
                "sheets-above-bound",
                f"{imposition.sheets} sheets; the proved lower bound is {imposition.lower_bound}",
            )
        )
    if rules.gutter is Gutter.SHARE and any(item.bleed_pt for item in imposition.items):
        found.append(
            note(
                "bleed-shared",
                "neighbours share their bleed: each keeps half of it where they meet",
                hint="let the bleeds touch if the cutter wanders",
            )
        )
    for layout in imposition.layouts:
        off = register_error_pt(layout, back_of(layout, imposition.items))
        if off > TOLERANCE_PT:
            found.append(warning("out-of-register", f"front and back lie {off:.3f} pt apart"))
    return found
