"""Pages of records: a template page that is kept once, and what each record has over it.

The template with a few records over it (:meth:`RecordPages.specimen`) stands for all of them
while colours are found, changed and proved. It draws every field as a form, in the field's colour;
the colour stands on the page, and the form holds no other. Once recoloured, the page is printed for
every record: what each form drew is put in its place, and nothing else changes.
"""

import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pikepdf
from pikepdf import Array, Dictionary, Name, Object, Pdf

from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.diagnostics import Place
from inkaccord.errors import OrderError
from inkaccord.files import working_folder
from inkaccord.layout.records.faces import fonts_for
from inkaccord.layout.records.setting import SetField, TextField, standing_for_all
from inkaccord.pdf.colours.spaces import device_numbers, write_paint
from inkaccord.pdf.forms import content_of, numbers, packed
from inkaccord.pdf.writing import rebuild, save_rebuilt
from inkaccord.sizes import Size

_FORM = re.compile(rb"/LaidField(\d+)\s+Do")
_REACH_PT = 14400.0
"""How far a field's form reaches: as far as a page can."""


@dataclass(frozen=True)
class RecordPages:
    """The pages of one piece's records.

    Attributes
    ----------
    sides
        Of a copy, and pages of the template.
    template
        The piece's pages, each as large as trim and bleed, upright, and without any record; what
        :func:`inkaccord.layout.single.single_pieces` makes.
    trim
        Of the piece.
    bleed_pt
        From the page's corner to the trim's.
    fields, paints
        What is laid on them, and in which colour.
    count
        Of the records.
    alternates
        What spots that are laid are mixed from, by name.
    typefaces
        A PDF that holds our fonts.
    """

    sides: int
    template: bytes
    trim: Size
    bleed_pt: float
    fields: tuple[SetField, ...]
    paints: tuple[Paint, ...]
    count: int
    alternates: Mapping[str, Paint]
    typefaces: bytes

    def specimen(self) -> bytes:
        """Return the template with a few records over it, a page for each side."""
        with Pdf.open(io.BytesIO(self.template)) as pdf:
            faces = [it.face for it in self.fields if isinstance(it, TextField)]
            fonts, spaces = fonts_for(pdf, faces, self.typefaces), self._spaces(pdf)
            sides = [page.obj for page in pdf.pages]
            pages = [
                self._shown(pdf, page, side, record, fonts, spaces)
                for record in standing_for_all(self.fields)
                for side, page in enumerate(sides, start=1)
            ]
            info = pdf.trailer.get("/Info")
            rebuild(pdf, pages, title="")
            if info is not None:
                pdf.trailer[Name.Info] = info
            return _saved(pdf)

    def laid_into(self, copy: bytes, name: str) -> bytes:
        """Return a copy of the specimen with a page, or two, for every record.

        Raises OrderError when the fields can't be found in it any more.
        """
        with Pdf.open(io.BytesIO(copy)) as pdf:
            sides = [_Mould.of(pdf, pdf.pages[side]) for side in range(self.sides)]
            found = sorted(number for mould in sides for number in mould.fields)
            if found != list(range(len(self.fields))):
                raise OrderError.of(
                    "records-lost",
                    "the fields of the records can't be found in the recoloured template",
                    place=Place(field=f"pieces.{name}.merge"),
                    hint="give an artwork with a page for each copy instead",
                )
            pages = [
                mould.page(pdf, [self._content(field, record) for field in self.fields])
                for record in range(self.count)
                for mould in sides
            ]
            rebuild(pdf, pages, title=name)
            return _saved(pdf)

    def _content(self, field: SetField, record: int) -> bytes:
        """Return what a record has in a field, from the trim's lower left corner."""
        return field.shown(record, self.trim.height_pt)

    def _shown(
        self,
        pdf: Pdf,
        page: Object,
        side: int,
        record: int,
        fonts: Object,
        spaces: dict[str, Object],
    ) -> Object:
        """Return a page with one record over it, each field as a form."""
        resources = _entries(page["/Resources"])
        forms = _entries(resources.get("/XObject"))
        lines = [content_of(pdf, page)[0].read_bytes()]
        for number, (field, paint) in enumerate(zip(self.fields, self.paints, strict=True)):
            if field.field.side != side:
                continue
            forms[f"/LaidField{number}"] = packed(
                pdf,
                self._content(field, record),
                Type=Name.XObject,
                Subtype=Name.Form,
                BBox=Array([-_REACH_PT, -_REACH_PT, _REACH_PT, _REACH_PT]),
                Resources=Dictionary(Font=fonts) if isinstance(field, TextField) else Dictionary(),
            )
            place = numbers(1, 0, 0, 1, self.bleed_pt, self.bleed_pt).encode()
            lines.append(b"q %s cm %s /LaidField%d Do Q" % (place, _set(paint), number))
        resources["/XObject"] = Dictionary(forms)
        if spaces:
            resources["/ColorSpace"] = Dictionary(spaces)
        shown = _entries(page)
        shown["/Contents"] = packed(pdf, b"\n".join(lines))
        shown["/Resources"] = pdf.make_indirect(Dictionary(resources))
        return pdf.make_indirect(Dictionary(shown))

    def _spaces(self, pdf: Pdf) -> dict[str, Object]:
        """Return the colour spaces of the spots that fields are laid in."""
        spaces = {}
        for paint in self.paints:
            if paint.kind is PaintKind.SPOT:
                spaces[_space(paint)] = _separation(pdf, paint, self.alternates[paint.name or ""])
        return spaces


@dataclass(frozen=True)
class _Mould:
    """A recoloured page cut up where a record's content goes."""

    entries: Mapping[str, Object]
    resources: Object
    parts: tuple[bytes, ...]
    fields: tuple[int, ...]

    @classmethod
    def of(cls, pdf: Pdf, page: pikepdf.Page) -> "_Mould":
        content = content_of(pdf, page.obj)[0].read_bytes()
        pieces = _FORM.split(content)
        resources = _entries(page.obj["/Resources"])
        forms, fonts = _entries(resources.get("/XObject")), _entries(resources.get("/Font"))
        for number in pieces[1::2]:
            form = forms.pop(f"/LaidField{number.decode()}")
            fonts |= _entries(_entries(form["/Resources"]).get("/Font"))
        resources |= {"/XObject": Dictionary(forms), "/Font": Dictionary(fonts)}
        entries = _entries(page.obj)
        for key in ("/Contents", "/Parent", "/Resources"):
            entries.pop(key, None)
        return cls(
            entries=entries,
            resources=pdf.make_indirect(Dictionary(resources)),
            parts=tuple(pieces[::2]),
            fields=tuple(map(int, pieces[1::2])),
        )

    def page(self, pdf: Pdf, contents: Sequence[bytes]) -> Object:
        """Return the page with a record's content in its fields."""
        parts = [self.parts[0]]
        for number, part in zip(self.fields, self.parts[1:], strict=True):
            parts += [contents[number], part]
        content = packed(pdf, b"".join(parts))
        return pdf.make_indirect(
            Dictionary({**self.entries, "/Contents": content, "/Resources": self.resources})
        )


def _entries(dictionary: Object | None) -> dict[str, Object]:
    return {} if dictionary is None else dict(dictionary.items())


def _space(paint: Paint) -> str:
    return f"/Laid{(paint.name or '').encode().hex()}"


def _set(paint: Paint) -> bytes:
    if paint.kind is not PaintKind.SPOT:
        return write_paint(paint, fill=True)
    return f"{_space(paint)} cs {numbers(paint.values[0] / 100)} scn".encode()


def _separation(pdf: Pdf, paint: Paint, alternate: Paint) -> Object:
    full = device_numbers(alternate)
    base = {PaintKind.CMYK: Name.DeviceCMYK, PaintKind.RGB: Name.DeviceRGB}.get(
        alternate.kind, Name.DeviceGray
    )
    none = [1.0] * len(full) if alternate.kind is not PaintKind.CMYK else [0.0] * len(full)
    function = Dictionary(
        FunctionType=2, Domain=Array([0, 1]), N=1, C0=Array(none), C1=Array([*full])
    )
    return pdf.make_indirect(
        Array([Name.Separation, Name(f"/{paint.name}"), base, pdf.make_indirect(function)])
    )


def _saved(pdf: Pdf) -> bytes:
    with working_folder() as folder:  # writing to a file is quicker than to memory
        path = folder / "records.pdf"
        save_rebuilt(pdf, path, pdf_version="1.7", compact=False)
        return path.read_bytes()
