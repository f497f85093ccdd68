"""What findings say to do: by kind of program, in a designer's words, from one table."""

import io
import re
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from inkaccord.artwork.advice import ADVICE, ProgramKind, advised, program_kind
from inkaccord.artwork.preflight import inks, typesetting
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.recolouring.recolour import parse_swap, recolour
from inkaccord.diagnostics import Diagnostic, Severity, warning
from outside import need_program
from page_kit import changed, drawn, written

EXPORTS = Path(__file__).parents[1] / "exports"
KINDS = {
    "inkscape": ProgramKind.VECTOR, "layout": ProgramKind.LAYOUT, "office": ProgramKind.OFFICE,
    "typst": ProgramKind.TYPESETTER, "tikz": ProgramKind.TYPESETTER, "web": ProgramKind.WEB,
    "library": ProgramKind.UNKNOWN, "cairo": ProgramKind.UNKNOWN,
}  # fmt: skip
"""By the name that each export was kept under, which says what made it."""


@pytest.mark.parametrize("name", KINDS)
def test_the_kind_of_program_is_known_from_what_it_writes(name: str) -> None:
    files = sorted((EXPORTS / "files").glob(f"{name}-*.pdf"))
    assert files
    for path in files:
        with pikepdf.open(path) as pdf:
            assert program_kind(pdf) is KINDS[name], path.name


def test_a_word_within_another_is_no_program() -> None:
    def says(pdf: pikepdf.Pdf) -> None:
        pdf.docinfo["/Creator"] = "Context of texture"

    with pikepdf.open(io.BytesIO(changed(written("0 0 9 9 re f"), says))) as pdf:
        assert program_kind(pdf) is ProgramKind.UNKNOWN


@pytest.mark.parametrize("code", ADVICE)
@pytest.mark.parametrize("kind", ProgramKind)
def test_advice_is_in_words_that_a_designer_has(code: str, kind: ProgramKind) -> None:
    said = ADVICE[code].words(kind, in_order=True)
    assert len(said) > 20
    for word in ("swap", "blending space", "lower the build", "operator", "object stream"):
        assert word not in said
    assert "--" not in said  # options belong to the command
    if kind is not ProgramKind.UNKNOWN and kind in ADVICE[code].by_kind:
        assert said.startswith("in the ")
    assert not re.search(r"\bbuild\b", said) or "finds" in said or "gets a build" in said


def test_a_hint_that_a_finding_has_stays() -> None:
    own = warning("no-bleed", "colour runs to the cut", hint="ask Jo")
    bare = warning("no-bleed", "colour runs to the cut")
    told = advised([own, bare], ProgramKind.OFFICE)
    assert told[0].hint == "ask Jo"
    assert "in the office suite" in (told[1].hint or "")


def test_the_command_and_an_order_are_told_apart() -> None:
    made = recolour(written("0.851 0.2 0.6 0.32 k 9 9 50 9 re f"), [
        parse_swap("cmyk 85 20 60 30 = cmyk 1 2 3 4")
    ])  # fmt: skip
    (finding,) = made.findings
    assert finding.code == "near-miss"
    for in_order, field in ((True, "'in_artwork'"), (False, "'--swap'")):
        (told,) = advised(made.findings, made.program, in_order=in_order)
        assert field in (told.hint or "")
    assert "swap" not in finding.message


def only(code: str, found: tuple[Diagnostic, ...]) -> Diagnostic:
    (one,) = [it for it in found if it.code == code]
    return one


def two_pages(content: str) -> bytes:
    def second(pdf: pikepdf.Pdf) -> None:
        pdf.pages.append(pdf.pages[0])

    return changed(written(content), second)


def test_one_cause_on_two_pages_is_one_finding() -> None:
    data = two_pages("0.1 w 50 50 m 90 50 l S 50 80 m 90 80 l S")
    found = only("hairline", preflight(data, ArtworkRules(bleed_pt=0, safe_pt=0)))
    assert "(3 more like it on pages 1 and 2)" in found.message
    assert found.place.page == 1


def type_in_two_fonts() -> bytes:
    def draw(canvas: object) -> None:
        for at, name in enumerate(("Helvetica", "Times-Roman")):
            canvas.setFont(name, 20)
            canvas.drawString(40, 100 + 40 * at, "Kelp")

    return drawn(draw)


@pytest.mark.parametrize("there", [True, False])
def test_ghostscript_is_named_only_where_it_is_missing(
    there: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (inks, typesetting):
        monkeypatch.setattr(module, "ghostscript_path", lambda: Path("gs") if there else None)
    rules = ArtworkRules(fonts="outlined", bleed_pt=0, max_total_ink=240)
    found = only("font-not-outlined", preflight(type_in_two_fonts(), rules))
    assert "Helvetica and Times-Roman" in found.message
    assert ("install Ghostscript" in (found.hint or "")) is not there


def test_colours_over_the_limit_are_one_finding_where_nothing_can_be_measured(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    nothing: Callable[..., object] = lambda self, spots_apart: iter(())  # noqa: E731
    monkeypatch.setattr(inks.OpenArtwork, "inks", nothing)
    data = written("1 1 1 0 k 9 9 50 9 re f 1 1 1 1 k 9 90 50 9 re f")
    found = preflight(data, ArtworkRules(max_total_ink=240, bleed_pt=0))
    over = only("total-ink", found)
    assert over.message.startswith("cmyk 100 100 100 100 is 400 % of ink, and 1 more colour over")
    assert over.severity is Severity.ERROR


@pytest.mark.parametrize(("colour", "estimated"), [("0 0 0 rg", True), ("1 1 1 0 k", False)])
def test_ink_of_rgb_is_told_as_an_estimate(colour: str, estimated: bool) -> None:
    need_program("gs", "ghostscript")
    data = written(f"{colour} 40 40 90 90 re f")
    found = only("total-ink", preflight(data, ArtworkRules(max_total_ink=150, bleed_pt=0)))
    assert ("an estimated" in found.message) is estimated
