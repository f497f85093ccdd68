"""The stage that makes print files: how many, what each holds, and under which name."""

import io
from collections.abc import Callable

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from inkaccord.run.imposed import Imposed
from inkaccord.sizes import Size
from inkaccord.testing import draw_artwork
from page_kit import changed, saved

SIZES = {"invitation": "5in x 7in", "reply": "4.25in x 5.5in", "envelope": "a7-envelope"}
Impose = Callable[..., Imposed]


def two_sided(trim: str) -> bytes:
    return changed(draw_artwork(trim), lambda pdf: pdf.pages.append(pdf.pages[0]))


def layered(trim: str, layer: str) -> bytes:
    """Return artwork that would be black all over if its hidden layer were shown."""
    with pikepdf.open(io.BytesIO(draw_artwork(trim))) as pdf:
        hidden = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=layer))
        page = pdf.pages[0]
        page.obj.Resources.Properties = Dictionary(L0=hidden)
        page.contents_add(b"/OC /L0 BDC 0 0 0 1 k 0 0 900 900 re f EMC")
        pdf.Root.OCProperties = Dictionary(
            OCGs=Array([hidden]),
            D=Dictionary(Name="all", OFF=Array([hidden]), Order=Array([hidden])),
        )
        return saved(pdf)


def contents(made: Imposed) -> dict[str, tuple[str, ...]]:
    return {file.path: file.pieces for file in made.files}


def trims(data: bytes) -> list[tuple[float, float]]:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return [
            (round(float(box[2] - box[0]), 2), round(float(box[3] - box[1]), 2))
            for box in (page.trimbox for page in pdf.pages)
        ]


def test_one_file_for_each_piece(impose: Impose) -> None:
    assert contents(impose()) == {
        f"shop/evening-{name}.pdf": (name,) for name in ("invitation", "reply", "envelope")
    }


def test_an_envelope_has_no_marks_and_no_bleed_round_it(impose: Impose) -> None:
    """It is made up already: a larger page, with crop marks, is fitted onto it or laid off it."""
    made = impose(marks=True)
    pages = {}
    for file in made.files:
        with pikepdf.open(io.BytesIO(file.data)) as pdf:
            (page,) = pdf.pages
            pages[file.pieces[0]] = [tuple(map(float, it)) for it in (page.mediabox, page.trimbox)]
    whole, trim = pages["envelope"]
    assert whole == trim == (0.0, 0.0, 7.25 * 72, 5.25 * 72)
    whole, trim = pages["reply"]  # it is cut out
    assert whole[2] - whole[0] > trim[2] - trim[0] + 2 * 9
    bleeds = {run.pieces.popitem()[0]: run.bleed_mm for run in made.runs}
    assert bleeds == {"invitation": 3.175, "reply": 3.175, "envelope": 0.0}


def test_one_file_for_each_side(impose: Impose) -> None:
    made = impose({"reply": two_sided(SIZES["reply"])}, file_per="side")
    assert contents(made) == {
        "shop/evening-invitation.pdf": ("invitation",),
        "shop/evening-reply-front.pdf": ("reply",),
        "shop/evening-reply-back.pdf": ("reply",),
        "shop/evening-envelope.pdf": ("envelope",),
    }


def test_one_file_for_the_order_keeps_every_page_its_own_boxes(impose: Impose) -> None:
    made = impose({"reply": two_sided(SIZES["reply"])}, file_per="order")
    assert contents(made) == {"shop/evening-all.pdf": ("invitation", "reply", "envelope")}
    names = ("invitation", "reply", "reply", "envelope")
    sizes = [Size.parse(SIZES[name]) for name in names]
    assert trims(made.files[0].data) == [
        pytest.approx((size.width_pt, size.height_pt), abs=0.02) for size in sizes
    ]
    with pikepdf.open(io.BytesIO(made.files[0].data)) as pdf:
        for page, bleed in zip(pdf.pages, (9, 9, 9, 0), strict=True):
            assert float(page.trimbox[0]) - float(page.mediabox[0]) == pytest.approx(bleed)
    assert made.notes["shop"] == (
        "evening-all.pdf, page 1: invitation; pages 2 to 3: reply; page 4: envelope",
    )
    assert made.findings == ()
    again = impose({"reply": two_sided(SIZES["reply"])}, file_per="order")
    assert again.files[0].data == made.files[0].data


def test_one_file_for_the_order_with_sheets_and_envelopes(impose: Impose) -> None:
    made = impose(file_per="order", delivers="sheets", file_name="{order}-{device}")
    assert contents(made) == {"shop/evening-press.pdf": ("envelope", "invitation", "reply")}
    assert {run.path for run in made.sheets} == {"shop/evening-press.pdf"}
    with pikepdf.open(io.BytesIO(made.files[0].data)) as pdf:
        sizes = {tuple(round(float(v)) for v in page.mediabox[2:]) for page in pdf.pages}
    assert (864, 1296) in sizes
    assert len(sizes) == 2


def test_the_record_says_where_pieces_and_cuts_lie(impose: Impose) -> None:
    made = impose(delivers="sheets")
    assert made.sheets
    for run in made.sheets:
        numbers = [cut.number for cut in run.cuts]
        assert sorted(set(numbers)) == list(range(1, len(run.cut_plan) + 1))
        assert len(run.trims) == sum(run.pieces.values())
        edges = {round(edge, 1) for trim in run.trims for edge in trim.box_mm}
        for cut in run.cuts:
            x1, y1, x2, y2 = cut.ends_mm
            assert round(x1 if x1 == x2 else y1, 1) in edges, "cuts run along trims"
            assert max(x1, x2) <= run.width_mm
            assert max(y1, y2) <= run.height_mm
        for trim in run.trims:
            left, bottom, right, top = trim.bleed_mm
            assert left <= trim.box_mm[0] < trim.box_mm[2] <= right
            assert bottom <= trim.box_mm[1] < trim.box_mm[3] <= top


def test_an_unfinished_file_for_the_order_is_named(impose: Impose) -> None:
    made = impose(ready=("invitation", "envelope"), file_per="order")
    assert contents(made) == {"shop/evening-all.pdf": ("invitation", "envelope")}
    (finding,) = made.findings
    assert finding.code == "file-incomplete"
    assert "reply" in finding.message


def test_two_files_of_one_name_are_refused(impose: Impose) -> None:
    made = impose(file_name="{order}")
    assert contents(made) == {"shop/evening.pdf": ("invitation",)}
    assert set(made.failed) == {"reply", "envelope"}
    assert {it.code for it in made.findings} == {"file-name-twice"}


@pytest.mark.parametrize("file_per", ["piece", "side", "order"])
@pytest.mark.parametrize("delivers", ["pieces", "sheets"])
def test_layers_stay_layers_and_hidden_ones_hidden(
    impose: Impose, file_per: str, delivers: str
) -> None:
    art = {name: layered(size, f"draft of {name}") for name, size in SIZES.items()}
    made = impose(art, file_per=file_per, delivers=delivers, pdf={"layers": "keep"})
    seen = set()
    for file in made.files:
        with pikepdf.open(io.BytesIO(file.data)) as pdf:
            groups = {str(group.Name) for group in pdf.Root.OCProperties.OCGs}
            off = {str(group.Name) for group in pdf.Root.OCProperties.D.OFF}
            assert groups == off == {f"draft of {name}" for name in file.pieces}
            seen |= groups
    assert len(seen) == len(SIZES)


LAID = {"delivers": "sheets", "devices": {"press": {"sheets": ["letter"]}}}


def test_a_piece_that_fits_no_sheet_takes_nothing_from_the_others(impose: Impose) -> None:
    made = impose(
        {"poster": draw_artwork("20in x 30in")},
        pieces={"poster": {"artwork": "poster.pdf", "trim": "20in x 30in"}},
        ready=(*SIZES, "poster"),
        **LAID,
    )
    assert set(made.failed) == {"poster"}
    assert "larger than the sheet itself" in made.failed["poster"]
    assert [it.code for it in made.findings if it.place.field == "pieces.poster"] == [
        "piece-too-large"
    ]
    assert {piece for file in made.files for piece in file.pieces} == set(SIZES)
    assert {piece for sheet in made.sheets for piece in sheet.pieces} == {"invitation", "reply"}


def test_a_piece_whose_file_is_broken_takes_nothing_from_the_others(impose: Impose) -> None:
    made = impose({"reply": b"%PDF-1.7 broken"}, **LAID)
    assert set(made.failed) == {"reply"}
    assert {piece for file in made.files for piece in file.pieces} == {"invitation", "envelope"}


def test_the_files_hold_as_many_of_a_piece_as_are_said_to_arrive(impose: Impose) -> None:
    """Counted in the written files: places drawn on the sheet, times its run."""
    made = impose(
        {"band": draw_artwork("1in x 8in"), "card": draw_artwork("5in x 8in")},
        pieces={
            "band": {"artwork": "band.pdf", "trim": "1in x 8in"},
            "card": {"artwork": "card.pdf", "trim": "5in x 8in"},
        },
        ready=("band", "card"),
        **LAID,
    )
    (file,) = made.files
    with pikepdf.open(io.BytesIO(file.data)) as pdf:
        drawn = [drawn_forms(page) for page in pdf.pages]
    assert len(drawn) == len(made.sheets)
    for places, sheet in zip(drawn, made.sheets, strict=True):
        assert places == sum(sheet.pieces.values()) == len(sheet.trims)
    arrives = {
        name: sum(it.run * it.pieces.get(name, 0) for it in made.sheets)
        for name in ("band", "card")
    }
    assert arrives == {"band": 20, "card": 20}  # 40 bands before places could stay empty


def drawn_forms(page: pikepdf.Page) -> int:
    """Return how many times a sheet's page draws a piece."""
    names = {str(name) for name, form in page.obj.Resources.XObject.items()}
    return sum(
        str(operands[0]) in names
        for operands, operator in pikepdf.parse_content_stream(page)
        if str(operator) == "Do"
    )
