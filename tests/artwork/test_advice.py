"""What findings say to do: by kind of program, in a designer's words, from one table."""

import io
import re
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from codes_kit import OF_THE_ORDER_ALONE, all_said
from inkaccord.artwork.advice import ADVICE, advised
from inkaccord.artwork.made_with import program_kind
from inkaccord.artwork.preflight import inks, typesetting
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.programs import ProgramKind
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
ORDER_WORDS = (
    "swap", "blending space", r"\bbuilds?\b", r"\bpairs?\b", "under 'colours'", "'keep'", "--",
    "vendor", r"\bpieces\.", "operator", "object stream", "TrimBox", "order file",
)  # fmt: skip
"""What only whoever wrote the order, or this program, knows."""

NOTHING_TO_DO = {
    "area-unclear": "edges that a rendering can't tell apart: a matter of measuring",
    "bleed-unknown": "the page could not be drawn here, which another finding explains",
    "total-ink-from-objects": "a matter of what is installed where the order is made",
    "layers-flattened": "done in the copy",
    "type-outlined": "done in the copy",
    "mixing-mended": "done in the copy",
    "overprint-switched-off": "done in the copy",
    "stepped-gradient": "understood",
    "trim-understood": "understood",
    "was-encrypted": "the copy is not",
    "converted-beside": "done in the copy; only the order can give the colour a build of its own",
    "photographs-kept": "the order says so",
    "photographs-matched": "done in the copy",
    "photographs-without-source": "the order has to name a pair that was read",
    "address-contrast-unknown": "a matter of what was read of the paper",
    "mail-size": "a matter of the piece's size, which the order sets",
    "mail-aspect": "a matter of the piece's shape, which the order sets",
    "finish-not-taken": "the vendor's list in the order, or another vendor",
    "no-white-under": "the order's stock, or a plate that the suite is to have",
    "unused-finish": "the order names a finish that no artwork holds",
    "white-beside-ink": "the order's stock",
    "approved": "what a client signed holds",
    "approval-passed": "the client is asked again, or what was changed is put back",
    "unused-colour": "the order names a colour that no artwork holds",
    "missing-file": "the order names a profile or evidence that is not there",
    "cannot-read": "the order names a file that is not there, or may not be read",
    "no-ghostscript": "a matter of what is installed where the order is made",
    "cannot-render": "why is not known here; where the file is at fault, the finding says so",
    "colour-not-in-file": "the command names a colour that the file does not hold",
    "bad-swap": "what a colour becomes is said in the command or follows from the order",
    "double-swap": "what a colour becomes is said in the command or follows from the order",
    "neutrals-in-rgb": "what a colour becomes is said in the command or follows from the order",
    "reserved-colorant": "what a colour becomes is said in the command or follows from the order",
    "bad-table": "a table for pictures that the order's models give",
    "bad-output-profile": "the order names the vendor's profile",
}
"""Codes about artwork for which nothing is to be done in the program that made it, and why."""


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


def test_every_finding_about_artwork_says_what_to_do_in_the_program_or_why_nothing() -> None:
    known = ADVICE.keys() | NOTHING_TO_DO.keys() | OF_THE_ORDER_ALONE
    seen: set[str] = set()
    for said in all_said():
        seen |= said.codes
        assert said.in_program or said.codes <= known, f"{said.place}: {sorted(said.codes - known)}"
    assert len(seen) > 100
    assert known <= seen, "nobody says these any more"


def test_a_code_that_is_handed_in_is_said_where_it_comes_from() -> None:
    handed_in = {said.place.partition(":")[0] for said in all_said() if not said.codes}
    assert handed_in <= {"interpreter.py", "oddities.py", "pdfx.py", "imposing.py"}


def test_no_code_is_both() -> None:
    assert not ADVICE.keys() & NOTHING_TO_DO.keys()
    assert all(len(why) > 5 for why in NOTHING_TO_DO.values())


@pytest.mark.parametrize("code", ADVICE)
@pytest.mark.parametrize("kind", ProgramKind)
def test_advice_is_in_words_that_whoever_made_the_artwork_has(code: str, kind: ProgramKind) -> None:
    said = ADVICE[code].in_program(kind)
    assert len(said) > 20
    for word in ORDER_WORDS:
        assert not re.search(word, said), word
    known = ADVICE[code].by_kind
    assert not known or kind is ProgramKind.UNKNOWN or said.startswith("in the ")
    assert not known or set(known) == set(ProgramKind) - {ProgramKind.UNKNOWN}


def test_both_are_told_and_what_a_finding_says_itself_stays() -> None:
    bare = warning("no-bleed", "colour runs to the cut")
    own = warning("no-bleed", "colour runs to the cut", in_program="draw on", hint="ask Jo")
    other = warning("unknown-code", "something")
    told = advised([bare, own, other], ProgramKind.OFFICE)
    assert (told[0].in_program or "").startswith("in the office suite: set a page size larger")
    assert (told[0].hint or "").endswith("or, if its vendor takes less, set its 'bleed' so")
    assert told[0].mends == (told[0].in_program, told[0].hint)
    assert told[1:] == [own, other]


def test_the_command_and_an_order_are_told_apart() -> None:
    made = recolour(written("0.851 0.2 0.6 0.32 k 9 9 50 9 re f"), [
        parse_swap("cmyk 85 20 60 30 = cmyk 1 2 3 4")
    ])  # fmt: skip
    (finding,) = made.findings
    assert finding.code == "near-miss"
    profiled = warning("profiled-colour", "prints through a profile")
    (told,) = advised([finding], made.program, in_order=False)
    assert "'--swap'" in (told.hint or "")
    for in_order, mend in ((True, "'profiled: plain'"), (False, "'--profiled plain'")):
        (told,) = advised([profiled], made.program, in_order=in_order)
        assert mend in (told.hint or "")
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
    nothing: Callable[..., object] = lambda *_, **__: iter(())  # noqa: E731
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
