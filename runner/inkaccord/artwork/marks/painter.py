"""Paint paths, patterns, forms, images and shadings: tell each as a mark."""

from __future__ import annotations

from functools import partial
from typing import Any

import pikepdf
from typing_extensions import override

from inkaccord.artwork.content.operators import PAINT_OPERATORS
from inkaccord.artwork.marks.interpreter import (
    EVERYWHERE,
    Handler,
    Operands,
    PageInterpreter,
    items,
)
from inkaccord.artwork.marks.many_colours import gradient_colour, image_colour
from inkaccord.artwork.marks.mark import OWN_COLOURS, Mark, PlacedPicture
from inkaccord.artwork.marks.state import Ink, PageState, black_ink
from inkaccord.artwork.roles import Role
from inkaccord.pdf.colours.colours import ArtworkColour, space_name
from inkaccord.pdf.colours.spaces import Space, SpaceKind
from inkaccord.pdf.geometry import (
    NOWHERE,
    Bounds,
    axes_of,
    bounds_of,
    scale_of,
    shared,
    times,
)
from inkaccord.pdf.inline_images import inline_entries
from inkaccord.pdf.page_objects import matrix_of, rectangle_of
from inkaccord.sizes import Box


class Painter(PageInterpreter):
    """Tells what content paints, save text; every mark goes to ``on_mark``.

    A subclass may override the ``paint_…`` methods.
    """

    @override
    def table(self) -> dict[str, Handler]:
        named = super().table() | {
            "m": self._point, "l": self._point, "c": self._points, "v": self._points,
            "y": self._points, "re": self._rectangle, "W": self._clip, "W*": self._clip,
            "Do": self._do, "INLINE IMAGE": self._inline,
            "sh": lambda o: self.paint_shading(self.resource("/Shading", o[-1])),
        }  # fmt: skip
        named["n"] = partial(self._paint_path, False, False)
        for word, (fill, stroke, text) in PAINT_OPERATORS.items():
            if not text:
                named[word.decode()] = partial(self._paint_path, fill, stroke)
        return named

    # paths

    def _point(self, operands: Operands) -> None:
        x, y = float(operands[0]), float(operands[1])
        x0, y0, x1, y1 = self._path
        self._path = min(x0, x), min(y0, y), max(x1, x), max(y1, y)

    def _points(self, operands: Operands) -> None:
        for at in range(0, len(operands) - 1, 2):
            self._point(operands[at : at + 2])

    def _rectangle(self, operands: Operands) -> None:
        x, y, w, h = (float(number) for number in operands)
        self._point((x, y))
        self._point((x + w, y + h))

    def _clip(self, _: Operands) -> None:
        self._clip_next = True

    def _paint_path(self, fill: bool, stroke: bool, _: Operands) -> None:
        bounds = bounds_of(self._path, self.state.ctm)
        try:
            if fill and bounds[0] <= bounds[2]:
                self.paint_fill(bounds, Role.FILL)
            if stroke and bounds[0] <= bounds[2]:
                self.paint_stroke(bounds, Role.STROKE)
        finally:
            if self._clip_next:
                self.state.clip = shared(self.state.clip, bounds)
            self._path, self._clip_next = NOWHERE, False

    def paint_fill(self, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Tell a fill within bounds in the current fill colour."""
        facts["overprint"] = self.state.overprint.fill
        self._tell_ink(self.state.fill, bounds, role, facts)

    def paint_stroke(self, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Tell a stroke along a path within bounds in the current stroke colour."""
        width = self.state.line_width * scale_of(self.state.ctm)
        half = width / 2
        wide = bounds[0] - half, bounds[1] - half, bounds[2] + half, bounds[3] + half
        facts |= {"line_width_pt": width, "overprint": self.state.overprint.stroke}
        self._tell_ink(self.state.stroke, wide, role, facts)

    def _tell_ink(self, ink: Ink, bounds: Bounds, role: Role, facts: dict[str, Any]) -> None:
        if ink.pattern is not None:
            self.paint_pattern(ink, bounds, role, facts)
        else:
            self.tell_mark(ink.colour, bounds, role, **facts)

    def tell_mark(self, colour: ArtworkColour, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Make the mark and hand it on, unless it is clipped away or paints nothing."""
        left, bottom, right, top = shared(bounds, self.state.clip)
        if right < left or top < bottom or colour.paints_nothing:
            return
        self.on_mark(
            Mark(
                page=self.page_number,
                role=role,
                colour=colour,
                box=Box(left, bottom, right, top),
                where=self.where,
                overprint_mode=self.state.overprint.mode,
                see_through=self.state.mixed.see_through,
                blend_modes=self.state.mixed.modes,
                layer=next((name for name in reversed(self._marked) if name), None),
                layer_shown=not any(name in self.layers.hidden for name in self._marked),
                **facts,
            )
        )

    # patterns, forms, images, shadings

    def paint_pattern(self, ink: Ink, bounds: Bounds, role: Role, facts: dict[str, Any]) -> None:
        """Tell what a pattern paints within bounds."""
        pattern = ink.pattern
        if not isinstance(pattern, pikepdf.Dictionary | pikepdf.Stream):
            return
        if int(pattern.get("/PatternType", 0)) == 2:
            colour = self.shading_colour(pattern.get("/Shading"))
            self.tell_mark(colour, bounds, Role.GRADIENT, **facts)
        elif isinstance(pattern, pikepdf.Stream) and int(pattern.get("/PaintType", 1)) == 2:
            self.tell_mark(ink.colour, bounds, role, **facts)
        elif isinstance(pattern, pikepdf.Stream):
            self._read_cell(pattern, shared(bounds, self.state.clip))

    def _read_cell(self, pattern: pikepdf.Stream, onto: Bounds) -> None:
        """Read a coloured tiling pattern once; its marks get the box of what it fills."""
        with self.nested(pattern, "pattern") as entered:
            if not entered:
                return
            tell = self.on_mark

            def tell_spread(mark: Mark) -> None:
                left, bottom, right, top = onto
                box = Box(left, bottom, right, top)
                tell(mark.at(box))

            outer = self.state
            matrix = times(matrix_of(pattern.get("/Matrix")), self._base)
            self.state = PageState(matrix, EVERYWHERE, black_ink(), black_ink())
            self.state.group_mixing = outer.mixed
            self.colours_locked = False
            self.on_mark = tell_spread
            try:
                self.run(self.parse(pattern), self.scopes.own(pattern, self.scope))
            finally:
                self.on_mark = tell

    def _do(self, operands: Operands) -> None:
        found = self.resource("/XObject", operands[-1])
        if not isinstance(found, pikepdf.Stream):
            return
        with self._in_layer(found):
            if found.get("/Subtype") == "/Form":
                self.paint_form(found, f"form {operands[-1]}")
            elif found.get("/Subtype") == "/Image":
                self.paint_image(found)

    def paint_form(self, form: pikepdf.Stream, name: str) -> None:
        """Follow a form XObject from the current state."""
        with self.nested(form, name) as entered:
            if not entered:
                return
            state = self.state
            state.ctm = times(matrix_of(form.get("/Matrix")), state.ctm)
            bbox = rectangle_of(form.get("/BBox"))
            if bbox is not None:
                state.clip = shared(state.clip, bounds_of(bbox, state.ctm))
            if "/Group" in form:
                state.open_group()
            outer, self._base = self._base, state.ctm
            try:
                self.run(self.parse(form), self.scopes.own(form, self.scope))
            finally:
                self._base = outer

    def paint_image(self, image: pikepdf.Stream) -> None:
        """Tell an image XObject painted on the unit square."""
        self._tell_image(image, image.objgen, inline=False)

    def paint_inline_image(self, image: Any) -> None:
        """Tell an inline image painted on the unit square."""
        self._tell_image(inline_entries(image), (0, 0), inline=True)

    def _inline(self, operands: Operands) -> None:
        self.paint_inline_image(operands[0])

    def _tell_image(self, image: Any, key: tuple[int, int], *, inline: bool) -> None:
        bounds = bounds_of((0.0, 0.0, 1.0, 1.0), self.state.ctm)
        if bool(image.get("/ImageMask", False)):
            self.paint_fill(bounds, Role.FILL)
            return
        space = self.scope.space(image.get("/ColorSpace"))
        picture = self._picture(image, space, key, inline=inline)
        overprint = self.state.overprint.fill
        self.tell_mark(
            image_colour(picture, space), bounds, Role.IMAGE, picture=picture, overprint=overprint
        )

    def _picture(
        self, image: Any, space: Space, key: tuple[int, int], *, inline: bool
    ) -> PlacedPicture:
        width, height = int(image.get("/Width", 0)), int(image.get("/Height", 0))
        along, across = axes_of(self.state.ctm)
        found = image.get("/Filter", [])
        filters = [
            str(f)[1:] for f in (items(found) if not isinstance(found, pikepdf.Name) else [found])
        ]
        own = "JPXDecode" in filters and space.kind is SpaceKind.UNKNOWN
        return PlacedPicture(
            width_px=width,
            height_px=height,
            bits=int(image.get("/BitsPerComponent", 8)),
            space=OWN_COLOURS if own else space_name(space),
            filters=tuple(filters),
            ppi=(width / along * 72 if along else 0.0, height / across * 72 if across else 0.0),
            masked="/SMask" in image or "/Mask" in image,
            soft_mask="/SMask" in image or int(image.get("/SMaskInData", 0)) > 0,
            inline=inline,
            key=key,
        )

    def paint_shading(self, shading: object) -> None:
        """Tell a shading painted over the clip."""
        colour, overprint = self.shading_colour(shading), self.state.overprint.fill
        self.tell_mark(colour, self.state.clip, Role.GRADIENT, overprint=overprint)

    def shading_colour(self, shading: Any) -> ArtworkColour:
        """Return the entry that stands for all the colours of a shading."""
        return gradient_colour(shading, self.scope.resources, self.spaces, self._streams)
