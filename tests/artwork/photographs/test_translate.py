"""Photographs: the table against an independent interpolator, and every sort of image."""

import base64
import io
import zlib

import numpy as np
import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image, ImageCms

from inkaccord.artwork.photographs.colour_table import ColourTable, build_table, translate_samples
from inkaccord.artwork.photographs.translate import (
    PhotographReport,
    translate_photographs,
)
from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Drive
from inkaccord.diagnostics import Severity
from inkaccord.errors import OrderError
from inkaccord.pdf.ink_rendering import ink_pages
from outside import GHOSTSCRIPT_CMYK, need_file, need_program, shared_pdfs
from page_kit import finish, saved
from structure_kit import jpeg as hostile


def table_of(nodes: Array, source: Drive = Drive.CMYK, target: Drive = Drive.CMYK) -> ColourTable:
    return ColourTable(source, target, nodes.astype(np.float32))


def identity(source: Drive, size: int = 5) -> ColourTable:
    axes = 4 if source is Drive.CMYK else 3
    steps = np.linspace(0, 1, size)
    grid = np.stack(np.meshgrid(*[steps] * axes, indexing="ij"), axis=-1)
    return table_of(grid, source, source)


def swapped() -> ColourTable:
    """Return a table that exchanges cyan and magenta."""
    one = identity(Drive.CMYK)
    return table_of(one.nodes[..., [1, 0, 2, 3]].astype(np.float64))


# --- the table -----------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(st.integers(2, 6), st.integers(0, 2**32 - 1), st.sampled_from([Drive.CMYK, Drive.RGB]))
def test_simplex_keeps_linear_functions_and_the_grid_points(
    size: int, seed: int, drive: Drive
) -> None:
    random = np.random.default_rng(seed)
    axes = 4 if drive is Drive.CMYK else 3
    mix = random.random((axes, axes)) / axes
    table = identity(drive, size)
    linear = table_of(table.nodes.astype(np.float64) @ mix, drive, drive)
    points = random.random((60, axes))
    np.testing.assert_allclose(linear.look_up(points), points @ mix, atol=3e-6)
    noise = table_of(random.random(table.nodes.shape), drive, drive)
    corners = table.nodes.reshape(-1, axes)
    np.testing.assert_allclose(noise.look_up(corners), noise.nodes.reshape(-1, axes), atol=3e-6)


def test_simplex_is_linear_on_the_simplices_of_a_sorted_cell() -> None:
    # max(x) is linear wherever the order of the inputs stays the same, so a table of two points
    # an axis holds it exactly; cell-wise interpolation does not.
    corners = identity(Drive.RGB, 2).nodes.max(axis=-1, keepdims=True).repeat(3, axis=-1)
    table = table_of(corners.astype(np.float64), Drive.RGB, Drive.RGB)
    points = np.random.default_rng(1).random((200, 3))
    np.testing.assert_allclose(table.look_up(points)[:, 0], points.max(axis=1), atol=2e-6)


@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_the_identity_changes_no_sample(kind: type) -> None:
    random = np.random.default_rng(2)
    samples = random.integers(0, np.iinfo(kind).max, (3000, 4), dtype=kind, endpoint=True)
    for table in (identity(Drive.CMYK), identity(Drive.CMYK, 9)):
        new = translate_samples(samples, table)
        assert new.dtype == kind
        np.testing.assert_array_equal(new, samples)


def test_a_table_is_built_through_lab_and_keeps_bare_paper_bare() -> None:
    def lab_of(builds: Array) -> Array:  # a toy device: every ink darkens alike
        lightness = 90 - builds[:, :4].sum(axis=1) / 5
        return np.stack([lightness, 0 * lightness, 0 * lightness], axis=1)

    def match(lab: Array) -> Array:  # another, on whiter paper, that prints gray with black
        black = np.clip((100 - lab[:, 0]) * 1.1, 0, 100)
        return np.stack([0 * black, 0 * black, 0 * black, black], axis=1)

    table = build_table(lab_of, match, source=Drive.CMYK, target=Drive.CMYK, points=5)
    found = table.look_up(np.array([[0, 0, 0, 0], [0.25, 0.25, 0.25, 0.25]]))
    np.testing.assert_allclose(found[0], 0)
    np.testing.assert_allclose(found[1], [0, 0, 0, 1.1 * 0.30], atol=1e-6)


def test_models_that_give_nonsense_are_refused() -> None:
    with pytest.raises(OrderError, match="shape"):
        build_table(
            lambda builds: builds[:, :3], lambda lab: lab, source=Drive.CMYK, target=Drive.CMYK,
            points=3,
        )  # fmt: skip
    with pytest.raises(ValueError, match="cannot be"):
        table_of(np.zeros((3, 3, 3, 3)), Drive.CMYK, Drive.CMYK)


# --- images --------------------------------------------------------------------------------

PIXELS = np.random.default_rng(3).integers(0, 256, (6, 8, 4), dtype=np.uint8)


def image(pdf: pikepdf.Pdf, data: bytes, **entries: object) -> pikepdf.Stream:
    settings_: dict[str, object] = {
        "Type": pikepdf.Name.XObject, "Subtype": pikepdf.Name.Image, "Width": 8, "Height": 6,
        "BitsPerComponent": 8, "ColorSpace": pikepdf.Name.DeviceCMYK, **entries,
    }  # fmt: skip
    return pdf.make_stream(data, **settings_)


def run(
    make: object, table: ColourTable | None = None, *, profiled: bool = False
) -> tuple[PhotographReport, pikepdf.Pdf]:
    """Translate a page with one image, made by ``make(pdf)``; return report and reopened file."""
    with pikepdf.new() as pdf:
        one = make(pdf)  # type: ignore[operator]  # a function
        data = finish(pdf, "q 80 0 0 60 20 20 cm /I Do Q", XObject=pikepdf.Dictionary(I=one))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        report = translate_photographs(pdf, table or swapped(), profiled=profiled)
        data = saved(pdf)
    return report, pikepdf.open(io.BytesIO(data))


def the_image(pdf: pikepdf.Pdf) -> pikepdf.Stream:
    found = pdf.pages[0].obj.Resources.XObject.I
    assert isinstance(found, pikepdf.Stream)
    return found


def test_flate_cmyk_8_bits() -> None:
    report, pdf = run(lambda pdf: image(pdf, PIXELS.tobytes()))
    with pdf:
        new = np.frombuffer(the_image(pdf).read_bytes(), np.uint8).reshape(6, 8, 4)
    assert report == PhotographReport(translated=1, kept=0, findings=())
    np.testing.assert_array_equal(new, PIXELS[..., [1, 0, 2, 3]])


def test_16_bits_are_big_endian() -> None:
    wide = np.random.default_rng(4).integers(0, 65536, (6, 8, 4)).astype(">u2")
    _, pdf = run(lambda pdf: image(pdf, wide.tobytes(), BitsPerComponent=16))
    with pdf:
        new = np.frombuffer(the_image(pdf).read_bytes(), ">u2").reshape(6, 8, 4)
    np.testing.assert_array_equal(new, wide[..., [1, 0, 2, 3]])


def test_a_decode_array_that_turns_colours_round() -> None:
    decode = [1, 0] * 4
    darker = identity(Drive.CMYK)
    half = table_of(darker.nodes.astype(np.float64) / 2)
    _, pdf = run(lambda pdf: image(pdf, PIXELS.tobytes(), Decode=decode), half)
    with pdf:
        new = np.frombuffer(the_image(pdf).read_bytes(), np.uint8).reshape(6, 8, 4)
        assert [int(one) for one in the_image(pdf).Decode] == decode
    np.testing.assert_allclose(255 - new, (255 - PIXELS.astype(float)) / 2, atol=0.51)


def test_cmyk_image_to_a_device_driven_in_rgb() -> None:
    nodes = 1 - identity(Drive.CMYK).nodes[..., :3].astype(np.float64)
    _, pdf = run(
        lambda pdf: image(pdf, PIXELS.tobytes(), Decode=[0, 1] * 4),
        table_of(nodes, Drive.CMYK, Drive.RGB),
    )
    with pdf:
        assert the_image(pdf).ColorSpace == "/DeviceRGB"
        assert "/Decode" not in the_image(pdf)
        new = np.frombuffer(the_image(pdf).read_bytes(), np.uint8).reshape(6, 8, 3)
    np.testing.assert_array_equal(new, 255 - PIXELS[..., :3])


def test_indexed_changes_its_table_and_never_its_indices() -> None:
    colours = bytes([10, 20, 30, 40, 200, 100, 50, 0, 0, 0, 0, 255])
    indices = bytes(range(3)) * 16
    space = pikepdf.Array(
        [pikepdf.Name.Indexed, pikepdf.Name.DeviceCMYK, 2, pikepdf.String(colours)]
    )
    _, pdf = run(lambda pdf: image(pdf, indices, ColorSpace=space, Mask=[1, 1]))
    with pdf:
        one = the_image(pdf)
        assert one.read_bytes() == indices
        assert bytes(one.ColorSpace[3]) == bytes([20, 10, 30, 40, 100, 200, 50, 0, 0, 0, 0, 255])
        assert [int(part) for part in one.Mask] == [1, 1]


def test_a_colour_key_mask_becomes_a_stencil_of_the_same_pixels() -> None:
    low, high = [0, 0, 0, 0], [127, 255, 255, 255]
    key = [part for pair in zip(low, high, strict=True) for part in pair]
    _, pdf = run(lambda pdf: image(pdf, PIXELS.tobytes(), Mask=key))
    with pdf:
        mask = the_image(pdf).Mask
        assert mask.ImageMask
        bits = np.unpackbits(np.frombuffer(mask.read_bytes(), np.uint8).reshape(6, 1), axis=1)
    np.testing.assert_array_equal(bits.astype(bool), PIXELS[..., 0] <= 127)


def test_soft_masks_are_untouched() -> None:
    def make(pdf: pikepdf.Pdf) -> pikepdf.Stream:
        soft = image(pdf, bytes(range(48)), ColorSpace=pikepdf.Name.DeviceGray)
        return image(pdf, PIXELS.tobytes(), SMask=soft)

    report, pdf = run(make)
    with pdf:
        assert the_image(pdf).SMask.read_bytes() == bytes(range(48))
    assert (report.translated, report.kept) == (1, 0)


def smooth_photograph() -> NDArray[np.uint8]:
    y, x = np.mgrid[0:48, 0:64] / 64
    channels = [x, y, (x + y) / 2, 0.3 * x]
    return (np.stack(channels, axis=-1) * 200).astype(np.uint8)


def jpeg(pixels: NDArray[np.uint8], mode: str) -> bytes:
    out = io.BytesIO()
    size = pixels.shape[1], pixels.shape[0]
    Image.frombytes(mode, size, pixels.tobytes()).save(
        out, format="JPEG", quality=95, subsampling=0
    )
    return out.getvalue()


@pytest.mark.parametrize("inverted", [True, False], ids=["as editors store it", "plain"])
def test_cmyk_jpeg_prints_as_the_table_says(inverted: bool) -> None:
    need_program("gs", "ghostscript")
    photograph = smooth_photograph()
    # Pillow turns CMYK round when it writes JPEG, as photo editors do; Decode turns it back.
    data = jpeg(photograph if inverted else 255 - photograph, "CMYK")
    entries: dict[str, object] = {
        "Filter": pikepdf.Name.DCTDecode, "Width": 64, "Height": 48,
        **({"Decode": [1, 0] * 4} if inverted else {}),
    }  # fmt: skip
    before, after = [], []
    for table, into in ((identity(Drive.CMYK), before), (swapped(), after)):
        report, pdf = run(lambda pdf: image(pdf, data, **entries), table)
        assert report.translated == 1
        with pdf:
            assert the_image(pdf).Filter == "/DCTDecode"
            into += [page.samples for page in ink_pages(saved(pdf), dpi=72)]
    shown = before[0][225:275, 25:95].astype(int)
    assert shown[..., :3].max() > 120
    np.testing.assert_allclose(
        after[0][225:275, 25:95].astype(int), shown[..., [1, 0, 2, 3]], atol=8
    )


def test_rgb_jpeg() -> None:
    photograph = smooth_photograph()[..., :3]
    darker = table_of(identity(Drive.RGB).nodes.astype(np.float64) / 2, Drive.RGB, Drive.RGB)
    entries: dict[str, object] = {
        "Filter": pikepdf.Name.DCTDecode, "Width": 64, "Height": 48,
        "ColorSpace": pikepdf.Name.DeviceRGB,
    }  # fmt: skip
    _, pdf = run(lambda pdf: image(pdf, jpeg(photograph, "RGB"), **entries), darker)
    with pdf, Image.open(io.BytesIO(the_image(pdf).read_raw_bytes())) as new:
        np.testing.assert_allclose(np.asarray(new), photograph / 2.0, atol=6)


def packed(name: str, data: bytes) -> bytes:
    """Pack data by hand, as ISO 32000-2, 7.4 describes it."""
    match name:
        case "/ASCII85Decode":
            return base64.a85encode(data) + b"~>"
        case "/ASCIIHexDecode":
            return data.hex().encode() + b">"
        case "/RunLengthDecode":
            runs = [data[at : at + 128] for at in range(0, len(data), 128)]
            return b"".join(bytes([len(run) - 1]) + run for run in runs) + b"\x80"
        case "/LZWDecode":  # codes of nine bits, the table cleared before it could grow to ten
            codes = [256]
            for at in range(0, len(data), 200):
                codes += [*data[at : at + 200], 256]
            bits = "".join(f"{code:09b}" for code in [*codes[:-1], 257])
            bits += "0" * (-len(bits) % 8)
            return int(bits, 2).to_bytes(len(bits) // 8, "big")
        case _:
            return zlib.compress(data)


CHAINS = [
    ["/ASCII85Decode"], ["/ASCIIHexDecode"], ["/RunLengthDecode"], ["/LZWDecode"],
    ["/ASCII85Decode", "/FlateDecode"], ["/ASCIIHexDecode", "/LZWDecode"],
    ["/ASCII85Decode", "/RunLengthDecode"], ["/FlateDecode", "/FlateDecode"],
]  # fmt: skip


@pytest.mark.parametrize("chain", CHAINS, ids=["+".join(one)[1:] for one in CHAINS])
def test_every_packing_is_taken(chain: list[str]) -> None:
    data = PIXELS.tobytes()
    for name in reversed(chain):
        data = packed(name, data)
    filters = pikepdf.Array([pikepdf.Name(name) for name in chain])
    report, pdf = run(lambda pdf: image(pdf, data, Filter=filters))
    with pdf:
        new = np.frombuffer(the_image(pdf).read_bytes(), np.uint8).reshape(6, 8, 4)
    assert (report.translated, report.findings) == (1, ())
    np.testing.assert_array_equal(new, PIXELS[..., [1, 0, 2, 3]])


@pytest.mark.parametrize("over", ["/ASCII85Decode", "/FlateDecode", "/LZWDecode"])
def test_a_jpeg_that_is_packed_once_more_is_taken(over: str) -> None:
    photograph = smooth_photograph()[..., :3]
    entries: dict[str, object] = {
        "Filter": [pikepdf.Name(over), pikepdf.Name.DCTDecode], "Width": 64, "Height": 48,
        "ColorSpace": pikepdf.Name.DeviceRGB,
    }  # fmt: skip
    data = packed(over, jpeg(photograph, "RGB"))
    report, pdf = run(lambda pdf: image(pdf, data, **entries), identity(Drive.RGB))
    assert (report.translated, report.findings) == (1, ())
    with pdf, Image.open(io.BytesIO(the_image(pdf).read_raw_bytes())) as new:
        np.testing.assert_allclose(np.asarray(new), photograph, atol=6)


def limited(percent: float) -> ColourTable:
    """Return RGB to CMYK, much ink in the dark, as it comes from a model that keeps a limit."""

    def match(lab: Array) -> Array:
        ink = np.clip(100 - lab, 0, 100)
        inks = np.concatenate([ink, ink.min(axis=1, keepdims=True)], axis=1)
        return inks * np.minimum(1, percent / np.maximum(inks.sum(axis=1, keepdims=True), 1))

    return build_table(
        lambda builds: builds / 2.55, match, source=Drive.RGB, target=Drive.CMYK,
        most_ink=percent, points=6,
    )  # fmt: skip


@pytest.mark.parametrize("percent", [240.0, 261.3, 300.0])
def test_no_sample_passes_the_limit_of_ink(percent: float) -> None:
    samples = np.random.default_rng(8).integers(0, 90, (40_000, 3), dtype=np.uint8)
    new = translate_samples(samples, limited(percent)).astype(int)
    assert percent - 1 < new.sum(axis=1).max() / 2.55 <= percent + 1e-6


@pytest.mark.parametrize("packing", ["plain", "jpeg"])
def test_printed_pictures_keep_to_the_limit_of_ink(packing: str) -> None:
    need_program("gs", "ghostscript")
    dark = np.random.default_rng(9).integers(0, 70, (48, 64, 3), dtype=np.uint8)
    entries: dict[str, object] = {
        "Width": 64, "Height": 48, "ColorSpace": pikepdf.Name.DeviceRGB,
        **({"Filter": pikepdf.Name.DCTDecode} if packing == "jpeg" else {}),
    }  # fmt: skip
    data = jpeg(dark, "RGB") if packing == "jpeg" else dark.tobytes()
    report, pdf = run(lambda pdf: image(pdf, data, **entries), limited(260))
    with pdf:
        (page,) = ink_pages(saved(pdf), dpi=144)
    assert report.translated == 1
    assert 255 < page.total_percent().max() <= 260.01


def test_pictures_that_stay_for_one_reason_are_one_finding() -> None:
    def make(pdf: pikepdf.Pdf) -> pikepdf.Stream:
        lab = pikepdf.Array([pikepdf.Name.Lab, pikepdf.Dictionary(WhitePoint=[0.96, 1, 0.82])])
        inner = [image(pdf, bytes(144 + at), ColorSpace=lab) for at in range(2)]
        return pdf.make_stream(
            b"/A Do /B Do", Subtype=pikepdf.Name.Form, BBox=[0, 0, 9, 9],
            Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(A=inner[0], B=inner[1])),
        )  # fmt: skip

    report, pdf = run(make)
    with pdf:
        (found,) = report.findings
    assert (report.kept, found.severity) == (2, Severity.WARNING)
    assert "2 pictures keep the colours" in found.message
    assert found.place.page == 1


DARK = np.random.default_rng(5).integers(0, 256, (16, 16, 4)).astype(np.uint8)
DCT = pikepdf.Name.DCTDecode


def icc(pdf: pikepdf.Pdf) -> pikepdf.Array:
    return pikepdf.Array([pikepdf.Name.ICCBased, pdf.make_stream(b"profile", N=4)])


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda pdf: image(pdf, bytes(48), ColorSpace=pikepdf.Name.DeviceGray), "black ink alone"),
        (lambda pdf: image(pdf, PIXELS.tobytes(), ColorSpace=icc(pdf)), "cmyk with profile"),
        (lambda pdf: image(pdf, bytes(20)), "break off"),
        (lambda pdf: image(pdf, bytes(24), BitsPerComponent=1), "1 bits"),
        (lambda pdf: image(pdf, b"x", Filter=pikepdf.Name.JPXDecode), "JPXDecode"),
        (lambda pdf: image(pdf, b"no jpeg", Filter=pikepdf.Name.DCTDecode), "cannot be read"),
        (lambda pdf: image(pdf, hostile(65_000, 65_000), Filter=DCT), "more than 256 MiB"),
        (lambda pdf: image(pdf, hostile(99, 99, scans=2000), Filter=DCT), "more than 100 times"),
        (lambda pdf: image(pdf, jpeg(DARK, "CMYK")[:-300], Filter=DCT), "cannot be read"),
        (lambda pdf: image(pdf, PIXELS.tobytes(), Decode=[0, 0.5] * 4), "stretches"),
        (
            lambda pdf: image(
                pdf, PIXELS.tobytes(),
                SMask=image(pdf, bytes(48), ColorSpace=pikepdf.Name.DeviceGray, Matte=[0] * 4),
            ),
            "matte",
        ),
        (lambda pdf: image(pdf, bytes(144), ColorSpace=pikepdf.Name.DeviceRGB), "no model for rgb"),
    ],
    ids=[
        "gray", "profile", "short", "1 bit", "jpx", "broken jpeg", "huge", "scans", "cut off",
        "decode", "matte", "rgb",
    ],
)  # fmt: skip
def test_what_cannot_be_translated_stays_and_is_said(make: object, why: str) -> None:
    report, pdf = run(make)
    with pdf:
        assert pdf.pages[0].obj.Resources.XObject.I is not None
    assert (report.translated, report.kept) == (0, 1)
    assert why in report.findings[0].message
    assert report.findings[0].place.page == 1
    assert report.findings[0].place.box_mm is not None


def test_inline_images_stay_and_are_said_with_their_place() -> None:
    content = (
        "q 72 0 0 36 10 20 cm BI /W 1 /H 1 /BPC 8 /CS /CMYK ID abcd EI Q "
        "q 9 0 0 9 0 0 cm BI /W 8 /H 1 /IM true ID a EI Q"  # a stencil: painted with the fill
    )
    with pikepdf.new() as pdf:
        finish(pdf, content)
        before = pdf.pages[0].obj.Contents.read_bytes()
        report = translate_photographs(pdf, swapped())
        assert pdf.pages[0].obj.Contents.read_bytes() == before
    assert (report.translated, report.kept) == (0, 1)
    assert report.findings[0].code == "photograph-kept"
    assert "inline" in report.findings[0].message
    assert report.findings[0].place.page == 1
    assert report.findings[0].place.box_mm == (3.53, 7.06, 28.93, 19.76)


def test_profiled_images_are_translated_when_asked() -> None:
    report, pdf = run(lambda pdf: image(pdf, PIXELS.tobytes(), ColorSpace=icc(pdf)), profiled=True)
    with pdf:
        assert the_image(pdf).ColorSpace == "/DeviceCMYK"
    assert report.translated == 1


@pytest.mark.parametrize(("other", "translated"), [(False, 1), (True, 0)])
def test_an_image_whose_profile_is_srgb_is_one_in_plain_rgb(other: bool, translated: int) -> None:
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    profile = (
        need_file(GHOSTSCRIPT_CMYK.parent / "a98.icc", "libgs-common").read_bytes()
        if other
        else made
    )

    def tagged(pdf: pikepdf.Pdf) -> pikepdf.Stream:
        space = pikepdf.Array([pikepdf.Name.ICCBased, pdf.make_stream(profile, N=3)])
        return image(pdf, bytes(144), ColorSpace=space)

    report, pdf = run(tagged, identity(Drive.RGB))
    with pdf:
        assert (the_image(pdf).ColorSpace == "/DeviceRGB") is bool(translated)
    assert report.translated == translated


def test_images_in_nested_forms_are_found_once() -> None:
    with pikepdf.new() as pdf:
        one = image(pdf, PIXELS.tobytes())
        inner = pdf.make_stream(
            b"/I Do", Subtype=pikepdf.Name.Form, BBox=[0, 0, 9, 9],
            Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(I=one)),
        )  # fmt: skip
        inner.Resources.XObject["/Self"] = inner
        data = finish(pdf, "/F Do /I Do", XObject=pikepdf.Dictionary(F=inner, I=one))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        report = translate_photographs(pdf, swapped())
        new = pdf.pages[0].obj.Resources.XObject.I.read_bytes()
    assert report.translated == 1
    assert new == PIXELS[..., [1, 0, 2, 3]].tobytes()


@pytest.mark.slow
def test_files_of_others_never_crash_it() -> None:
    tables = {Drive.CMYK: swapped(), Drive.RGB: identity(Drive.RGB)}
    translated = 0
    for path in shared_pdfs():
        try:
            pdf = pikepdf.open(path)
        except (pikepdf.PdfError, pikepdf.PasswordError):
            continue
        with pdf:
            try:
                report = translate_photographs(pdf, tables)
            except pikepdf.PdfError:
                continue  # its pages cannot be listed
            translated += report.translated
            saved(pdf)
    assert translated > 5
