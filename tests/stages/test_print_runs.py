"""What a vendor is told of each run, against what other programs read from the written files."""

import io
import re
from collections.abc import Callable

import pikepdf
import pypdfium2
import pytest
from pikepdf import Array, Dictionary, Name

from inkaccord.pdf.ink_rendering import separations
from inkaccord.run.imposed import Imposed, PrintRun
from inkaccord.testing import draw_artwork
from outside import need_program
from page_kit import changed

Impose = Callable[..., Imposed]


def with_plates(trim: str, *, foil: bool = False, back: str | None = None) -> bytes:
    """Return artwork with a foil on its front, and a back with content of its own."""

    def change(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[0]
        if foil:
            tint = Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0] * 4, C1=[0, 0.2, 0.8, 0.2])
            space = Array([Name.Separation, Name("/Gold foil"), Name.DeviceCMYK, tint])
            page.obj.Resources.ColorSpace = Dictionary(S0=space)
            page.contents_add(b"q /S0 cs 1 scn 60 60 40 40 re f Q")
        if back is not None:
            pdf.pages.append(page)
            pdf.pages[1].obj.Contents = pdf.make_stream(back.encode())

    return changed(draw_artwork(trim), change)


def plates_of(made: Imposed, run: PrintRun) -> list[set[str]]:
    """Return the plates that have any ink, of each side, as Ghostscript separates the file."""
    need_program("gs", "ghostscript")
    files = {file.path: file.data for file in made.files}
    found = []
    for side in run.sides:
        (raster,) = separations(files[side.path], dpi=36, pages=[side.page])
        inked = raster.samples.any(axis=(0, 1))
        found.append({ink for ink, any_of_it in zip(raster.inks, inked, strict=True) if any_of_it})
    return found


def said(run: PrintRun) -> list[set[str]]:
    return [{*side.inks, *side.separations, *side.mark_inks} for side in run.sides]


def texts(data: bytes) -> list[str]:
    """Return the words of each page, as PDFium reads them."""
    pdf = pypdfium2.PdfDocument(data)
    return [page.get_textpage().get_text_bounded() for page in pdf]


@pytest.mark.parametrize("marks", [True, False])
def test_inks_of_sides_are_the_plates_of_the_written_sheets(impose: Impose, marks: bool) -> None:
    art = {
        "invitation": with_plates("5in x 7in", foil=True, back="0 0 0 1 k 60 60 90 90 re f"),
        "reply": with_plates("4.25in x 5.5in", back="0 1 0 0 k 60 60 50 50 re f"),
    }
    made = impose(
        art, ready=("invitation", "reply"), delivers="sheets", marks=marks, spots="keep",
        device={"turning": "sheetwise", "gripper": "bottom", "gripper_margin": "10mm"},
    )  # fmt: skip
    assert len(made.runs) >= 2
    for run in made.runs:
        assert said(run) == plates_of(made, run)
    backs = {ink for run in made.runs for ink in run.sides[1].inks}
    assert backs <= {"Black", "Magenta"}
    assert {"Gold foil"} in [set(run.sides[0].separations) for run in made.runs]


def test_pieces_for_a_shop_and_envelopes_have_runs_too(impose: Impose) -> None:
    back = "0 0 0 1 k 60 60 90 90 re f"
    made = impose({"invitation": with_plates("5in x 7in", back=back)}, marks=True)
    assert [(run.number, run.pieces, run.imposed) for run in made.runs] == [
        (1, {"invitation": 1}, False), (2, {"reply": 1}, False), (3, {"envelope": 1}, False),
    ]  # fmt: skip
    for run in made.runs:
        assert said(run) == plates_of(made, run)
        with pikepdf.open(
            io.BytesIO(next(f.data for f in made.files if f.path == run.sides[0].path))
        ) as pdf:
            left, bottom, right, top = map(float, pdf.pages[0].MediaBox)
        assert (right - left) * 25.4 / 72 == pytest.approx(run.width_mm, abs=0.01)
        assert (top - bottom) * 25.4 / 72 == pytest.approx(run.height_mm, abs=0.01)


@pytest.mark.parametrize("file_per", ["piece", "side", "order"])
def test_a_page_number_leads_to_the_side(impose: Impose, file_per: str) -> None:
    art = {
        "invitation": with_plates("5in x 7in", back="0 0 0 1 k 60 60 90 90 re f"),
        "reply": with_plates("4.25in x 5.5in", back="0 1 0 0 k 60 60 50 50 re f"),
    }
    made = impose(art, delivers="sheets", file_per=file_per, marks=True)
    files = {file.path: file.data for file in made.files}
    for run in made.runs:
        for side in run.sides:
            page = texts(files[side.path])[side.page - 1]
            assert not run.imposed or f"Run {run.number} {side.side}" in page


@pytest.mark.parametrize("turning", ["sheetwise", "work-and-turn", "work-and-tumble"])
def test_layouts_that_differ_never_carry_the_same_slug(impose: Impose, turning: str) -> None:
    cards = {f"card-{n}": {"trim": "3in x 4in", "artwork": "x.pdf", "extra": 17 * n}
             for n in range(1, 4)}  # fmt: skip
    art = {name: with_plates("3in x 4in", back="0 0 0 1 k 60 60 50 50 re f") for name in cards}
    made = impose(
        art, ready=tuple(cards), pieces=cards, delivers="sheets", marks=True,
        device={
            "turning": turning, "gripper": "bottom", "gripper_margin": "10mm", "side_lay": "left",
        },
    )  # fmt: skip
    pages = [page for file in made.files for page in texts(file.data)]
    slugs = [found[0] for page in pages if (found := re.search(r"Run \d+ (front|back).*", page))]
    assert len(slugs) == len(pages) > 1
    assert len({slug[:40] for slug in slugs}) == len(pages)  # however short they are cut
    for run in made.runs:
        mine = next(slug for slug in slugs if f"Run {run.number} " in slug)
        for word in (f"{run.times} sheet", turning.replace("-", " "), "gripper bottom", "side lay"):
            assert word in mine


def test_an_envelope_is_written_in_the_version_and_under_a_title_like_all_others(
    impose: Impose,
) -> None:
    made = impose(ready=("envelope", "reply"), delivers="sheets", pdf={"version": "1.4"})
    told = {}
    for file in made.files:
        assert file.data.startswith(b"%PDF-1.4")
        with pikepdf.open(io.BytesIO(file.data)) as pdf:
            told[file.pieces] = str(pdf.docinfo["/Title"])
    assert told[("envelope",)] == "evening envelope"
    assert all(title.startswith("evening ") for title in told.values())


def test_ink_beyond_what_the_feeder_prints_is_told(impose: Impose) -> None:
    def envelope_with(x_pt: int) -> Imposed:
        rule = f"0 0 0 1 k {x_pt} 100 40 2 re f".encode()

        def draw(pdf: pikepdf.Pdf) -> None:
            pdf.pages[0].obj.Contents = pdf.make_stream(rule)

        art = changed(draw_artwork("a7-envelope"), draw)
        return impose(
            {"envelope": art}, ready=("envelope",), delivers="sheets", device={"margin": "5mm"}
        )

    assert not envelope_with(60).findings
    (finding,) = envelope_with(12).findings
    assert finding.code == "beyond-printable"
    assert "3.9 mm" in finding.message  # 9 pt of bleed are cut off, so 3 pt from the edge
