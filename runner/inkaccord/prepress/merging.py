"""A piece's records, set over its artwork as the order says, with what is wrong with them."""

import io
from collections.abc import Callable, Iterator, Mapping

from pikepdf import Pdf

from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.diagnostics import Diagnostic, Place, error, first_few
from inkaccord.errors import OrderError
from inkaccord.layout.records.faces import OURS, Face, faces_in, our_faces
from inkaccord.layout.records.model import RecordField, columns_in, filled
from inkaccord.layout.records.pages import RecordPages
from inkaccord.layout.records.setting import set_field
from inkaccord.layout.records.table import TOLD, RecordTable, read_table
from inkaccord.layout.single import single_pieces
from inkaccord.order.job import Job
from inkaccord.order.merging import Merge
from inkaccord.order.mistakes import suggest
from inkaccord.order.model import Order
from inkaccord.order.pieces import BleedRepair
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.colours.alternates import spot_alternates
from inkaccord.sizes import Size
from inkaccord.units import spoken_length
from inkaccord.words import counted

_SLACK_PT = 0.1
Where = Callable[..., Place]
"""Returns where a field of the order stands in its file, by its path."""


def record_pages(
    order: Order, name: str, artwork: bytes, table: bytes, where: Where
) -> RecordPages:
    """Return the pages of a piece's records.

    Parameters
    ----------
    artwork
        The piece's artwork, a page for each side, in which each page states where it is cut.
    table
        The bytes of the table of records.
    where
        Returns the place of a field of the order, by its path.

    Raises
    ------
    OrderError
        With everything that is wrong with the table and its fields: of the table with its line,
        of the order with its field.
    """
    job = order.jobs[name]
    merge, at = _merge(job), ("pieces", name, "merge")
    records = read_table(table, merge.data)
    sides = job.piece.sides or 1
    wrong = [*_unlayable(job, where(*at)), *_columns_lacking(merge, records, where, at)]
    wrong += _wrong_count(job, records, where(*at, "data"))
    if wrong:
        raise OrderError(wrong)
    template, bleed_pt = _template(job, artwork)
    faces, typefaces = _faces(merge, records, template)
    alternates = spot_alternates(template)
    paints: list[Paint] = []
    for field_name, field in merge.fields.items():
        stands = (*at, "fields", field_name)
        if field.qr is None and field.font not in faces:
            wrong.append(_no_face(field, faces, where(*stands, "font")))
        if field.side > sides:
            wrong.append(_no_side(field, where(*stands, "side")))
        wrong += _reaching_out(field, job.piece.trim, where(*stands))
        paint = _paint(order, field)
        if isinstance(paint, Paint):
            paints.append(paint)
            wrong += _no_spot(paint, alternates, where(*stands, "colour"))
        else:
            wrong.append(paint.model_copy(update={"place": where(*stands, "colour")}))
    if wrong:
        raise OrderError(wrong)
    fields = tuple(set_field(it, field, records, faces) for it, field in merge.fields.items())
    for laid in fields:
        found = first_few(list(laid.findings(records)), TOLD, "mistakes")
        place = where(*at, "fields", laid.name)
        wrong += [it if it.place.line else it.model_copy(update={"place": place}) for it in found]
    if wrong:
        raise OrderError(wrong)
    return RecordPages(
        sides=sides,
        template=template,
        trim=job.piece.trim,
        bleed_pt=bleed_pt,
        fields=fields,
        paints=tuple(paints),
        count=len(records.records),
        alternates=alternates,
        typefaces=typefaces,
    )


def _merge(job: Job) -> Merge:
    if job.piece.merge is None:
        raise ValueError(f"{job.name} has no table of records")
    return job.piece.merge


def _unlayable(job: Job, place: Place) -> Iterator[Diagnostic]:
    """Yield what a piece is asked for that can't be done for its records."""
    if job.piece.bleed_repair is not BleedRepair.REPORT:
        yield error(
            "records-not-laid",
            "bleed can't be made for an artwork that records are laid over",
            place=place,
            in_program="give the artwork its bleed",
            hint="or take 'bleed_repair' out",
        )
    if job.vendor.pdf.fonts == "outlined":
        yield error(
            "records-not-laid",
            f"{job.vendor_name} wants type as outlines, and records are set in type",
            place=place,
            hint="ask whether embedded type will do (vendors.…pdf.fonts: embedded), or export a "
            "page for each copy with its type outlined",
        )


def _columns_lacking(
    merge: Merge, table: RecordTable, where: Where, at: tuple[str, ...]
) -> Iterator[Diagnostic]:
    for name, field in merge.fields.items():
        for column in columns_in(field.template(name)):
            if column not in table.columns:
                yield error(
                    "no-such-column",
                    f"{merge.data} has no column '{column}'",
                    place=where(*at, "fields", name),
                    hint=suggest(column, table.columns),
                )


def _wrong_count(job: Job, table: RecordTable, place: Place) -> Iterator[Diagnostic]:
    lines, copies = len(table.records), job.quantity
    if lines != copies:
        yield error(
            "wrong-record-count",
            f"{table.name} has {counted(lines, 'record')}, and of {job.name} "
            f"{counted(copies, 'copy', 'copies')} {'is' if copies == 1 else 'are'} ordered",
            place=place,
            hint="mend the table, or the order's 'suites' or the piece's 'per_suite' and 'extra'",
        )


def _template(job: Job, artwork: bytes) -> tuple[bytes, float]:
    """Return the artwork as upright pages of trim and bleed, and the bleed that it has."""
    with Pdf.open(io.BytesIO(artwork)) as pdf:
        rims = [by for page in pdf.pages for _, by in page_boxes(page).bleed_pt.named()]
    bleed_pt = max(0.0, min(job.bleed_pt, *rims))
    written = single_pieces(artwork, job.piece.trim, bleed_pt, title=job.name, name=job.name)
    return written.data, bleed_pt


def _faces(merge: Merge, table: RecordTable, template: bytes) -> tuple[Mapping[str, Face], bytes]:
    letters: dict[str, set[str]] = {}
    for name, field in merge.fields.items():
        if field.qr is None and field.font in OURS:
            wanted = letters.setdefault(field.font, set())
            for record in table.records:
                wanted.update(filled(field.template(name), record.cells))
    ours, typefaces = our_faces(letters)
    with Pdf.open(io.BytesIO(template)) as pdf:
        return faces_in(pdf) | ours, typefaces


def _paint(order: Order, field: RecordField) -> Paint | Diagnostic:
    """Return how the artwork would write a field's colour, or what is wrong with it."""
    if field.colour in order.colours:
        ways = order.colours[field.colour].in_artwork
        # Numbers need no plate of their own, and no alternate.
        return next((it for it in ways if it.kind is not PaintKind.SPOT), ways[0])
    try:
        paint = Paint.parse(field.colour)
    except ValueError:
        return error(
            "no-such-colour",
            f"there is no colour '{field.colour}'",
            hint=suggest(field.colour, order.colours),
        )
    if paint.kind is PaintKind.LAB:
        return error(
            "bad-value",
            f"'{field.colour}' is no colour that type is set in",
            hint="take a colour of the order, or one in CMYK, RGB or gray, or a spot",
        )
    return paint


def _no_spot(paint: Paint, known: Mapping[str, Paint], place: Place) -> Iterator[Diagnostic]:
    if paint.kind is PaintKind.SPOT and paint.name not in known:
        yield error(
            "no-such-spot",
            f"the artwork has no spot '{paint.name}', so nobody knows what it is mixed from",
            place=place,
            in_program=f"use the spot {paint.name} for something in the artwork",
            hint="or write the colour in CMYK",
        )


def _no_face(field: RecordField, known: Mapping[str, Face], place: Place) -> Diagnostic:
    return error(
        "no-such-typeface",
        f"the artwork embeds no typeface '{field.font}' whose letters can be told",
        place=place,
        hint=suggest(field.font, {*known, *OURS}),
    )


def _reaching_out(field: RecordField, trim: Size, place: Place) -> Iterator[Diagnostic]:
    right, low = field.left + field.width, field.top + field.height
    if right > trim.width_pt + _SLACK_PT or low > trim.height_pt + _SLACK_PT:
        yield error(
            "field-outside",
            f"the field ends {spoken_length(right)} from the left and {spoken_length(low)} from "
            f"the upper edge, outside the piece, {trim}",
            place=place,
            hint="measure 'left' and 'top' from the cut, not from the bleed",
        )


def _no_side(field: RecordField, place: Place) -> Diagnostic:
    return error(
        "no-such-side",
        f"there is no side {field.side}: the piece has one",
        place=place,
        hint="give the piece 'sides: 2', and its artwork a page for the back",
    )
