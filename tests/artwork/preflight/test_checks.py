"""Every check before release, on files made to pass and made to fail it."""

import io
from collections.abc import Iterable
from pathlib import Path

import pikepdf
import pytest

from inkaccord.artwork.objects.colours import ColourKind
from inkaccord.artwork.preflight import (
    CHECKS,
    Artwork,
    ArtworkRules,
    PreflightContext,
    case,
    preflight,
)
from inkaccord.artwork.preflight.case import AddressInk
from inkaccord.colour.legibility import Known, PostContrast
from inkaccord.diagnostics import Diagnostic, Severity, warning
from inkaccord.errors import FileError
from inkaccord.sizes import Size
from outside import need_program, shared_pdfs
from page_kit import changed, drawn, embedded_font, finish, written

TRIM = {"TrimBox": [20.0, 20.0, 180.0, 280.0], "BleedBox": [11.0, 11.0, 189.0, 289.0]}
PIECE = Size(width_pt=160, height_pt=260)
RULES = ArtworkRules(trim=PIECE)
CLEAN = "0.85 0.2 0.6 0.3 k 11 11 178 278 re f"


def found(
    data: bytes | Path,
    rules: ArtworkRules = RULES,
    context: PreflightContext | None = None,
) -> dict[str, Diagnostic]:
    """Return the first finding of each code."""
    by_code: dict[str, Diagnostic] = {}
    for finding in preflight(data, rules, context=context):
        by_code.setdefault(finding.code, finding)
    return by_code


def mm_box(*corners_pt: float) -> object:
    return pytest.approx([corner * 25.4 / 72 for corner in corners_pt], abs=0.3)


def states(**settings: object) -> pikepdf.Dictionary:
    return pikepdf.Dictionary(G=pikepdf.Dictionary(**settings))


def typeset(content: str, boxes: dict[str, list[float]] = TRIM) -> bytes:
    """Return a page with type in squares: ``/T`` is the font."""
    with pikepdf.new() as pdf:
        return finish(pdf, content, boxes, Font=pikepdf.Dictionary(T=embedded_font(pdf)))


def test_clean_artwork_has_no_findings() -> None:
    assert preflight(written(CLEAN, TRIM), RULES) == ()


def test_findings_say_file_page_code_and_mend_and_errors_come_first(tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    path.write_bytes(written("0.1 w 50 50 m 90 50 l S 20 100 50 50 re f"))
    findings = preflight(path, RULES)
    assert len(findings) >= 3
    assert all(one.place.file == str(path) and one.hint for one in findings)
    order = [list(Severity).index(one.severity) for one in findings]
    assert order == sorted(order)


# --- pages ---------------------------------------------------------------------------------


def test_page_count() -> None:
    two = changed(written(CLEAN, TRIM), lambda pdf: pdf.pages.append(pdf.pages[0]))
    rules = RULES.model_copy(update={"page_counts": (1,)})
    assert "expected 1" in found(two, rules)["page-count"].message
    assert "page-count" not in found(written(CLEAN, TRIM), rules)
    assert "page-count" not in found(two, RULES)


def test_boxes() -> None:
    assert "no-trim-box" in found(written(CLEAN))
    assert "no-trim-box" not in found(written(CLEAN, TRIM))
    loose = {**TRIM, "BleedBox": [30.0, 30.0, 170.0, 270.0]}
    assert "boxes-not-nested" in found(written(CLEAN, loose))
    assert "boxes-not-nested" in found(written(CLEAN, {"TrimBox": [-20.0, 0, 200, 300]}))


def test_trim_size_wrong_turned_and_scaled() -> None:
    rules = ArtworkRules(trim=Size(width_pt=160, height_pt=240))
    assert found(written(CLEAN, TRIM), rules)["trim-size"].severity is Severity.ERROR
    turned = found(written(CLEAN, TRIM), ArtworkRules(trim=PIECE.turned))["trim-size"]
    assert "on its side" in turned.message
    half = ArtworkRules(trim=Size(width_pt=320, height_pt=520))
    assert "scale is 50%" in found(written(CLEAN, TRIM), half)["trim-size"].message
    rotated = changed(written(CLEAN, TRIM), lambda pdf: pdf.pages[0].rotate(90, relative=False))
    assert "trim-size" not in found(rotated, ArtworkRules(trim=PIECE.turned))


@pytest.mark.parametrize(
    ("content", "sides"),
    [
        (CLEAN, set()),
        ("1 0 0 0 k 20 20 160 260 re f", {"left", "bottom", "right", "top"}),
        ("1 0 0 0 k 11 11 178 274 re f", {"top"}),
        ("1 0 0 0 k 40 11 100 100 re f", set()),
        ("1 0 0 0 k 40 15 100 100 re f", {"bottom"}),
        ("1 0 0 0 k 15 100 100 100 re f", {"left"}),
        ("1 0 0 0 k 50 50 50 50 re f", set()),
        ("0 0 0 0 k 20 20 160 260 re f", set()),
    ],
    ids=["full", "none", "top short", "runs off below", "stops in the bleed", "left", "island",
         "white"],
)  # fmt: skip
def test_colour_at_the_cut_must_fill_the_bleed(content: str, sides: set[str]) -> None:
    findings = [
        one for one in preflight(written(content, TRIM), RULES) if one.code == "bleed-not-filled"
    ]
    assert {one.message.split("to the ")[1].split()[0] for one in findings} == sides


def test_missing_bleed_says_where_how_long_and_how_much_there_is() -> None:
    box = {"TrimBox": [0.0, 0.0, 200.0, 300.0]}
    finding = found(written("1 0 0 0 k 0 100 90 90 re f", box))["no-bleed"]
    assert "left cut along 32 mm" in finding.message
    assert "ends 0.0 mm past" in finding.message
    assert finding.place.box_mm == mm_box(-9, 100, 0, 190)


def test_bleed_is_not_asked_for_where_the_vendor_wants_none() -> None:
    rules = RULES.model_copy(update={"bleed_pt": 0.0})
    assert "bleed-not-filled" not in found(written("1 0 0 0 k 20 20 160 260 re f", TRIM), rules)


def test_type_near_the_cut_and_over_it() -> None:
    near = found(typeset("BT /T 10 Tf 24 100 Td (a) Tj ET"))["outside-safe-area"]
    assert near.severity is Severity.WARNING
    assert "1.4 mm from the left cut" in near.message
    over = found(typeset("BT /T 10 Tf 15 100 Td (a) Tj ET"))["outside-safe-area"]
    assert over.severity is Severity.ERROR
    assert "1.8 mm past the left cut" in over.message
    assert "outside-safe-area" not in found(typeset("BT /T 10 Tf 30 100 Td (a) Tj ET"))


def test_a_frame_near_the_cut_is_found_and_a_ground_that_bleeds_is_not() -> None:
    frame = "1 w 23 23 154 254 re S"
    assert "a stroke" in found(written(frame, TRIM))["outside-safe-area"].message
    assert "outside-safe-area" not in found(written(CLEAN, TRIM))
    assert "outside-safe-area" not in found(written("35 35 100 100 re f", TRIM))


# --- type ----------------------------------------------------------------------------------


def test_fonts_embedded_or_outlined() -> None:
    helvetica = pikepdf.Dictionary(
        Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica
    )
    content = "BT /F 12 Tf 50 100 Td (Boathouse) Tj ET"
    loose = written(content, TRIM, Font=pikepdf.Dictionary(F=helvetica))
    assert "Helvetica" in found(loose)["font-not-embedded"].message
    inside = typeset("BT /T 12 Tf 50 100 Td (Boat) Tj ET")
    assert "font-not-embedded" not in found(inside)
    rules = RULES.model_copy(update={"fonts": "outlined"})
    assert "font-not-outlined" in found(inside, rules)
    assert "font-not-outlined" not in found(written(CLEAN, TRIM), rules)


@pytest.mark.parametrize(
    ("colour", "size", "code"),
    [
        ("0.85 0.2 0.6 0.3 k", 5, "small-type-several-inks"),
        ("0.85 0.2 0.6 0.3 k", 7, None),
        ("0.85 0 0 0 k", 5, None),
        ("0 0 0 1 k", 5, None),
        ("0.6 0.4 0.4 1 k", 9, "rich-black-type"),
        ("0.6 0.4 0.4 1 k", 20, None),
        ("0 0 0 rg", 9, "rich-black-type"),
        ("0 g", 5, None),
    ],
)
def test_small_type_in_several_inks(colour: str, size: float, code: str | None) -> None:
    codes = set(found(typeset(f"{colour} BT /T {size} Tf 50 100 Td (a) Tj ET")))
    assert codes == ({code} if code else set())


def test_type_size_is_taken_as_the_matrices_scale_it() -> None:
    content = "0.85 0.2 0.6 0.3 k q 0.5 0 0 0.5 50 100 cm BT /T 1 Tf 8 0 0 8 0 0 Tm (a) Tj ET Q"
    assert "type of 4.0 pt" in found(typeset(content))["small-type-several-inks"].message


@pytest.mark.parametrize(
    ("ground", "size", "expected"),
    [
        ("0.85 0.2 0.6 0.3 k", 6, True),
        ("0.85 0.2 0.6 0.3 k", 9, False),
        ("1 0 0 0 k", 6, False),
        ("0 0 0 0 k", 6, False),
    ],
)
def test_small_white_type_on_several_inks(ground: str, size: float, expected: bool) -> None:
    content = f"{ground} 11 11 178 278 re f 0 0 0 0 k BT /T {size} Tf 50 100 Td (a b c) Tj ET"
    assert ("small-reversed-type" in found(typeset(content))) is expected


# --- lines and pictures --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "code"),
    [
        ("0.1 w 50 50 m 90 50 l S", "hairline"),
        ("0 w 50 50 m 90 50 l S", "hairline"),
        ("0.3 w 50 50 m 90 50 l S", None),
        ("0.3 w 1 1 0 0 K 50 50 m 90 50 l S", "thin-line-several-inks"),
        ("0.6 w 1 1 0 0 K 50 50 m 90 50 l S", None),
        ("q 0.1 0 0 0.1 0 0 cm 1 w 500 500 m 900 500 l S Q", "hairline"),
        ("0 0 0 1 k 50 50 80 0.1 re f", "hairline"),
        ("0 0 0 0 K 0.1 w 50 50 m 90 50 l S", None),
    ],
)
def test_lines(content: str, code: str | None) -> None:
    assert set(found(written(content, TRIM))) == ({code} if code else set())


def pictured(width: int, size_pt: float, bits: int = 8) -> bytes:
    with pikepdf.new() as pdf:
        row = (width * bits + 7) // 8
        image = pdf.make_stream(
            bytes(row * width), Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Image,
            Width=width, Height=width, BitsPerComponent=bits, ColorSpace=pikepdf.Name.DeviceGray,
        )  # fmt: skip
        content = f"q {size_pt} 0 0 {size_pt} 50 50 cm /I Do Q"
        return finish(pdf, content, TRIM, XObject=pikepdf.Dictionary(I=image))


def test_image_resolution_at_final_size() -> None:
    assert "at 144 pixels" in found(pictured(144, 72))["image-resolution"].message
    assert "image-resolution" not in found(pictured(300, 72))
    assert "image-resolution" not in found(pictured(248, 72))
    rules = RULES.model_copy(update={"line_art_dpi": 600.0})
    assert "image-resolution" in found(pictured(300, 72, bits=1), rules)
    assert "image-resolution" not in found(pictured(600, 72, bits=1), rules)


# --- inks ----------------------------------------------------------------------------------


def test_colour_kinds() -> None:
    rules = RULES.model_copy(update={"colour_kinds": (ColourKind.CMYK, ColourKind.GRAY)})
    assert (
        "rgb 255 0 0"
        in found(written("1 0 0 rg 50 50 9 9 re f", TRIM), rules)["colour-kind"].message
    )
    assert "colour-kind" not in found(written(CLEAN, TRIM), rules)
    assert "colour-kind" not in found(pictured(300, 72), rules)
    only_cmyk = RULES.model_copy(update={"colour_kinds": (ColourKind.CMYK,)})
    assert "an image holds gray" in found(pictured(300, 72), only_cmyk)["colour-kind"].message


LIMIT = RULES.model_copy(update={"max_total_ink": 240.0})


def test_total_ink_is_measured_and_placed() -> None:
    need_program("gs", "ghostscript")
    finding = found(written("1 1 0.6 0 k 50 60 40 30 re f", TRIM), LIMIT)["total-ink"]
    assert "up to 260 %" in finding.message
    assert "measured" in finding.message
    assert finding.place.box_mm == mm_box(50, 60, 90, 90)
    # 60/40/40/100 is exactly 240 (common practice of the trade).
    assert "total-ink" not in found(written("0.6 0.4 0.4 1 k 50 60 40 30 re f", TRIM), LIMIT)


def test_total_ink_is_placed_right_on_a_turned_page() -> None:
    need_program("gs", "ghostscript")
    data = changed(
        written("1 1 1 0 k 50 60 40 30 re f", TRIM),
        lambda pdf: pdf.pages[0].rotate(90, relative=False),
    )
    assert found(data, LIMIT)["total-ink"].place.box_mm == mm_box(50, 60, 90, 90)


def test_overprints_add_up() -> None:
    need_program("gs", "ghostscript")
    content = "1 1 0 0 k 50 60 40 30 re f /G gs 0 0 1 0 k 60 60 10 30 re f"
    data = written(content, TRIM, ExtGState=states(OP=True, op=True, OPM=1))
    rules = RULES.model_copy(update={"max_total_ink": 280.0, "spots": "keep"})
    assert "up to 300 %" in found(data, rules)["total-ink"].message


def test_without_ghostscript_total_ink_comes_from_objects(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(case, "ghostscript_path", lambda: None)
    over = found(written("1 1 1 0 k 50 60 40 30 re f", TRIM), LIMIT)
    assert "300 % of ink" in over["total-ink"].message
    assert "not measured" in over["total-ink-from-objects"].message
    assert "total-ink" not in found(written(CLEAN, TRIM), LIMIT)


@pytest.mark.parametrize(
    ("content", "mode", "expected"),
    [
        ("/G gs 0 0 0 0 k 50 50 9 9 re f", 1, True),
        ("/G gs 0 0 0 0 k 50 50 9 9 re f", 0, False),
        ("0 0 0 0 k 50 50 9 9 re f", 1, False),
        ("/G gs 0 0 0 1 k 50 50 9 9 re f", 1, False),
        ("/G gs 1 g 50 50 9 9 re f", 1, False),
    ],
)
def test_white_overprint(content: str, mode: int, expected: bool) -> None:
    data = written(CLEAN + " " + content, TRIM, ExtGState=states(OP=True, op=True, OPM=mode))
    assert ("white-overprint" in found(data)) is expected


def test_registration_colour_inside_the_trim_only() -> None:
    tint = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0] * 4, C1=[1] * 4)
    spaces = pikepdf.Dictionary(
        A=pikepdf.Array([pikepdf.Name.Separation, pikepdf.Name.All, pikepdf.Name.DeviceCMYK, tint])
    )
    inside = written("/A cs 1 scn 50 50 9 9 re f", TRIM, ColorSpace=spaces)
    outside = written("/A cs 1 scn 2 2 9 5 re f", TRIM, ColorSpace=spaces)
    assert "registration-colour" in found(inside)
    assert "registration-colour" not in found(outside)


# --- how the file is built -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        ({"ca": 0.5}, True),
        ({"ca": 1}, False),
        ({"BM": pikepdf.Name.Multiply}, True),
        ({"BM": pikepdf.Name.Normal}, False),
    ],
)
def test_transparency(settings: dict[str, object], expected: bool) -> None:
    data = written("/G gs 50 50 9 9 re f", TRIM, ExtGState=states(**settings))
    assert ("transparency" in found(data, RULES.model_copy(update={"transparency": False}))) is (
        expected
    )
    assert "transparency" not in found(data)


def layered(hidden: bool) -> bytes:
    with pikepdf.new() as pdf:
        group = pdf.make_indirect(
            pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String("Die line"))
        )
        off = [group] if hidden else []
        pdf.Root["/OCProperties"] = pikepdf.Dictionary(
            OCGs=[group], D=pikepdf.Dictionary(OFF=pikepdf.Array(off))
        )
        content = "/OC /L BDC 50 50 60 60 re f EMC"
        return finish(pdf, content, TRIM, Properties=pikepdf.Dictionary(L=group))


def test_layers() -> None:
    assert set(found(layered(hidden=False))) == {"layers"}
    assert "Die line" in found(layered(hidden=True))["hidden-layer"].message
    keep = RULES.model_copy(update={"layers": "keep"})
    assert found(layered(hidden=False), keep) == {}


def test_version_and_protection() -> None:
    def as_version(version: str) -> bytes:
        with pikepdf.open(io.BytesIO(written(CLEAN, TRIM))) as pdf:
            out = io.BytesIO()
            pdf.save(out, force_version=version)
            return out.getvalue()

    rules = RULES.model_copy(update={"pdf_version": "1.6"})
    assert "PDF 1.7" in found(as_version("1.7"), rules)["pdf-version"].message
    assert "pdf-version" not in found(as_version("1.6"), rules)
    with pikepdf.open(io.BytesIO(written(CLEAN, TRIM))) as pdf:
        out = io.BytesIO()
        pdf.save(out, encryption=pikepdf.Encryption(owner="", user=""))
    assert "encrypted" in found(out.getvalue())


# --- the post ------------------------------------------------------------------------------


def address(ground: tuple[float, float], ink: tuple[float, float]) -> AddressInk:
    contrast = PostContrast(*ground, *ink, known=Known.READ)
    return AddressInk(name="kelp", contrast=contrast, at_600_nm=(ground[0], ink[0]))


@pytest.mark.parametrize(
    ("ground", "ink", "post", "words"),
    [
        # USPS Publication 25, §10-3; Royal Mail's guidance; worked by hand.
        ((0.85, 0.85), (0.10, 0.10), None, None),
        ((0.25, 0.25), (0.03, 0.03), "usps", "reflectance difference 22% in red"),
        ((0.25, 0.25), (0.03, 0.03), "royal-mail", "the paper reflects 25%"),
        ((0.80, 0.80), (0.45, 0.10), "royal-mail", "contrast 44%"),
        ((0.80, 0.80), (0.45, 0.10), "usps", None),
        ((0.80, 0.70), (0.10, 0.45), "usps", "25% in green"),
    ],
)
def test_addresses_that_machines_read(
    ground: tuple[float, float], ink: tuple[float, float], post: str | None, words: str | None
) -> None:
    context = PreflightContext(
        addressed=True, post=post, address_inks=(address(ground, ink),)  # type: ignore[arg-type]  # parametrized
    )  # fmt: skip
    codes = found(written(CLEAN, TRIM), RULES, context)
    assert ("address-contrast" in codes) is (words is not None)
    if words:
        assert words in codes["address-contrast"].message


def test_an_address_without_readings_says_so() -> None:
    context = PreflightContext(addressed=True)
    assert "address-contrast-unknown" in found(written(CLEAN, TRIM), RULES, context)


@pytest.mark.parametrize(
    ("inches", "code"),
    [
        ((7.25, 5.25), None),
        ((5.25, 7.25), None),
        ((4.0, 2.5), "mail-size"),
        ((12, 6), "mail-size"),
        ((6, 6), "mail-aspect"),
        ((10, 3.75), "mail-aspect"),
        ((9.5, 4.125), None),
    ],
)
def test_letter_sizes(inches: tuple[float, float], code: str | None) -> None:
    size = Size(width_pt=inches[0] * 72, height_pt=inches[1] * 72)
    data = written("", {"MediaBox": [0.0, 0, *(72 * side for side in inches)]})
    rules = ArtworkRules(trim=size, trim_box_needed=False)
    codes = found(data, rules, PreflightContext(mailed=True))
    assert set(codes) == ({code} if code else set())


# --- as a whole ----------------------------------------------------------------------------


def test_a_check_from_outside_runs_with_the_others() -> None:
    def no_green(
        artwork: Artwork, rules: ArtworkRules, context: PreflightContext
    ) -> Iterable[Diagnostic]:
        for mark in artwork.marks:
            yield warning("no-green", str(mark.colour), place=artwork.place(mark.page, mark.box))

    findings = preflight(written(CLEAN, TRIM), RULES, checks=(*CHECKS, no_green))
    assert [one.code for one in findings] == ["no-green"]
    assert findings[0].place.page == 1


def test_a_page_without_size_is_a_finding() -> None:
    def shrink(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj["/MediaBox"] = pikepdf.Array([0, 0, 0, 0])

    assert "no-media-box" in found(changed(written(CLEAN), shrink))


def test_reportlab_artwork_with_standard_fonts() -> None:
    data = drawn(lambda canvas: canvas.drawString(50, 100, "Boathouse"))
    assert "font-not-embedded" in found(data, ArtworkRules())


@pytest.mark.slow
def test_files_of_others_never_crash_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(case, "_MAP_DPI", 30.0)  # the reading is what is tried here
    rules = ArtworkRules(max_total_ink=None, transparency=False, standard="pdf/x-4")
    refused = []
    for path in shared_pdfs():
        try:
            findings = preflight(path, rules)
        except FileError as refusal:
            refused += refusal.findings
        else:
            assert all(one.hint for one in findings if one.severity is not Severity.NOTE)
    assert all(one.hint for one in refused)
