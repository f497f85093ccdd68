"""The example's artwork: the same bytes again, right boxes, the colours that the order names."""

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from make_artwork import PIECES

ARTWORK = Path(__file__).parents[2] / "jobs_example" / "artwork"
IN = 72.0
TRIMS = {
    "invitation.pdf": (5, 7, 1, 1 / 8),
    "reply-card.pdf": (5.5, 4.25, 2, 1 / 8),
    "envelope.pdf": (8.75, 5.75, 1, 0),
    "programme.pdf": (11, 8.5, 2, 1 / 8),
    "lantern-tag.pdf": (2, 3.5, 1, 1 / 8),
    "draft-poster-strip.pdf": (2.5, 7, 1, 1 / 8),
}
KELP, LANTERN, BLACK = "k 85 20 60 30", "k 0 38 88 2", "k 0 0 0 100"
COLOURS = {
    "invitation.pdf": {KELP, LANTERN, BLACK, "k 34 8 24 12", "Slate 100", "Slate 35"},
    "reply-card.pdf": {
        KELP, LANTERN, BLACK, "k 34 8 24 12", "Slate 100", "Slate 60", "Slate 35",
    },
    "envelope.pdf": {KELP, LANTERN, BLACK, "Slate 100"},
    "programme.pdf": {
        KELP, LANTERN, BLACK, "k 34 8 24 12", "Slate 100", "Slate 60", "Slate 35", "k 0 0 0 0",
    },
    "lantern-tag.pdf": {"rg 20 92 78", LANTERN, BLACK, "Slate 100"},
    "draft-poster-strip.pdf": {
        KELP, "k 84 20 60 30", "k 12 92 34 4", "Slate 100", "k 0 0 0 0",
    },
}  # fmt: skip


def _streams(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Page | pikepdf.Object]:
    for page in pdf.pages:
        yield page
        yield from page.resources.get("/XObject", pikepdf.Dictionary()).values()


def _colours(pdf: pikepdf.Pdf) -> set[str]:
    """Return every colour that is set, in percent or 0 to 255, without shadings."""
    found = set()
    for stream in _streams(pdf):
        space = ""
        for operands, operator in pikepdf.parse_content_stream(stream):
            name = str(operator).lower()
            if name == "cs":
                space = str(operands[0]).lstrip("/")
            elif name == "scn":
                found.add(f"{space} {100 * float(operands[0]):g}")
            elif name in {"k", "rg", "g"}:
                top = 255 if name == "rg" else 100
                numbers = " ".join(f"{round(top * float(o), 3):g}" for o in operands)
                found.add(f"{name} {numbers}")
    return found


def test_every_piece_is_checked_and_committed() -> None:
    assert set(PIECES) == set(TRIMS) == set(COLOURS)
    assert {path.name for path in ARTWORK.glob("*.pdf")} == set(PIECES)


@pytest.mark.parametrize("name", PIECES)
def test_drawing_again_gives_the_same_bytes(name: str) -> None:
    first = PIECES[name]()
    assert first == PIECES[name]()
    with (
        pikepdf.open(ARTWORK / name) as committed,
        pikepdf.open(io.BytesIO(first)) as drawn,
    ):
        for old, new in zip(_streams(committed), _streams(drawn), strict=True):
            assert _content(old) == _content(new)


def _content(stream: pikepdf.Page | pikepdf.Object) -> bytes:
    return pikepdf.unparse_content_stream(pikepdf.parse_content_stream(stream))


@pytest.mark.parametrize("name", PIECES)
def test_boxes_and_pages(name: str) -> None:
    width, height, pages, bleed = TRIMS[name]
    with pikepdf.open(ARTWORK / name) as pdf:
        assert len(pdf.pages) == pages
        for page in pdf.pages:
            media, out, trim = (
                [float(n) for n in page[box]] for box in ("/MediaBox", "/BleedBox", "/TrimBox")
            )
            assert trim[2] - trim[0] == pytest.approx(width * IN, abs=0.01)
            assert trim[3] - trim[1] == pytest.approx(height * IN, abs=0.01)
            for corner, way in zip(range(4), (-1, -1, 1, 1), strict=True):
                assert out[corner] == pytest.approx(trim[corner] + way * bleed * IN, abs=0.01)
                assert way * (media[corner] - out[corner]) > 0


@pytest.mark.parametrize("name", PIECES)
def test_colours_are_those_of_the_suite(name: str) -> None:
    with pikepdf.open(ARTWORK / name) as pdf:
        assert _colours(pdf) == COLOURS[name]


@pytest.mark.parametrize("name", PIECES)
def test_fonts_are_embedded_subsets(name: str) -> None:
    with pikepdf.open(ARTWORK / name) as pdf:
        fonts = [
            font
            for stream in _streams(pdf)
            for font in (
                stream.resources if isinstance(stream, pikepdf.Page) else stream["/Resources"]
            )["/Font"].values()
            if font["/Subtype"] == "/TrueType"
        ]
        assert fonts
        for font in fonts:
            assert str(font["/BaseFont"])[7] == "+"
            assert "/FontFile2" in font["/FontDescriptor"]


@pytest.mark.parametrize("name", PIECES)
def test_type_keeps_clear_of_the_trim(name: str) -> None:
    with pypdfium2.PdfDocument(ARTWORK / name) as pdf:
        for page in pdf:
            left, bottom, right, top = page.get_trimbox()
            text = page.get_textpage()
            assert text.count_chars() > 20
            for i in range(text.count_chars()):
                x0, y0, x1, y1 = text.get_charbox(i)
                assert left + IN / 8 <= x0 <= x1 <= right - IN / 8, text.get_text_range(i, 1)
                assert bottom + IN / 8 <= y0 <= y1 <= top - IN / 8, text.get_text_range(i, 1)


@pytest.mark.parametrize("name", PIECES)
def test_whatever_a_stream_names_is_in_its_own_resources(name: str) -> None:
    kinds = {"cs": "/ColorSpace", "sh": "/Shading", "Do": "/XObject", "Tf": "/Font"}
    with pikepdf.open(ARTWORK / name) as pdf:
        for stream in _streams(pdf):
            page = isinstance(stream, pikepdf.Page)
            resources = stream.resources if page else stream["/Resources"]
            for operands, operator in pikepdf.parse_content_stream(stream):
                kind = kinds.get(str(operator).replace("CS", "cs"))
                if kind and not str(operands[0]).startswith("/Device"):
                    assert str(operands[0]) in resources[kind]


def test_slate_is_a_spot_with_a_process_alternate() -> None:
    with pikepdf.open(ARTWORK / "envelope.pdf") as pdf:
        space = pdf.pages[0].resources["/ColorSpace"]["/Slate"]
        assert [str(space[i]) for i in range(3)] == ["/Separation", "/Slate", "/DeviceCMYK"]
        program = space[3].read_bytes().decode()
        full = [float(number) for number in re.findall(r"[\d.]+(?= mul)", program)]
        assert full == [0.55, 0.3, 0.2, 0.25]


def test_the_monogram_is_one_form_used_on_both_sides() -> None:
    with pikepdf.open(ARTWORK / "reply-card.pdf") as pdf:
        forms = []
        for page in pdf.pages:
            used = [
                str(operands[0])
                for operands, operator in pikepdf.parse_content_stream(page)
                if str(operator) == "Do"
            ]
            assert len(used) == 1
            forms.append(page.resources["/XObject"][used[0]])
        assert forms[0].objgen == forms[1].objgen
        assert forms[0]["/Subtype"] == "/Form"


@pytest.mark.parametrize("name", ["invitation.pdf", "reply-card.pdf", "programme.pdf"])
def test_gradients_run_from_lantern_to_a_light_lantern(name: str) -> None:
    with pikepdf.open(ARTWORK / name) as pdf:
        shadings = list(pdf.pages[0].resources["/Shading"].values())
        assert shadings
        for shading in shadings:
            assert int(shading["/ShadingType"]) == 2
            ends = [[float(n) for n in shading["/Function"][c]] for c in ("/C0", "/C1")]
            assert ends[0] == pytest.approx([0, 0.38, 0.88, 0.02])
            assert ends[1] == pytest.approx([0, 0.114, 0.264, 0.006])
