"""Content that no program should write: it is read to its end, or a finding says where it stops."""

import io
from collections.abc import Callable

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.artwork.inventory.areas import colour_maps
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.marks.reader import marks_of
from inkaccord.artwork.preflight import ArtworkRules, preflight
from inkaccord.errors import FileError
from page_kit import embedded_font, finish, image, saved, written

_NUMBER = st.one_of(
    st.integers(-999, 999).map(str), st.sampled_from(["0", "1", ".5", "1e9", "-", "99999999999"])
)
_NAME = st.sampled_from(["/F", "/T", "/G", "/P", "/S", "/I", "/OC", "/Pattern", "/DeviceCMYK", "/"])
_WORDS = """
q Q cm w gs m l c v y h re W W* n f F f* S s B B* b b* k K g G rg RG cs CS sc SC scn SCN sh Do BT ET
Tf Td TD Tm T* Tj TJ ' " Tc Tw Tz TL Ts Tr BDC BMC EMC d0 d1 BX EX i ri j J M d
"""
_WORD = st.sampled_from(_WORDS.split())
_OTHER = st.sampled_from(["(a)", "<41>", "[(a) -20 (b)]", "<< /A 1 >>", "true", "null", "% x\n"])
_CONTENT = st.lists(st.one_of(_NUMBER, _NUMBER, _NAME, _WORD, _WORD, _OTHER), max_size=60).map(
    " ".join
)


def page_of(content: str) -> bytes:
    """Return a page whose names lead somewhere: a form in itself, a pattern, a font, a state."""
    with pikepdf.new() as pdf:
        form = pdf.make_stream(
            content.encode("latin-1"), Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form,
            BBox=[0, 0, 90, 90],
        )  # fmt: skip
        pattern = pdf.make_stream(
            content.encode("latin-1"), PatternType=1, PaintType=1, BBox=[0, 0, 9, 9], XStep=9,
            YStep=9, Resources=pikepdf.Dictionary(),
        )  # fmt: skip
        pixel = image(pdf, bytes(3), (1, 1), "/DeviceRGB")
        pattern.Resources["/Pattern"] = pikepdf.Dictionary(P=pattern)
        return finish(
            pdf,
            content,
            Font=pikepdf.Dictionary(T=embedded_font(pdf), F=pikepdf.Name.Wrong),
            XObject=pikepdf.Dictionary(F=form, I=pixel, P=pattern),
            Pattern=pikepdf.Dictionary(P=pattern, F=form),
            ExtGState=pikepdf.Dictionary(G=pikepdf.Dictionary(ca=0.5, LW="x", SMask=form)),
            Shading=pikepdf.Dictionary(S=pikepdf.Dictionary(ShadingType=2)),
            ColorSpace=pikepdf.Dictionary(
                S=pikepdf.Array([pikepdf.Name.Indexed, pikepdf.Name.S, 5])
            ),
        )


@settings(max_examples=40, deadline=None)
@given(_CONTENT)
def test_any_operators_are_read_to_the_end(content: str) -> None:
    data = page_of(content)
    found = inventory(data, dpi=20)
    assert len(found.pages) == 1
    checks = preflight(data, ArtworkRules(transparency=False, standard="pdf/x-4"))
    assert all(one.message for one in checks)


def test_a_form_that_calls_itself_is_said_and_ends() -> None:
    found = inventory(page_of("/F Do 1 0 0 rg 9 9 9 9 re f"), dpi=36)
    assert "nested-in-itself" in {one.code for one in found.findings}
    assert "rgb 255 0 0" in {entry.colour.text for entry in found.colours}


def test_endless_nesting_ends_at_the_limit(bound: Callable[..., None]) -> None:
    with pikepdf.new() as pdf:
        inner = pdf.make_stream(
            b"9 9 9 9 re f", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form,
            BBox=[0, 0, 90, 90],
        )  # fmt: skip
        for _ in range(40):
            inner = pdf.make_stream(
                b"/F Do", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form, BBox=[0, 0, 90, 90],
                Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=inner)),
            )  # fmt: skip
        data = finish(pdf, "/F Do", XObject=pikepdf.Dictionary(F=inner))
    assert [e.colour.text for e in inventory(data, dpi=36).colours] == ["gray 100"]
    bound(nesting=10)
    with pytest.raises(FileError, match="more than 10 deep"):
        inventory(data, dpi=36)


def test_forms_that_double_at_every_level_end_at_the_limit(bound: Callable[..., None]) -> None:
    bound(calls=2000, pages_full=1)
    with pikepdf.new() as pdf:
        inner = pdf.make_stream(
            b"9 9 9 9 re f", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form,
            BBox=[0, 0, 90, 90],
        )  # fmt: skip
        for _ in range(30):
            inner = pdf.make_stream(
                b"/F Do /F Do", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form,
                BBox=[0, 0, 90, 90],
                Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=inner)),
            )  # fmt: skip
        data = finish(pdf, "", XObject=pikepdf.Dictionary(F=inner))
        pdf.pages[0].obj["/Contents"] = pdf.make_stream(b"/F Do")
        data = saved(pdf)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        from inkaccord.artwork.marks.reader import PageReader
        from inkaccord.pdf.boxes import page_boxes

        reader = PageReader(pdf, lambda _: None)
        reader.read_page(pdf.pages[0], page_boxes(pdf.pages[0]))
    assert "too-deep" in {one.code for one in reader.findings}


def test_a_stream_that_unpacks_to_too_much_is_said(bound: Callable[..., None]) -> None:
    bound(stream_mib=1)
    data = written("0 0 1 rg 5 5 9 9 re f " + " " * 3_000_000)
    with pytest.raises(FileError, match="more than 1 MiB"):
        inventory(data, dpi=36)


@pytest.mark.parametrize("size", [[0, 0, 14400, 14400], [0, 0, 0.5, 0.5]])
def test_giant_and_tiny_pages_are_drawn_within_bounds(size: list[float]) -> None:
    data = written("0 0 1 rg 0 0 7200 14400 re f", {"MediaBox": size})
    (found,) = colour_maps(data, dpi=300)
    assert 1 <= found.labels.size <= 20_100_000


def test_what_is_painted_plainly_shares_what_it_says_of_its_mixing() -> None:
    # A hundred thousand marks are held at once: an empty set for each is a third of them.
    with pikepdf.new() as pdf:
        thin = pikepdf.Dictionary(ca=0.5, BM=pikepdf.Name.Multiply)
        content = "0 0 9 9 re f 1 1 9 9 re f q /G gs 2 2 9 9 re f Q 3 3 9 9 re f"
        source = finish(pdf, content, ExtGState=pikepdf.Dictionary(G=thin))
    with pikepdf.open(io.BytesIO(source)) as pdf:
        first, second, thin_one, last = marks_of(pdf)
    assert first.blend_modes is second.blend_modes is last.blend_modes
    assert [it.see_through for it in (first, second, thin_one, last)] == [False, False, True, False]
    assert thin_one.blend_modes == {"Multiply"}
