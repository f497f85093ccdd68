"""Every check, on a file made to fail it and one made to pass, with a place and a mend."""

import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pikepdf
import pytest

import inkaccord
from check_kit import (
    CLEAN,
    PIECE,
    TRIM,
    layered,
    pictured,
    registration,
    separation,
    states,
    typeset,
)
from inkaccord.artwork.preflight import ArtworkRules, PreflightContext, case, preflight
from inkaccord.artwork.preflight.case import AddressInk
from inkaccord.artwork.preflight.rules import FinishRule
from inkaccord.colour.legibility import Reflectances
from inkaccord.diagnostics import Severity
from inkaccord.errors import FileError
from inkaccord.pdf.colours.colours import ColourKind
from inkaccord.sizes import Size
from outside import need_program
from page_kit import changed, finish, image, written
from structure_kit import jpeg_of_inks

WHOLE_FILE = {"pdf-version", "encrypted", "total-ink-from-objects"}
"""What is said of a file as a whole, and so has no page."""
_TOLD = re.compile(r'(?:error|warning|note|finding)\(\s*"([a-z-]+)"')


def in_font(name: str) -> bytes:
    font = pikepdf.Dictionary(
        Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name(name)
    )
    content = "BT /F 12 Tf 50 100 Td (Boathouse) Tj ET"
    return written(content, TRIM, Font=pikepdf.Dictionary(F=font))


def with_states(content: str, **settings: object) -> bytes:
    return written(content, TRIM, ExtGState=states(**settings))


UNDER = "q /G gs /S cs 1 scn 50 50 60 60 re f Q 0.2 0.4 0 0 k 60 60 20 20 re f"
BESIDE = UNDER.replace("60 60 20 20", "120 60 20 20")


def inks_in_jpeg(count: int) -> bytes:
    """Return a page with a JPEG in so many inks."""
    names = [pikepdf.Name(f"/Ink{at}") for at in range(count)]
    look = "{" + "pop " * (count - 4) + "}"
    with pikepdf.new() as pdf:
        function = pdf.make_stream(
            look.encode(), FunctionType=4, Domain=[0, 1] * count, Range=[0, 1] * 4
        )
        space = pikepdf.Array(
            [pikepdf.Name.DeviceN, pikepdf.Array(names), pikepdf.Name.DeviceCMYK, function]
        )
        samples = jpeg_of_inks(np.zeros((300, 300, count), np.uint8))
        packed = image(pdf, samples, (300, 300), space, Filter=pikepdf.Name.DCTDecode)
        content = "q 60 0 0 60 50 50 cm /I Do Q"
        return finish(pdf, content, TRIM, XObject=pikepdf.Dictionary(I=packed))


def foil(*, overprint: bool) -> dict[str, object]:
    rule = FinishRule(plate="Gold foil", what="foil 'gold'", overprint=overprint)
    return {"finishes": (rule,)}


def spot_with(content: str = "/G gs /S cs 1 scn 50 50 60 60 re f", **settings: object) -> bytes:
    spaces = pikepdf.Dictionary(S=separation("Gold foil", 0, 0.2, 0.8, 0))
    return written(content, TRIM, ColorSpace=spaces, ExtGState=states(**settings))


DIE = {"finishes": (FinishRule(plate="Die", what="die line 'die'", prints=False, cuts=True),)}


def die_cut(side: int) -> bytes:
    """Return a page with a square ground, and a die line of 40 pt round its middle."""
    spaces = pikepdf.Dictionary(S=separation("Die", 0, 1, 0, 0))
    at = 100 - side / 2
    content = f"1 0 0 0 k {at} {at} {side} {side} re f /S CS 1 SCN 80 80 40 40 re S"
    return written(content, TRIM, ColorSpace=spaces)


def as_version(version: str) -> bytes:
    def header(pdf: pikepdf.Pdf) -> None:
        pdf.Root["/Version"] = pikepdf.Name("/" + version)

    return changed(written(CLEAN, TRIM), header)


def encrypted() -> bytes:
    import io

    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(written(CLEAN, TRIM))) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(owner="", user=""))
    return out.getvalue()


def addressed(ink: float) -> PreflightContext:
    ground = Reflectances(0.8, 0.8, 0.8)
    inks = (AddressInk(name="kelp", ground=ground, ink=Reflectances(ink, ink, ink)),)
    return PreflightContext(addressed=True, address_inks=inks)


def card(across_in: float, up_in: float) -> bytes:
    return written(CLEAN, {"MediaBox": [0.0, 0, 72 * across_in, 72 * up_in]})


def letter(across_in: float, up_in: float) -> dict[str, object]:
    return {
        "trim": Size(width_pt=72 * across_in, height_pt=72 * up_in), "bleed_pt": 0.0,
    }  # fmt: skip


MAILED = PreflightContext(mailed=True)


@dataclass(frozen=True)
class Case:
    """A file that fails, one that passes; rules and what is known, for both."""

    fails: bytes
    passes: bytes
    rules: dict[str, object] = field(default_factory=dict)
    context: PreflightContext = field(default_factory=PreflightContext)
    passing_rules: dict[str, object] | None = None
    passing_context: PreflightContext | None = None


CLEAN_FILE = written(CLEAN, TRIM)
GROUND = "0.85 0.2 0.6 0.3 k 11 11 178 278 re f 0 0 0 0 k "
CASES = {
    "page-count": Case(
        changed(CLEAN_FILE, lambda pdf: pdf.pages.append(pdf.pages[0])),
        CLEAN_FILE, {"page_counts": (1,)},
    ),
    "boxes-not-nested": Case(
        written(CLEAN, {**TRIM, "BleedBox": [30.0, 30.0, 170.0, 270.0]}), CLEAN_FILE
    ),
    "marks-in-bleed": Case(
        written(
            CLEAN + " 0 0 0 1 K 0.3 w 20 12 m 20 18 l S 180 12 m 180 18 l S "
            "12 20 m 18 20 l S 12 280 m 18 280 l S", TRIM,
        ),
        written(
            CLEAN + " 0 0 0 1 K 0.3 w 20 1 m 20 9 l S 180 1 m 180 9 l S "
            "1 20 m 9 20 l S 1 280 m 9 280 l S", TRIM,
        ),
    ),
    "trim-size": Case(
        CLEAN_FILE, CLEAN_FILE, {"trim": PIECE.turned}, passing_rules={"trim": PIECE}
    ),
    "no-bleed": Case(
        written("1 0 0 0 k 0 100 90 90 re f", {"TrimBox": [0.0, 0, 200, 300]}),
        written("1 0 0 0 k 50 100 90 90 re f", {"TrimBox": [0.0, 0, 200, 300]}), {"trim": None},
    ),
    "bleed-just-short": Case(
        written("1 0 0 0 k 0 0 200 300 re f", {"TrimBox": [8.5, 8.5, 191.5, 291.5]}), CLEAN_FILE,
        {"trim": None},
    ),
    "bleed-not-filled": Case(written("1 0 0 0 k 20 20 160 260 re f", TRIM), CLEAN_FILE),
    "no-bleed-round-die": Case(die_cut(40), die_cut(60), DIE),
    "outside-safe-area": Case(
        typeset("BT /T 10 Tf 15 100 Td (a) Tj ET"), typeset("BT /T 10 Tf 60 100 Td (a) Tj ET")
    ),
    "font-not-embedded": Case(
        in_font("/Helvetica"), typeset("BT /T 12 Tf 50 100 Td (Boat) Tj ET")
    ),
    "font-not-outlined": Case(
        typeset("BT /T 12 Tf 50 100 Td (Boat) Tj ET"), CLEAN_FILE, {"fonts": "outlined"}
    ),
    "image-resolution": Case(pictured(144, 72), pictured(300, 72)),
    "image-half-resolution": Case(pictured(120, 72), pictured(144, 72)),
    "jpeg-of-many-inks": Case(inks_in_jpeg(5), inks_in_jpeg(4)),
    "line-without-width": Case(
        written("0 w 50 50 m 90 50 l S", TRIM), written("0.1 w 50 50 m 90 50 l S", TRIM)
    ),
    "thin-reversed-line": Case(
        written(GROUND + "0 0 0 0 K 0.3 w 50 50 m 90 50 l S 60 80 9 0.3 re f", TRIM),
        written(GROUND + "0 0 0 0 K 0.6 w 50 50 m 90 50 l S 60 80 9 0.6 re f", TRIM),
    ),
    "black-type-knocks-out": Case(
        typeset("0.2 0.1 0 0 k 11 11 178 278 re f 0 g BT /T 6 Tf 50 100 Td (a b c) Tj ET"),
        typeset("0 0 0 0.3 k 11 11 178 278 re f 0 g BT /T 6 Tf 50 100 Td (a b c) Tj ET"),
    ),
    "no-trim-box": Case(written(CLEAN), CLEAN_FILE, {"trim": None}),
    "ink-without-limit": Case(
        written("1 1 0.6 0 k 50 60 40 30 re f", TRIM), CLEAN_FILE, {"tell_ink": True},
        passing_rules={"tell_ink": True, "max_total_ink": 300.0},
    ),
    "spot-see-through": Case(spot_with(ca=0.5), spot_with(ca=1)),
    "colour-kind": Case(
        written("1 0 0 rg 50 50 9 9 re f", TRIM), CLEAN_FILE, {"colour_kinds": (ColourKind.CMYK,)}
    ),
    "total-ink": Case(
        written("1 1 0.6 0 k 50 60 40 30 re f", TRIM),
        written("0.6 0.4 0.4 1 k 50 60 40 30 re f", TRIM), {"max_total_ink": 240.0},
    ),
    "rich-black-type": Case(
        typeset("0.6 0.4 0.4 1 k BT /T 9 Tf 50 100 Td (a) Tj ET"),
        typeset("0 0 0 1 k BT /T 9 Tf 50 100 Td (a) Tj ET"),
    ),
    "small-type-several-inks": Case(
        typeset("0.85 0.2 0.6 0.3 k BT /T 5 Tf 50 100 Td (a) Tj ET"),
        typeset("0.85 0.2 0.6 0.3 k BT /T 7 Tf 50 100 Td (a) Tj ET"),
    ),
    "small-reversed-type": Case(
        typeset(GROUND + "BT /T 6 Tf 50 100 Td (a b c) Tj ET"),
        typeset(GROUND + "BT /T 9 Tf 50 100 Td (a b c) Tj ET"),
    ),
    "hairline": Case(
        written("0.1 w 50 50 m 90 50 l S", TRIM), written("0.3 w 50 50 m 90 50 l S", TRIM)
    ),
    "thin-line-several-inks": Case(
        written("0.3 w 1 1 0 0 K 50 50 m 90 50 l S", TRIM),
        written("0.6 w 1 1 0 0 K 50 50 m 90 50 l S", TRIM),
    ),
    "finish-knocks-out": Case(spot_with(op=False), spot_with(op=True), foil(overprint=True)),
    "finish-overprints": Case(spot_with(op=True), spot_with(op=False), foil(overprint=False)),
    "finish-covered": Case(
        spot_with(UNDER, op=True, OPM=1),
        spot_with(BESIDE, op=True, OPM=1),
        foil(overprint=True),
    ),
    "ink-off-white": Case(
        spot_with(UNDER, op=False),
        spot_with(UNDER.replace("Q", "Q /G gs"), op=True, OPM=1),
        {"finishes": (FinishRule(plate="Gold foil", what="white 'white'", under_all=True),)},
    ),
    "white-overprint": Case(
        with_states(CLEAN + " /G gs 0 0 0 0 k 50 50 9 9 re f", OP=True, op=True, OPM=1),
        with_states(CLEAN + " /G gs 0 0 0 0 k 50 50 9 9 re f", OP=False, op=False, OPM=1),
    ),
    "registration-colour": Case(
        registration("/A cs 1 scn 50 50 9 9 re f"), registration("/A cs 1 scn 2 2 9 5 re f")
    ),
    "transparency": Case(
        with_states("/G gs 50 50 9 9 re f", ca=0.5), with_states("/G gs 50 50 9 9 re f", ca=1),
        {"transparency": False},
    ),
    "layers": Case(layered(hidden=False), CLEAN_FILE),
    "hidden-layer": Case(layered(hidden=True), layered(hidden=False)),
    "pdf-version": Case(as_version("2.0"), as_version("1.6"), {"pdf_version": "1.6"}),
    "encrypted": Case(encrypted(), CLEAN_FILE),
    "address-contrast": Case(
        CLEAN_FILE, CLEAN_FILE, context=addressed(0.6), passing_context=addressed(0.1)
    ),
    "address-contrast-unknown": Case(
        CLEAN_FILE, CLEAN_FILE, context=PreflightContext(addressed=True),
        passing_context=addressed(0.1),
    ),
    "mail-size": Case(
        card(4, 2.5), card(7.25, 5.25), letter(4, 2.5), MAILED, letter(7.25, 5.25)
    ),
    "mail-aspect": Case(card(6, 6), card(7.25, 5.25), letter(6, 6), MAILED, letter(7.25, 5.25)),
}  # fmt: skip


def findings(data: bytes, rules: dict[str, object], context: PreflightContext) -> list[object]:
    return list(preflight(data, ArtworkRules(**{"trim": PIECE, **rules}), context=context))  # type: ignore[arg-type]  # as given


@pytest.mark.parametrize("code", CASES)
def test_it_finds_what_it_is_for_says_where_and_how_to_mend_it(code: str) -> None:
    if code in {"total-ink", "ink-off-white"}:
        need_program("gs", "ghostscript")
    case_ = CASES[code]
    found = [it for it in findings(case_.fails, case_.rules, case_.context) if it.code == code]
    assert found, "the file made to fail passes"
    assert found[0].message
    assert found[0].mends
    if code not in WHOLE_FILE:
        assert found[0].place.page in {1, 2}
        left, bottom, right, top = found[0].place.box_mm
        assert left <= right
        assert bottom <= top
    rules = case_.passing_rules if case_.passing_rules is not None else case_.rules
    passed = findings(case_.passes, rules, case_.passing_context or case_.context)
    assert code not in {it.code for it in passed}, "the file made to pass fails"


def test_what_cannot_be_drawn_or_measured_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(case, "ghostscript_path", lambda: None)
    rules = {"max_total_ink": 240.0}
    found = {it.code: it for it in findings(pictured(300, 72), rules, PreflightContext())}
    assert found["total-ink-from-objects"].severity is Severity.NOTE

    def broken(*_: object, **__: object) -> None:
        raise FileError.of("cannot-render", "no")

    monkeypatch.setattr(case, "colour_maps", broken)
    bare = written(CLEAN, {"TrimBox": [0.0, 0, 200, 300]})
    unknown = {it.code: it for it in findings(bare, {"trim": None}, PreflightContext())}
    assert unknown["bleed-unknown"].place.page == 1
    assert unknown["bleed-unknown"].place.box_mm is not None


def test_no_check_is_without_a_case() -> None:
    folder = Path(inkaccord.__file__).parent / "artwork" / "preflight"
    told: set[str] = set()
    for path in folder.glob("*.py"):
        if path.name != "pdfx.py":  # condition by condition in finishing/test_pdfx.py
            told |= set(_TOLD.findall(path.read_text("utf-8")))
    assert told
    assert told - {"total-ink-from-objects", "bleed-unknown"} == set(CASES)
