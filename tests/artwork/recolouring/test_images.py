"""Colours in images: tables, spots, pictures; inline ones too."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from artwork_kit import (
    KELP,
    NEW,
    OLD,
    OLD_K,
    codes,
    content_of,
    document,
    failures,
    form,
    opened,
    proven,
    resource,
    stream,
    swaps,
)
from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.absent import absent
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import parse_swap
from inkaccord.pdf.opening import open_artwork
from outside import plates
from page_kit import saved

SWAP = f"{OLD} = {NEW}"
PROCESS = RecolourOptions(spots=SpotMode.PROCESS)

IMAGE = "<< /Type /XObject /Subtype /Image /Width 2 /Height 2 /BitsPerComponent 8 "
PLACE = b"q 50 0 0 50 0 0 cm /I Do Q"


def test_a_colour_table_changes_and_its_indices_stay() -> None:
    """A colour-key mask compares indices, so they must stay what they were."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = "/ColorSpace [/Indexed /DeviceRGB 2 <FF000000FF00FFFFFF>] /Mask [1 1] >>"
        resource(page, "/XObject", "/I", stream(pdf, bytes([0, 1, 2, 0]), IMAGE + entries))

    result = proven(document(PLACE, setup=setup), "rgb 255 0 0 = rgb 0 0 255", render=True)
    with opened(result) as pdf:
        image = pdf.pages[0].Resources.XObject.I
        assert bytes(image.ColorSpace[3]) == bytes.fromhex("0000FF 00FF00 FFFFFF")
        assert image.read_bytes() == bytes([0, 1, 2, 0])
        assert list(image.Mask) == [1, 1]


def test_two_colours_of_a_table_change_places(tmp_path: Path) -> None:
    """In 255ths neither is quite what the other becomes, and both are there before and after."""

    def drawn(table: str) -> bytes:
        inline = f"BI /W 2 /H 1 /BPC 8 /CS [/I /CMYK 1 <{table}>] ID \x00\x01 EI Q".encode()
        content = PLACE + b" q 50 0 0 50 50 50 cm " + inline
        entries = f"/ColorSpace [/Indexed /DeviceCMYK 1 <{table}>] >>"
        return document(
            content,
            setup=lambda pdf, page: resource(
                page, "/XObject", "/I", stream(pdf, bytes([0, 1, 1, 0]), IMAGE + entries)
            ),
        )

    there, back = "cmyk 85 20 60 30 = cmyk 10 90 55 0", "cmyk 10 90 55 0 = cmyk 85 20 60 30"
    result = proven(drawn("D933994C 1AE68C00"), there, back, render=True)
    found, twin = plates(result.data, tmp_path), plates(drawn("1AE68C00 D933994C"), tmp_path)
    assert found.keys() == twin.keys()
    assert all(np.array_equal(found[name], twin[name]) for name in twin)


def test_a_colour_table_leaves_its_space_only_as_a_whole() -> None:
    def setup(table: str) -> bytes:
        def inner(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
            entries = f"/ColorSpace [/Indexed /DeviceRGB 1 <{table}>] >>"
            resource(page, "/XObject", "/I", stream(pdf, bytes([0, 1, 1, 0]), IMAGE + entries))

        return document(PLACE, setup=inner)

    whole = proven(setup("FF0000FFFFFF"), "rgb 255 0 0 = cmyk 0 100 0 0", render=True)
    with opened(whole) as pdf:
        space = pdf.pages[0].Resources.XObject.I.ColorSpace
        assert (str(space[1]), bytes(space[3])) == ("/DeviceCMYK", b"\0\xff\0\0\0\0\0\0")
    mixed = recolour(setup("FF000000FF00"), swaps("rgb 255 0 0 = cmyk 0 100 0 0"))
    assert "mixed-kinds" in codes(mixed)


def test_a_colour_table_in_a_stream_shared_by_two_spaces() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        table = pdf.make_stream(bytes([255, 0, 0, 0, 255, 0]))
        for name in ("/I", "/J"):
            image = stream(pdf, bytes([0, 1, 1, 0]), IMAGE + ">>")
            image.ColorSpace = pikepdf.Array(
                [pikepdf.Name.Indexed, pikepdf.Name.DeviceRGB, 1, table]
            )
            resource(page, "/XObject", name, image)

    source = document(PLACE + b" q 50 0 0 50 50 50 cm /J Do Q", setup=setup)
    result = proven(source, "rgb 255 0 0 = rgb 0 255 0", "rgb 0 255 0 = rgb 255 0 0", render=True)
    with opened(result) as pdf:
        for name in ("/I", "/J"):
            table = pdf.pages[0].Resources.XObject[name].ColorSpace[3]
            assert bytes(table) == bytes([0, 255, 0, 255, 0, 0])


def test_an_inline_image_s_colour_table() -> None:
    data = (
        b"q 50 0 0 50 0 0 cm BI /W 2 /H 1 /BPC 8 /CS [/I /RGB 1 <FF000000FF00>] ID \x00\x01 EI Q "
        b"0 g"
    )
    result = proven(document(data), "rgb 255 0 0 = rgb 0 0 255", render=True)
    text = content_of(result.data)
    assert b"ID \x00\x01 EI Q 0 g" in text
    with opened(result) as pdf:
        colours = {str(use.colour) for use in walk(pdf) if use.role is Role.IMAGE}
    assert colours == {"rgb 0 0 255", "rgb 0 255 0"}


@pytest.mark.parametrize("sample", [b"\1", b"\0"])
def test_an_inline_table_beside_a_number_that_runs_into_its_operator(sample: bytes) -> None:
    """Such content goes by its bytes in the proof, but for pictures that have another table."""
    picture = (
        b"q 9 0 0 9 0 0 cm BI /W 2 /H 1 /BPC 8 /CS [/I /CMYK 1 <D933994D000000FF>] ID \0\1 EI Q"
    )
    source, asked = document(picture + b" 1 0 0 .5k 20 0 9 9re f"), swaps(SWAP)
    made = recolour(source, asked)
    content = content_of(made.data).replace(b"ID \0\1", b"ID \0" + sample)
    with opened(made) as pdf:
        pdf.pages[0].Contents.write(content)
        copy = saved(pdf)
    assert b"1 0 0 .5k 20 0 9 9re f" in content
    assert prove(source, copy, asked, render=False).passed is (sample == b"\1")


def test_white_of_a_table_that_leaves_its_kind_is_no_ink_where_it_is_painted() -> None:
    source = document(
        b"/T cs 0 sc 0 0 40 40 re f 1 sc 50 0 40 40 re f",
        "<< /ColorSpace << /T [/Indexed /DeviceRGB 1 <145C4EFFFFFF>] >> >>",
    )
    made = proven(source, f"rgb 20 92 78 = {NEW}", render=True)
    with opened(made) as pdf:
        assert {str(use.colour) for use in walk(pdf)} >= {NEW, "cmyk 0 0 0 0"}
    assert not made.errors


@pytest.mark.parametrize("decode", ["", "/Decode [1 0]"])
def test_a_spot_image_becomes_process_by_a_table(decode: str) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        image = stream(pdf, bytes([0, 64, 128, 255]), IMAGE + f"/ColorSpace {KELP} {decode} >>")
        resource(page, "/XObject", "/I", image)

    source = document(PLACE, setup=setup)
    kept = proven(source, "spot Kelp = cmyk 10 20 30 40", render=True)
    with opened(kept) as pdf:
        assert str(pdf.pages[0].Resources.XObject.I.ColorSpace[0]) == "/Separation"
    result = proven(source, "spot Kelp = cmyk 10 20 30 40", options=PROCESS)
    with opened(result) as pdf:
        image = pdf.pages[0].Resources.XObject.I
        assert image.read_bytes() == bytes([0, 64, 128, 255])
        full = 0 if decode else 255
        assert bytes(image.ColorSpace[3])[4 * full : 4 * full + 4] == bytes([26, 51, 76, 102])


def test_a_spot_image_of_light_tints_alone_becomes_process(tmp_path: Path) -> None:
    """Its samples reach from 20 to 60 %, so that no part of it shows the full spot."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = f"{IMAGE} /ColorSpace {KELP} /Decode [0.2 0.6] >>"
        resource(page, "/XObject", "/I", stream(pdf, bytes([0, 255, 0, 255]), entries))

    made = proven(document(PLACE, setup=setup), f"spot Kelp = {NEW}", options=PROCESS, render=True)
    found = plates(made.data, tmp_path)
    for x, tint in ((12, 0.2), (37, 0.6)):
        have = [found[ink][75, x] for ink in ("Cyan", "Magenta", "Yellow", "Black")]
        assert have == pytest.approx([78 * tint, 12 * tint, 55 * tint, 41 * tint], abs=0.6)


def test_photographs_stay_and_are_counted() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(
            page, "/XObject", "/I", stream(pdf, bytes(12), IMAGE + "/ColorSpace /DeviceRGB >>")
        )

    result = proven(document(PLACE, setup=setup), "rgb 0 0 0 = rgb 255 0 0")
    assert result.photographs == 1
    with opened(result) as pdf:
        assert pdf.pages[0].Resources.XObject.I.read_bytes() == bytes(12)


def test_an_image_mask_takes_the_swapped_colour() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        mask = "<< /Type /XObject /Subtype /Image /Width 8 /Height 1 /ImageMask true >>"
        resource(page, "/XObject", "/I", stream(pdf, b"\x0f", mask))

    source = document(OLD_K + b" " + PLACE, setup=setup)
    with opened(proven(source, SWAP, render=True)) as pdf:
        assert [str(use.colour) for use in walk(pdf) if use.role is Role.MASK] == [NEW]


@pytest.mark.parametrize(
    ("entries", "data"),
    [
        ("/W 2 /H 2 /BPC 8 /CS /Cs1", b"\x00\x40\x80\xff"),
        ("/W 2 /H 2 /BitsPerComponent 8 /ColorSpace /Cs1 /D [1 0]", b"\x00\x40\x80\xff"),
        ("/W 4 /H 1 /BPC 2 /CS /Cs1 /F /AHx", b"1B>"),
    ],
)
def test_an_inline_image_in_a_spot_becomes_process_by_a_table(entries: str, data: bytes) -> None:
    content = b"q 50 0 0 50 0 0 cm BI " + entries.encode() + b" ID " + data + b" EI Q"
    source = document(content, f"<< /ColorSpace << /Cs1 {KELP} >> >>")
    assert b"/Cs1" in content_of(proven(source, "spot Kelp = cmyk 10 20 30 40").data)
    text = content_of(proven(source, "spot Kelp = cmyk 10 20 30 40", options=PROCESS).data)
    assert b"/Indexed" in text
    assert b"/Cs1" not in text
    assert b"ID " + data + b" EI Q" in text


def test_an_inline_image_in_a_spot_that_cannot_become_process_is_reported() -> None:
    content = b"q 50 0 0 50 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /Cs1 /F /DCT ID abc EI Q"
    source = document(content, f"<< /ColorSpace << /Cs1 {KELP} >> >>")
    result = recolour(source, swaps("spot Kelp = cmyk 10 20 30 40"), options=PROCESS)
    assert "spot-image" in codes(result)
    with opened(result) as pdf:
        assert "/Cs1" in pdf.pages[0].Resources.ColorSpace


@pytest.mark.parametrize("decode", ["", "/D [1 0]"])
def test_an_inline_table_keeps_how_its_indices_are_read(decode: str) -> None:
    entries = f"/W 2 /H 1 /BPC 1 {decode} /CS [/I /CMYK 1 <D933994C00000000>]".encode()
    content = b"q 50 0 0 50 0 0 cm BI " + entries + b" ID \x40 EI Q"
    made = proven(document(content), SWAP, render=True)
    assert decode.encode() in content_of(made.data).replace(b"[ 1 0 ]", b"[1 0]")


def test_a_spot_image_that_is_mixed_with_a_matte_colour_is_refused() -> None:
    """Its samples are no tints (ISO 32000-2, 11.6.5.2), so that no table can hold their builds."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        grey = IMAGE + "/ColorSpace /DeviceGray "
        image = stream(pdf, b"\x40\x50\x60\x70", f"{IMAGE} /ColorSpace {KELP} >>")
        image["/SMask"] = stream(pdf, b"\x80" * 4, grey + "/Matte [0.5] >>")
        resource(page, "/XObject", "/I", image)

    source, wanted = document(PLACE, setup=setup), swaps(f"spot Kelp = {NEW}")
    made = recolour(source, wanted, options=PROCESS)
    assert [one.code for one in made.errors] == ["spot-image"]
    with open_artwork(source) as pdf:
        assert absent(pdf, made.counts) == (), "it is there, and said to be"
    without = pikepdf.open(io.BytesIO(source))
    del without.pages[0].Resources.XObject.I.SMask["/Matte"]
    table = opened(recolour(saved(without), wanted, options=PROCESS))
    table.pages[0].Resources.XObject.I.SMask["/Matte"] = pikepdf.Array([0.5])
    proof = prove(source, saved(table), wanted, PROCESS, render=False)
    assert any("matte" in words for words in failures(proof))


def test_inline_photographs_stay_and_are_counted_once() -> None:
    picture = b"q 9 0 0 9 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /RGB ID abc EI Q "

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, picture + b"0 0 9 9 re f"))

    content = picture * 2 + OLD_K + b" /F Do 0 g /F Do"  # the form is followed twice
    result = proven(document(content, setup=setup), f"{OLD} = {NEW}", "gray 100 = gray 90")
    assert result.photographs == 3
    assert content_of(result.data).count(picture) == 2


@pytest.mark.parametrize("space", ["[/Indexed /DeviceCMYK 1 <D933994C00FF0000>]", "/DeviceRGB"])
def test_a_picture_for_print_in_the_place_of_another(space: str, tmp_path: Path) -> None:
    """Ghostscript draws the one for print (ISO 32000-2, 8.9.5.4)."""

    def drawn(first: str, table: str, tints: str, data: bytes) -> bytes:
        def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
            shown = stream(pdf, bytes(12), IMAGE + f"/ColorSpace {first} >>")
            printed = stream(pdf, data, IMAGE + f"/ColorSpace {tints} >>")
            third = stream(pdf, bytes([0, 1, 1, 0]), IMAGE + f"/ColorSpace {table} >>")
            shown["/Alternates"] = pikepdf.Array(
                [
                    pikepdf.Dictionary(Image=pdf.make_indirect(printed), DefaultForPrinting=True),
                    pikepdf.Dictionary(Image=pdf.make_indirect(third)),
                ]
            )
            resource(page, "/XObject", "/I", shown)

        return document(PLACE, setup=setup)

    old, new = "D933994C00FF0000", "C71F8C6900FF0000"
    source = drawn(space, f"[/Indexed /DeviceCMYK 1 <{old}>]", KELP, bytes([255, 0, 128, 0]))
    made = proven(source, SWAP, "spot Kelp = cmyk 40 0 80 0", options=PROCESS, render=True)
    assert not made.errors
    twin = drawn(
        space.replace(old, new), f"[/Indexed /DeviceCMYK 1 <{new}>]",
        "[/Indexed /DeviceCMYK 2 <00000000 33006600 6600CC00>]", bytes([2, 0, 1, 0]),
    )  # fmt: skip
    found, wanted = (plates(one, tmp_path) for one in (made.data, twin))
    assert wanted["Yellow"].max() == pytest.approx(80, abs=1)
    assert found.keys() == wanted.keys()
    assert max(np.abs(found[name] - wanted[name]).max() for name in wanted) < 1
    with opened(made) as pdf:
        images = [one.Image for one in pdf.pages[0].Resources.XObject.I.Alternates]
        assert bytes(images[1].ColorSpace[3]) == bytes.fromhex(new)


def test_the_alternate_of_a_photograph_is_counted_with_it() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        shown, other = (
            stream(pdf, bytes(12), IMAGE + "/ColorSpace /DeviceRGB >>") for _ in range(2)
        )
        shown["/Alternates"] = pikepdf.Array([pikepdf.Dictionary(Image=pdf.make_indirect(other))])
        resource(page, "/XObject", "/I", shown)

    assert recolour(document(PLACE, setup=setup), [parse_swap(SWAP)]).photographs == 1
