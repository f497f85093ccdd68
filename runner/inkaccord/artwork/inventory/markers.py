"""Write a copy of a file in which every colour is a flat marker, to see where each one stands.

Painting operators, text, clips and geometry stay; each colour becomes an RGB value that stands
for it alone, transparency and images' contents go. Rendered without smoothing, every pixel then
names the colour that was painted last there. Forms, patterns and Type 3 fonts are forked where
they take colours from their caller.
"""

from __future__ import annotations

from typing import Any

import pikepdf
from typing_extensions import override

from inkaccord.artwork.inventory.flat import flat_image, flat_shading
from inkaccord.artwork.inventory.marker_codes import marker_rgb
from inkaccord.artwork.inventory.marker_content import MarkerContent, Output, dictionary
from inkaccord.artwork.marks.state import Ink
from inkaccord.artwork.roles import Role
from inkaccord.pdf.boxes import PageBoxes
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.pdf.geometry import Bounds, Matrix
from inkaccord.pdf.inline_images import inline_entries

Label = tuple[ArtworkColour, Role]


class MarkerWriter(MarkerContent):
    """Turns the pages of an open PDF into marker pages, in place.

    Parameters
    ----------
    pdf
        A copy that may be changed.
    lift
        Leave out what is see-through or overprints, so that what lies underneath counts too.

    Attributes
    ----------
    labels
        The label of each colour in each role, from 1.
    lifted
        Whether ``lift`` left anything out.
    """

    def __init__(
        self,
        pdf: pikepdf.Pdf,
        labels: dict[Label, int],
        *,
        lift: bool = False,
    ) -> None:
        super().__init__(pdf)
        self.labels = labels
        self.lift = lift
        self.has_see_through = False
        self._side = "fill"
        self._glyph = False
        self._forms: dict[Any, pikepdf.Stream] = {}
        self._cells: dict[Any, Any] = {}
        self._images: dict[Any, pikepdf.Stream] = {}
        self._type3: dict[Any, pikepdf.Dictionary] = {}

    def write_page(self, page: pikepdf.Page, boxes: PageBoxes, number: int) -> None:
        """Replace a page's content and annotations, by its number from 1, by their marker copy."""
        with self.output() as whole:
            self._top = whole
            with self.output() as content:
                super().read_page(page, boxes, number)
            unit = boxes.user_unit
            form = self.stream(content)
            form["/BBox"] = pikepdf.Array([corner / unit for corner in boxes.media])
            form["/Type"], form["/Subtype"] = pikepdf.Name.XObject, pikepdf.Name.Form
            # The page's own content comes first, its annotations above it.
            whole.instructions.insert(0, ([whole.name("/XObject", form)], pikepdf.Operator("Do")))
        stream = self.stream(whole)
        node = page.obj
        node["/Resources"] = stream["/Resources"]
        del stream["/Resources"]
        node["/Contents"] = stream
        node["/MediaBox"] = form["/BBox"]
        for key in ("/Annots", "/Rotate", "/CropBox", "/UserUnit", "/Group"):
            if key in node:
                del node[key]
        node["/Rotate"], node["/CropBox"] = 0, form["/BBox"]

    @override
    def paint_appearance(
        self, annotation: pikepdf.Dictionary, form: pikepdf.Stream, onto: Matrix, *, name: str
    ) -> None:
        """Put an annotation's marker copy on the page."""
        with self.onto(self._top) as out:
            super().paint_appearance(annotation, form, onto, name=name)
            if self.replacement is not None:
                out.add("q")
                out.add("cm", *onto)
                out.add("Do", self.replacement[1])
                out.add("Q")
            self.replacement = None

    def label(self, colour: ArtworkColour, role: Role) -> int:
        """Return the label of a colour in a role, a new one where it has none yet."""
        role = Role.TEXT if self._glyph else role
        found = self.labels.setdefault((colour, role), len(self.labels) + 1)
        if marker_rgb(found) == (255, 255, 255):  # the paper's; 1 in 16 million
            raise RuntimeError("too many colours to mark")
        return found

    @override
    def paint_fill(self, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Note the marker of a fill."""
        self._side = "fill"
        super().paint_fill(bounds, role, **facts)

    @override
    def paint_stroke(self, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Note the marker of a stroke."""
        self._side = "stroke"
        super().paint_stroke(bounds, role, **facts)

    @override
    def tell_mark(self, colour: ArtworkColour, bounds: Bounds, role: Role, **facts: Any) -> None:
        """Note the marker instead of telling the mark."""
        if self._is_left_out(colour, overprint=bool(facts.get("overprint"))):
            return
        self.said[self._side] = self.label(colour, role)

    def _is_left_out(self, colour: ArtworkColour, *, overprint: bool) -> bool:
        state = self.state
        if state.mixed.see_through or overprint:
            self.has_see_through = True
            if self.lift:
                return True
        return colour.paints_nothing

    def _ink_key(self) -> tuple[Any, ...]:
        state = self.state
        return (
            *(
                (ink.colour.text, ink.pattern.objgen if ink.pattern is not None else None)
                for ink in (state.fill, state.stroke)
            ),
            state.mixed.see_through,
            state.overprint.fill,
            state.overprint.stroke,
            self.colours_locked,
            self._glyph,
        )

    @override
    def paint_form(self, form: pikepdf.Stream, name: str) -> None:
        """Write the marker copy of a form for the state it is called in."""
        key = (form.objgen, *self._ink_key()) if form.is_indirect else None
        copied = self._forms.get(key)
        if copied is None:
            with self.output() as out:
                super().paint_form(form, name)
            copied = self.stream(out)
            for entry in ("/BBox", "/Matrix", "/OC"):
                if entry in form:
                    copied[entry] = form[entry]
            copied["/Type"], copied["/Subtype"] = pikepdf.Name.XObject, pikepdf.Name.Form
            if key is not None:
                self._forms[key] = copied
        self.replacement = ("Do", self.out.name("/XObject", copied))

    @override
    def paint_image(self, image: pikepdf.Stream) -> None:
        """Write a one-pixel image in the marker's colour, masked as the image was."""
        self._side = "image"
        super().paint_image(image)
        label = self.said.pop("image", None)
        if isinstance(label, int):
            self.replacement = ("Do", self.out.name("/XObject", self._flat_image(label, image)))

    @override
    def paint_inline_image(self, image: Any) -> None:
        """Do the same for an inline image."""
        self._side = "image"
        super().paint_inline_image(image)
        label = self.said.pop("image", None)
        if isinstance(label, int) and inline_entries(image):
            self.replacement = ("Do", self.out.name("/XObject", self._flat_image(label, None)))

    def _flat_image(self, label: int, image: pikepdf.Stream | None) -> pikepdf.Stream:
        key = (label, image.objgen if image is not None else None)
        found = self._images.get(key)
        if found is None:
            found = self._images[key] = flat_image(self.pdf, marker_rgb(label), image)
        return found

    @override
    def paint_shading(self, shading: Any) -> None:
        """Write the shading in one flat colour: it covers what it covered."""
        self._side = "shading"
        super().paint_shading(shading)
        label = self.said.pop("shading", None)
        if isinstance(label, int):
            flat = flat_shading(self.pdf, shading, marker_rgb(label))
            self.replacement = ("sh", self.out.name("/Shading", flat))

    @override
    def paint_pattern(self, ink: Ink, bounds: Bounds, role: Role, facts: dict[str, Any]) -> None:
        """Write the pattern's marker copy."""
        pattern, side = ink.pattern, self._side
        if not isinstance(pattern, pikepdf.Dictionary | pikepdf.Stream):
            return
        shades = int(pattern.get("/PatternType", 0)) == 2
        if shades or int(pattern.get("/PaintType", 1)) == 2:
            super().paint_pattern(ink, bounds, role, facts)
            label = self.said.get(side)
            if not isinstance(label, int):
                return
            copied = self._cells.get((pattern.objgen, label))
            if copied is None or not pattern.is_indirect:
                copied = self._shaded(pattern, label) if shades else self._cell(ink, bounds, label)
                self._cells[pattern.objgen, label] = copied
        elif self._is_left_out(ink.colour, overprint=False):
            return
        else:
            key = (pattern.objgen, *self._ink_key()) if pattern.is_indirect else None
            copied = self._cells.get(key)
            if copied is None:
                copied = self._cell(ink, bounds, None)
                if key is not None:
                    self._cells[key] = copied
        self.said[side] = self.out.name("/Pattern", copied)

    def _shaded(self, pattern: pikepdf.Object, label: int) -> pikepdf.Dictionary:
        entries = {key: pattern[key] for key in ("/Matrix",) if key in pattern}
        flat = flat_shading(self.pdf, pattern["/Shading"], marker_rgb(label))
        return pikepdf.Dictionary(
            {"/Type": pikepdf.Name.Pattern, "/PatternType": 2, "/Shading": flat, **entries}
        )

    def _cell(self, ink: Ink, bounds: Bounds, label: int | None) -> pikepdf.Stream:
        """Return the marker copy of a tiling cell, coloured also where it was not."""
        pattern = ink.pattern
        if not isinstance(pattern, pikepdf.Stream):  # the caller made sure
            raise TypeError("a tiling pattern is a stream")
        with self.output() as out:
            if label is None:
                self._read_cell(pattern, bounds)
            else:
                with self.nested(pattern, "pattern"):
                    self.colours_locked = True
                    self.state.fill = self.state.stroke = Ink(ink.space, ink.colour)
                    self.run(self.parse(pattern), self.scopes.own(pattern, self.scope))
        copied = self.stream(out)
        for entry in ("/BBox", "/XStep", "/YStep", "/Matrix", "/TilingType"):
            if entry in pattern:
                copied[entry] = pattern[entry]
        copied["/Type"], copied["/PatternType"] = pikepdf.Name.Pattern, 1
        copied["/PaintType"] = 1
        return copied

    @override
    def paint_type3(self, text: bytes, matrix: Matrix, bounds: Bounds, size: float) -> None:
        """Write a marker copy of the font, and note the marker of its uncoloured glyphs."""
        font = self.state.font_object
        if font is None:
            return
        key = (font.objgen, *self._ink_key())
        copied = self._type3.get(key)
        if copied is None or not font.is_indirect:
            copied = pikepdf.Dictionary(dict(font.items()))
            glyphs: dict[str, Any] = {}
            shared: dict[str, dict[str, Any]] = {}  # glyphs take their resources from the font
            outer, self._glyph = self._glyph, True
            for name, glyph in font.get("/CharProcs", pikepdf.Dictionary()).items():
                if not isinstance(glyph, pikepdf.Stream):
                    continue
                with self.onto(Output(resources=shared)) as out:
                    with self.nested(glyph, "glyph") as entered:
                        if entered:
                            self.run(self.parse(glyph), self.scopes.own(font, self.scope))
                    content = pikepdf.unparse_content_stream(out.instructions)
                    glyphs[str(name)] = self.pdf.make_stream(content)
            self._glyph = outer
            copied["/Resources"] = dictionary(shared)
            copied["/CharProcs"] = pikepdf.Dictionary(glyphs)
            self._type3[key] = copied
        self.show_font = self.out.name("/Font", copied)
        self._side = "fill"
        super().paint_fill(bounds, Role.TEXT)
