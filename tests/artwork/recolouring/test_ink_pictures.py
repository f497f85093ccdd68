"""Pictures in spots that become process colour, beside the same picture drawn in the new builds.

Both are separated by Ghostscript, and compared plate by plate.
"""

import io
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

from artwork_kit import (
    KELP,
    codes,
    document,
    failures,
    form,
    opened,
    parsed,
    proven,
    resource,
    swaps,
)
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from outside import plates
from page_kit import saved
from structure_kit import jpeg_of_inks

PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
SWAP = "spot Kelp = cmyk 10 60 0 40"
BUILD = np.array([0.1, 0.6, 0.0, 0.4])
PLACE = b"q 100 0 0 100 0 0 cm /I Do Q"
PLATES = ("Cyan", "Magenta", "Yellow", "Black")
SIDE = 20
SHADES = np.arange(SIDE * SIDE, dtype=np.float64).reshape(SIDE, SIDE) / (SIDE * SIDE - 1)
OTHER = SHADES.T
"""The shares of two inks, 0 to 1: one grows downwards, the other to the right."""


def picture(data: bytes, space: pikepdf.Object, more: str = "", bits: int = 8) -> bytes:
    """Return a page that one picture fills."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        image = pdf.make_stream(data)
        entries = f"/Type /XObject /Subtype /Image /Width {SIDE} /Height {SIDE}"
        for key, value in parsed(f"<< {entries} /BitsPerComponent {bits} {more} >>").items():
            image[key] = value
        image["/ColorSpace"] = pdf.make_indirect(space)
        resource(page, "/XObject", "/I", image)

    return document(PLACE, setup=setup)


def mixed(
    *names: str,
    bits: int,
    shares: Sequence[np.ndarray] = (),
    data: bytes = b"",
    more: str = "",
    height: int = SIDE,
) -> bytes:
    """Return a page that a picture of several inks fills, by its shares or its packed data."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        words = b"{ " + b"pop " * len(names) + b"0 0 0 0.2 }"
        looks = pdf.make_stream(words)
        domain = " ".join(["0 1"] * len(names))
        for key, value in parsed(
            f"<< /FunctionType 4 /Domain [{domain}] /Range [0 1 0 1 0 1 0 1] >>"
        ).items():
            looks[key] = value
        space = parsed(f"[ /DeviceN [{' '.join('/' + name for name in names)}] /DeviceCMYK null ]")
        space[3] = looks
        image = pdf.make_stream(data or packed(np.stack(shares, axis=-1).reshape(height, -1), bits))
        entries = f"/Type /XObject /Subtype /Image /Width {SIDE} /Height {SIDE}"
        for key, value in parsed(f"<< {entries} /BitsPerComponent {bits} {more} >>").items():
            image[key] = value
        image["/ColorSpace"] = pdf.make_indirect(space)
        resource(page, "/XObject", "/I", image)

    return document(PLACE, setup=setup)


def packed(rows: np.ndarray, bits: int) -> bytes:
    """Return rows of shares as samples, each row filled up to whole bytes."""
    steps = np.rint(rows * ((1 << bits) - 1)).astype(int)
    binary = (steps[..., None] >> np.arange(bits - 1, -1, -1) & 1).reshape(len(rows), -1)
    return np.packbits(binary.astype(np.uint8), axis=1).tobytes()


def in_steps(shares: np.ndarray, bits: int) -> np.ndarray:
    """Return shares as so many bits can tell them."""
    return np.rint(shares * ((1 << bits) - 1)) / ((1 << bits) - 1)


def in_cmyk(amounts: np.ndarray) -> bytes:
    """Return the page drawn in CMYK at once: shape (rows, pixels, 4), 0 to 1."""
    samples = np.rint(np.minimum(amounts, 1) * 255).astype(np.uint8).tobytes()
    return picture(samples, pikepdf.Name.DeviceCMYK)


def same_plates(made: bytes, drawn: bytes, folder: Path) -> None:
    """Fail unless two pages print the same inks, within a sample's rounding."""
    one, other = plates(made, folder), plates(drawn, folder)
    assert set(one) == set(PLATES), "no plate but the device's own"
    for name in PLATES:
        assert np.abs(one[name] - other[name]).max() <= 0.8, name


def jpeg(shares: np.ndarray) -> tuple[bytes, np.ndarray]:
    """Return shares as a JPEG, and what that holds of them."""
    out = io.BytesIO()
    grey = Image.fromarray(np.rint(255 * shares).astype(np.uint8))
    grey.save(out, "JPEG", quality=90)
    with Image.open(out) as again:
        return out.getvalue(), np.asarray(again) / 255


@pytest.mark.slow
@pytest.mark.parametrize("ends", [(0, 1), (1, 0), (0.2, 0.7)])
def test_a_jpeg_in_a_spot_keeps_its_samples(ends: tuple[float, float], tmp_path: Path) -> None:
    data, shares = jpeg(SHADES)
    more = f"/Filter /DCTDecode /Decode [{ends[0]} {ends[1]}]"
    source = picture(data, parsed(KELP), more)
    made = proven(source, SWAP, options=PROCESS, render=True)
    assert not made.errors
    with opened(made) as pdf:
        assert pdf.pages[0].Resources.XObject.I.read_raw_bytes() == data
    tints = ends[0] + shares * (ends[1] - ends[0])
    same_plates(made.data, in_cmyk(tints[..., None] * BUILD), tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("bits", [1, 2, 4, 8, 16])
def test_a_picture_in_a_spot_in_any_number_of_bits(bits: int, tmp_path: Path) -> None:
    source = picture(packed(SHADES, bits), parsed(KELP), bits=bits)
    made = proven(source, SWAP, options=PROCESS, render=True)
    assert not made.errors
    tints = in_steps(SHADES, bits)
    same_plates(made.data, in_cmyk(tints[..., None] * BUILD), tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("bits", [1, 2, 4, 8, 16])
@pytest.mark.parametrize("more", ["", "/Decode [1 0 0 0.5]"])
def test_a_duotone_becomes_process(bits: int, more: str, tmp_path: Path) -> None:
    source = mixed("Black", "Kelp", bits=bits, shares=[SHADES, OTHER], more=more)
    made = proven(source, SWAP, options=PROCESS, render=True)
    assert not any(one.code == "left-alone" for one in made.findings)  # its samples don't stay
    assert not made.errors
    black, kelp = in_steps(SHADES, bits), in_steps(OTHER, bits)
    if more:
        black, kelp = 1 - black, kelp / 2
    amounts = kelp[..., None] * BUILD + black[..., None] * [0, 0, 0, 1]
    same_plates(made.data, in_cmyk(amounts), tmp_path)


@pytest.mark.slow
def test_two_spots_of_one_picture_become_process(tmp_path: Path) -> None:
    names = ("Kelp", "Cyan", "None", "Sand")
    source = mixed(*names, bits=8, shares=[SHADES, OTHER, SHADES, OTHER[::-1]])
    made = proven(source, SWAP, "spot Sand = cmyk 0 10 80 0", options=PROCESS, render=True)
    assert not made.errors
    amounts = SHADES[..., None] * BUILD + OTHER[..., None] * [1, 0, 0, 0]
    amounts = amounts + OTHER[::-1][..., None] * [0, 0.1, 0.8, 0]
    same_plates(made.data, in_cmyk(amounts), tmp_path)


@pytest.mark.slow
def test_a_spot_that_stays_keeps_its_plate_in_a_picture(tmp_path: Path) -> None:
    source = mixed("Kelp", "Foil", bits=8, shares=[SHADES, OTHER])
    made = proven(source, SWAP, options=PROCESS, render=True)
    assert not made.errors
    found, before = plates(made.data, tmp_path), plates(source, tmp_path)
    assert set(found) == {*PLATES, "Foil"}
    assert np.abs(found["Foil"] - before["Foil"]).max() <= 0.5
    assert np.abs(found["Magenta"] - 0.6 * before["Kelp"]).max() <= 0.8


def of_inks(count: int) -> np.ndarray:
    """Return shares of so many inks, shape (rows, pixels, inks), as 8 bits can tell them."""
    all_of_them = [SHADES, OTHER, SHADES[::-1], OTHER[::-1], SHADES * OTHER]
    return np.rint(255 * np.stack(all_of_them[:count], axis=-1)).astype(np.uint8)


def in_jpeg(
    *names: str, more: str = "/Filter /DCTDecode", inks: int | None = None, cut: int = 0
) -> bytes:
    """Return a page that a JPEG of inks fills, each in a scan of its own."""
    data = jpeg_of_inks(of_inks(inks or len(names)))
    return mixed(*names, bits=8, data=data[: len(data) - cut], more=more)


@pytest.mark.slow
@pytest.mark.parametrize("more", ["", "/Decode [1 0 0 0.5]"])
def test_a_duotone_in_jpeg_becomes_process(more: str, tmp_path: Path) -> None:
    source = in_jpeg("Black", "Kelp", more=f"/Filter /DCTDecode {more}")
    made = proven(source, SWAP, options=PROCESS, render=True)
    assert not made.errors
    before = plates(source, tmp_path)
    found = plates(made.data, tmp_path)
    assert set(found) == set(PLATES)
    black = before["Kelp"] * 0.4 + before["Black"]
    for name, wanted in (("Magenta", before["Kelp"] * 0.6), ("Black", np.minimum(black, 100))):
        assert np.abs(found[name] - wanted).max() <= 0.8, name


def _of_three() -> tuple[bytes, np.ndarray]:
    """Return a JPEG of three channels, and the amounts of ink in its samples."""
    out = io.BytesIO()
    Image.fromarray(of_inks(3)).save(out, "JPEG", quality=95, subsampling=0)
    with Image.open(out) as again:
        return out.getvalue(), np.asarray(again) / 255


def _of_four() -> tuple[bytes, np.ndarray]:
    out = io.BytesIO()
    Image.fromarray(of_inks(4), "CMYK").save(out, "JPEG", quality=95)
    with Image.open(out) as again:  # which turns CMYK round, as a PDF does not
        return out.getvalue(), 1 - np.asarray(again) / 255


@pytest.mark.slow
@pytest.mark.parametrize(
    ("names", "draw"),
    [(("Black", "Kelp", "Sand"), _of_three), (("Cyan", "Kelp", "None", "Sand"), _of_four)],
)
def test_several_inks_in_jpeg_become_process(
    names: tuple[str, ...], draw: Callable[[], tuple[bytes, np.ndarray]], tmp_path: Path
) -> None:
    data, shares = draw()
    source = mixed(*names, bits=8, data=data, more="/Filter /DCTDecode")
    made = proven(source, SWAP, "spot Sand = cmyk 0 10 80 0", options=PROCESS, render=True)
    assert not made.errors
    builds = {"Black": [0, 0, 0, 1], "Cyan": [1, 0, 0, 0], "Kelp": BUILD, "Sand": [0, 0.1, 0.8, 0]}
    same_plates(
        made.data, in_cmyk(shares @ np.array([builds.get(n, [0] * 4) for n in names])), tmp_path
    )


@pytest.mark.slow
def test_tints_of_16_bits_that_stay_are_drawn_and_proved() -> None:
    source = picture(packed(SHADES, 16), parsed(KELP), bits=16)
    assert not proven(source, SWAP, render=True).errors


REFUSED: dict[str, Callable[[], bytes]] = {
    "a mask of samples": lambda: mixed(
        "Black", "Kelp", bits=8, shares=[SHADES, OTHER], more="/Mask [0 9 0 9]"
    ),
    "tints of 16 bits with a mask of samples": lambda: picture(
        packed(SHADES, 16), parsed(KELP), "/Mask [0 9]", bits=16
    ),
    "one that breaks off": lambda: mixed(
        "Black", "Kelp", bits=8, shares=[SHADES[:9], OTHER[:9]], height=9
    ),
    "a JPEG of three colours": lambda: picture(jpeg_of_three(), parsed(KELP), "/Filter /DCTDecode"),
    "no JPEG": lambda: picture(b"\xff\xd8", parsed(KELP), "/Filter /DCTDecode"),
    "wavelets": lambda: picture(b"", parsed(KELP), "/Filter /JPXDecode"),
    "wavelets in two inks": lambda: in_jpeg("Black", "Kelp", more="/Filter /JPXDecode"),
    "a JPEG that breaks off": lambda: in_jpeg("Black", "Kelp", cut=60),
    "a JPEG of more inks than its space": lambda: in_jpeg("Black", "Kelp", inks=3),
    "a JPEG of more inks than are unpacked": lambda: in_jpeg("A", "B", "C", "D", "Kelp"),
    "a JPEG with colours changed against its header": lambda: in_jpeg(
        "Black", "Kelp", "Sand", more="/Filter /DCTDecode /DecodeParms << /ColorTransform 0 >>"
    ),
}


def jpeg_of_three() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (SIDE, SIDE), (90, 20, 60)).save(out, "JPEG")
    return out.getvalue()


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_mixed_anew_is_held(case: str) -> None:
    made = recolour(REFUSED[case](), swaps(SWAP), options=PROCESS)
    assert made.errors
    assert codes(made) & {"spot-image", "inks-stay"}
    if case.startswith("wavelets"):
        assert "JPEG 2000; place the picture packed without loss" in made.errors[0].message


def _reversed_table(image: pikepdf.Object) -> None:
    table = bytes(image.ColorSpace[3])
    turned = np.frombuffer(table, dtype=np.uint8).reshape(-1, 4)[::-1].tobytes()
    image.ColorSpace[3] = pikepdf.String(turned)


def _one_sample(image: pikepdf.Object) -> None:
    data = bytearray(image.read_bytes())
    data[len(data) // 2] ^= 8
    image.write(bytes(data))


def _one_ink_of_several(image: pikepdf.Object) -> None:
    assert image.ColorSpace[0] == "/DeviceN"
    image.ColorSpace[0] = pikepdf.Name.Separation


def _turned_round(image: pikepdf.Object) -> None:
    image.Decode = pikepdf.Array([1, 0] * (1 if image.ColorSpace != "/DeviceCMYK" else 4))


SPOILT: dict[str, tuple[Callable[[], bytes], Callable[[pikepdf.Object], None]]] = {
    "a table turned round": (lambda: picture(packed(SHADES, 8), parsed(KELP)), _reversed_table),
    "a table of a JPEG turned round": (
        lambda: picture(jpeg(SHADES)[0], parsed(KELP), "/Filter /DCTDecode"), _reversed_table,
    ),
    "a table read backwards": (lambda: picture(packed(SHADES, 8), parsed(KELP)), _turned_round),
    "a sample of a table": (lambda: picture(packed(SHADES, 8), parsed(KELP)), _one_sample),
    "a sample of a duotone": (
        lambda: mixed("Black", "Kelp", bits=8, shares=[SHADES, OTHER]), _one_sample,
    ),
    "a sample of what was a JPEG": (lambda: in_jpeg("Black", "Kelp"), _one_sample),
    "a duotone read backwards": (
        lambda: mixed("Black", "Kelp", bits=8, shares=[SHADES, OTHER]), _turned_round,
    ),
    "inks said to be one": (
        lambda: mixed("Foil", "Kelp", bits=8, shares=[SHADES, OTHER]), _one_ink_of_several,
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", SPOILT)
def test_the_proof_sees_a_picture_that_was_spoilt(case: str) -> None:
    draw, spoil = SPOILT[case]
    source, wanted = draw(), swaps(SWAP)
    made = recolour(source, wanted, options=PROCESS)
    assert prove(source, made.data, wanted, PROCESS, render=False).passed
    with opened(made) as pdf:
        spoil(pdf.pages[0].Resources.XObject.I)
        wrong = saved(pdf)
    proof = prove(source, wrong, wanted, PROCESS, render=False)
    assert any("picture" in words or "sample" in words for words in failures(proof))


def test_the_proof_sees_an_inline_table_that_was_turned_round() -> None:
    picture_in_it = b"BI /W 2 /H 1 /BPC 1 /CS /Cs1 ID \x40 EI"
    content = b"q 50 0 0 50 0 0 cm " + picture_in_it + b" Q"
    source = document(content, f"<< /ColorSpace << /Cs1 {KELP} >> >>")
    wanted = swaps(SWAP)
    made = recolour(source, wanted, options=PROCESS)
    assert prove(source, made.data, wanted, PROCESS, render=False).passed
    with opened(made) as pdf:
        page = pdf.pages[0].obj
        text = page.Contents.read_bytes()
        full, none = b"1a990066", b"00000000"
        assert none + full in text.lower()
        page.Contents = pdf.make_stream(text.lower().replace(none + full, full + none))
        wrong = saved(pdf)
    assert not prove(source, wrong, wanted, PROCESS, render=False).passed


DUOTONE = (
    b"q 50 0 0 50 0 0 cm BI /W 2 /H 1 /BPC 8 /CS /N ID \x10\x80\xf0\x20 EI Q 0 g 60 60 9 9 re f"
)


def in_the_content() -> bytes:
    """Return a page with a picture of two inks in its content."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        space = parsed("[ /DeviceN [/Black /Kelp] /DeviceCMYK null ]")
        space[3] = pdf.make_stream(b"{ 0 0 }")
        domain = "<< /FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>"
        for key, value in parsed(domain).items():
            space[3][key] = value
        resource(page, "/ColorSpace", "/N", space)

    return document(DUOTONE, setup=setup)


def test_a_duotone_in_the_content_itself_is_held_with_its_space() -> None:
    made = recolour(in_the_content(), swaps(SWAP), options=PROCESS)
    assert [one.code for one in made.errors] == ["inks-stay"]
    with opened(made) as pdf:
        assert "/N" in pdf.pages[0].Resources.ColorSpace


def test_the_proof_sees_a_picture_in_the_content_whose_space_is_gone() -> None:
    source = in_the_content()
    with pikepdf.open(io.BytesIO(source)) as pdf:
        del pdf.pages[0].Resources.ColorSpace["/N"]
        wrong = saved(pdf)
    assert not prove(source, wrong, swaps(SWAP), PROCESS, render=False).passed


@pytest.mark.parametrize("ends", ["0 1", "1 0", "0 0.5"])
def test_a_picture_in_the_content_of_a_form_takes_its_spot_from_the_page(ends: str) -> None:
    """The proof did not find that space, so that it could not tell what its samples mean."""
    line = f"BI /W 2 /H 1 /BPC 8 /CS /K /D [{ends}] /F /AHx ID 40c0> EI"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/ColorSpace", "/K", parsed(KELP))
        resource(page, "/XObject", "/F", form(pdf, line.encode()))

    source = document(b"q 90 0 0 90 0 0 cm /F Do Q", setup=setup)
    made = proven(source, SWAP, options=PROCESS)
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        drawn = pdf.pages[0].Resources.XObject.F
        content = drawn.read_bytes()
        start = content.index(b"<") + 1
        drawn.write(content[:start] + b"ff" + content[start + 2 :])
        harmed = saved(pdf)
    proof = prove(source, harmed, swaps(SWAP), PROCESS, render=False)
    assert any("off its build" in one for one in proof.structure.details)
