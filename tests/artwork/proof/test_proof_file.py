"""Colour profiles are left out of renderings only where they play no part."""

import io

import numpy as np
import pikepdf
import pytest

from artwork_kit import KELP, NEW, OLD, OLD_K, Setup, document, form, parsed, resource, swaps
from inkaccord.artwork.proof.parts import ProofVerdict
from inkaccord.artwork.proof.proof_file import ProofFile
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.pdf.ink_rendering import InkSource, inks_of_all
from inkaccord.pdf.page_source import PageSource
from outside import need_program
from page_kit import changed

INKS = OLD_K + b" 0 0 30 30 re f 0.3 g 30 0 30 30 re f /S cs 0.7 scn 60 0 30 30 re f "
SPOT = f"<< /ColorSpace << /S {KELP} >> >>"


def _group(space: str) -> Setup:
    def setup(_: pikepdf.Pdf, page: pikepdf.Page) -> None:
        page.obj.Group = parsed(f"<< /S /Transparency /CS {space} >>")

    return setup


def _masked(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    mask = form(pdf, b"1 g 0 0 50 50 re f", "<< /Group << /S /Transparency /CS /DeviceRGB >> >>")
    state = parsed("<< /SMask << /S /Luminosity >> /ca 0.5 >>")
    state["/SMask"]["/G"] = mask
    resource(page, "/ExtGState", "/G", state)


def _needs_none(data: bytes) -> bool:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return ProofFile.read(PageSource(pdf)).needs_no_profile(pdf.pages[:1])


PLAIN = {
    "inks": document(INKS, SPOT),
    "blended": document(
        INKS + b"/H gs 0 1 0 0 k 10 10 60 60 re f",
        f"<< /ColorSpace << /S {KELP} >> /ExtGState << /H << /ca 0.4 /BM /Multiply >> >> >>",
        setup=_group("/DeviceCMYK"),
    ),
}


@pytest.mark.parametrize("data", PLAIN.values(), ids=PLAIN)
def test_inks_are_drawn_alike_with_profiles_and_without(data: bytes) -> None:
    need_program("gs", "ghostscript")
    assert _needs_none(data)
    source = [InkSource(data, 72, [1])]
    ((managed,), (plain,)) = (
        [it.read() for it in inks_of_all(source, bits=16, profiles=profiles, allowed=1)]
        for profiles in (True, False)
    )
    assert len(np.unique(plain.samples.reshape(-1, 4), axis=0)) >= 4
    assert np.array_equal(managed.samples, plain.samples)


CALIBRATED = "[ /CalGray << /WhitePoint [0.96 1 0.82] >> ]"
OTHERS = {
    "rgb": document(INKS + b"1 0 0 rg 0 50 9 9 re f", SPOT),
    "calibrated": document(
        INKS + b"/C cs 0.5 sc 0 50 9 9 re f",
        f"<< /ColorSpace << /S {KELP} /C {CALIBRATED} >> >>",
    ),
    "default": document(INKS, f"<< /ColorSpace << /S {KELP} /DefaultGray {CALIBRATED} >> >>"),
    "spot on RGB": document(INKS, SPOT.replace("/DeviceCMYK", "/DeviceRGB")),
    "mixed in RGB": document(INKS, SPOT, setup=_group("/DeviceRGB")),
    "overprint": document(
        b"/O gs " + INKS,
        f"<< /ColorSpace << /S {KELP} >> /ExtGState << /O << /op true /OPM 1 >> >> >>",
    ),
    "mask": document(b"/G gs " + INKS, SPOT, setup=_masked),
}


@pytest.mark.parametrize("data", OTHERS.values(), ids=OTHERS)
def test_all_else_keeps_its_profiles(data: bytes) -> None:
    assert not _needs_none(data)


def test_a_wrong_ink_is_seen_without_profiles() -> None:
    need_program("gs", "ghostscript")
    source = document(OLD_K + b" 0 0 50 50 re f 0.2 g 60 60 9 9 re f")
    made = recolour(source, swaps(f"{OLD} = {NEW}")).data

    def lighten(pdf: pikepdf.Pdf) -> None:
        content = pdf.pages[0].obj.Contents.read_bytes()
        assert b"0.2 g" in content
        pdf.pages[0].obj.Contents.write(content.replace(b"0.2 g", b"0.21 g"))

    wrong = changed(made, lighten)
    for copy, verdict in ((made, ProofVerdict.PASS), (wrong, ProofVerdict.FAIL)):
        assert prove(source, copy, swaps(f"{OLD} = {NEW}")).rendering.verdict is verdict
