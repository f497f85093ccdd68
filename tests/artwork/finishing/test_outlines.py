"""Type made into outlines by Ghostscript: what holds is kept, all else is refused."""

import io
from pathlib import Path

import pikepdf
import pytest

from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.finishing import outlines
from inkaccord.artwork.finishing.outlines import outline_type
from inkaccord.artwork.preflight import ArtworkRules, preflight
from inkaccord.artwork.proof.likeness import strange_pixels
from inkaccord.artwork.roles import Role
from inkaccord.pdf.boxes import page_boxes
from outside import need_program
from page_kit import embedded_font, finish, written

pytestmark = pytest.mark.slow

TRIM = {"TrimBox": [20.0, 20.0, 180.0, 280.0], "BleedBox": [11.0, 11.0, 189.0, 289.0]}
CONTENT = (
    "0.85 0.2 0.6 0.3 k 11 11 178 60 re f /K cs 0.35 scn BT /T 30 Tf 40 200 Td (Boat) Tj ET "
    "0.078431 0.360784 0.305882 rg 100 100 30 30 re f "
    "/G gs 0 0.38 0.88 0.02 k BT /T 12 Tf 40 120 Td (house) Tj ET"
)


def artwork(content: str = CONTENT) -> bytes:
    """Return a page with type in a spot, and overprinting in three inks."""
    tint = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0] * 4, C1=[0.3, 0.2, 0, 0.5])
    spot = [pikepdf.Name.Separation, pikepdf.Name("/Slate"), pikepdf.Name.DeviceCMYK, tint]
    with pikepdf.new() as pdf:
        return finish(
            pdf, content, TRIM, Font=pikepdf.Dictionary(T=embedded_font(pdf)),
            ColorSpace=pikepdf.Dictionary(K=pikepdf.Array(spot)),
            ExtGState=pikepdf.Dictionary(G=pikepdf.Dictionary(OP=True, op=True, OPM=1)),
        )  # fmt: skip


def facts(data: bytes) -> tuple[set[tuple[str, bool]], object]:
    """Return each colour and whether it overprints, spots to whole percent, and the boxes."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        colours = {
            (
                f"spot {round(use.colour.paint.values[0])}"
                if use.colour.paint and use.colour.paint.name
                else str(use.colour),
                use.overprint.fill,
            )
            for use in walk(pdf)
            if use.role is not Role.UNUSED
        }
        return colours, page_boxes(pdf.pages[0]).raw


def test_type_becomes_outlines_and_colours_boxes_and_overprint_stay() -> None:
    need_program("gs", "ghostscript")
    before = artwork()
    after, findings = outline_type(before)
    assert [it.code for it in findings] == ["type-outlined"]
    assert after is not None
    assert facts(after) == facts(before)
    assert ("cmyk 0 38 88 2", True) in facts(after)[0]
    assert list(strange_pixels(before, after)) == []
    assert outline_type(before)[0] == after  # the same bytes each time
    rules = ArtworkRules(fonts="outlined")
    assert "font-not-outlined" in {it.code for it in preflight(before, rules)}
    left = {it.code for it in preflight(after, rules)}
    assert not left & {"font-not-outlined", "font-not-embedded"}


def test_blank_type_in_a_colour_of_its_own_is_no_obstacle() -> None:
    need_program("gs", "ghostscript")
    after, findings = outline_type(artwork(CONTENT + " 1 0 0 0 k BT /T 9 Tf 40 90 Td (  ) Tj ET"))
    assert after is not None, findings


def test_files_without_type_are_left_alone() -> None:
    assert outline_type(written("0 g 50 50 9 9 re f", TRIM)) == (None, ())


def test_without_ghostscript_type_stays_and_the_reason_is_given(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(outlines, "ghostscript_path", lambda: None)
    after, findings = outline_type(artwork())
    assert after is None
    assert findings[0].code == "type-kept"
    assert "not installed" in findings[0].message


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("0.85 0.2 0.6 0.3 k", "0.84 0.2 0.6 0.3 k", "the colour cmyk 83.98"),
        ("/G gs", "", "or its overprint"),
        ("(Boat) Tj", "() Tj", "the colour spot Slate 35%"),
        ("11 11 178 60 re f", "11 11 178 50 re f", "would print another ink"),
        ("(house) Tj", "(house) Tj 50 150 Td (house) Tj", "another ink"),
    ],
)
def test_a_copy_that_differs_is_refused(
    old: str, new: str, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    need_program("gs", "ghostscript")
    real = outlines._rewritten
    wrong = artwork(CONTENT.replace(old, new))
    assert wrong != artwork()
    monkeypatch.setattr(outlines, "_rewritten", lambda _: real(wrong))
    after, findings = outline_type(artwork())
    assert after is None
    assert findings[0].code == "type-kept"
    assert words in findings[0].message


def test_type_that_stays_type_and_other_boxes_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    need_program("gs", "ghostscript")
    monkeypatch.setattr(outlines, "_rewritten", lambda data: data)
    assert "could not be turned" in outline_type(artwork())[1][0].message
    other = written("", {"TrimBox": [0.0, 0, 9, 9]})
    monkeypatch.setattr(outlines, "_rewritten", lambda _: other)
    assert "boxes" in outline_type(artwork())[1][0].message


def test_the_example() -> None:
    need_program("gs", "ghostscript")
    folder = Path(__file__).parents[3] / "jobs_example" / "artwork"
    after, findings = outline_type(folder / "lantern-tag.pdf")
    assert after is not None, findings
