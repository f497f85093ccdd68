"""Gradients that jump from colour to colour stay hard, and turn into the exact mixture."""

import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray

import gradient_kit
from artwork_kit import codes, document, opened, parsed, proven, resource, stream, swaps
from gradient_kit import CONSTRUCTS, FRAMES, Build, Frame, Numbers, Stripe, axial, exact, swapped
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from inkaccord.pdf.colours.functions import Function
from inkaccord.pdf.ink_rendering import ink_pages
from inkaccord.pdf.rendering import page_pictures
from outside import need_program, plates

pytestmark = pytest.mark.slow

CLOSE = 2 / 255
OLD, NEW = (0.85, 0.2, 0.6, 0.3), (0.78, 0.12, 0.55, 0.41)
PAPER, PINK, SAND = (0.0, 0.0, 0.0, 0.0), (0.0, 1.0, 0.0, 0.0), (0.0, 0.1, 0.5, 0.1)
SWAP = "cmyk 85 20 60 30 = cmyk 78 12 55 41"


def _stripes(old: Numbers, paper: Numbers, one: Numbers, other: Numbers) -> list[Stripe]:
    return [
        Stripe(0, 0.2, paper, paper),
        Stripe(0.2, 0.4, old, old),
        Stripe(0.4, 0.6, one, other, 2),
        Stripe(0.6, 0.8, old, paper),
        Stripe(0.8, 1, one, one),
    ]


CMYK = _stripes(OLD, PAPER, PINK, SAND)
RGB = _stripes((0.2, 0.6, 0.4), (1.0, 1.0, 1.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
RGB_SWAP = "rgb 51 153 102 = rgb 204 102 0"
RGB_NEW = {(0.2, 0.6, 0.4): (0.8, 0.4, 0.0)}
TINTS = [
    Stripe(0, 0.5, (0.2,), (0.2,)),
    Stripe(0.5, 0.7, (1.0,), (0.0,)),
    Stripe(0.7, 1, (0.6,), (0.6,)),
]
SPOT = (
    "[/Separation /Kelp /DeviceCMYK << /FunctionType 2 /Domain [0 1] /N 1 "
    "/C0 [0 0 0 0] /C1 [0.2 0.4 0.6 0.1] >>]"
)


def _source(build: Build, stripes: list[Stripe], frame: Frame, space: str) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/Shading", "/S", frame(pdf, build(pdf, stripes), space))

    return document(b"/S sh", setup=setup)


def _places(stripes: list[Stripe]) -> Iterator[float]:
    """Yield places all over a gradient, closest to its jumps within a sample's width."""
    jumps = [stripe.low for stripe in stripes[1:]]
    for i in range(500):
        if all(abs(i / 499 - jump) > 1 / 900 for jump in jumps):
            yield i / 499
    for jump in jumps:
        yield from (jump - 1 / 999, jump + 1 / 999)


def _off(function: object, stripes: list[Stripe]) -> float:
    return max(
        abs(a - b)
        for place in _places(stripes)
        for a, b in zip(gradient_kit.value(function, place), exact(stripes, place), strict=True)
    )


@pytest.mark.parametrize("build", CONSTRUCTS, ids=lambda one: one.__name__)
@pytest.mark.parametrize(
    ("stripes", "space", "swap", "new"),
    [
        pytest.param(CMYK, "/DeviceCMYK", SWAP, {OLD: NEW}, id="cmyk"),
        pytest.param(RGB, "/DeviceRGB", RGB_SWAP, RGB_NEW, id="rgb"),
    ],
)
def test_both_colours_at_a_jump_are_kept(
    build: Build, stripes: list[Stripe], space: str, swap: str, new: dict[Numbers, Numbers]
) -> None:
    made = proven(_source(build, stripes, axial, space), swap)
    with opened(made) as pdf:
        function = pdf.pages[0].Resources.Shading.S.Function
        assert _off(function, swapped(stripes, new)) <= CLOSE


@pytest.mark.parametrize("build", CONSTRUCTS, ids=lambda one: one.__name__)
def test_tints_of_a_spot_jump_as_process_colour_too(build: Build) -> None:
    source = _source(build, TINTS, axial, SPOT)
    build_of = {(t,): tuple(t * v for v in NEW) for t in (0.0, 0.2, 0.6, 1.0)}
    options = RecolourOptions(spots=SpotMode.PROCESS)
    made = proven(source, "spot Kelp = cmyk 78 12 55 41", options=options)
    with opened(made) as pdf:
        function = pdf.pages[0].Resources.Shading.S.Function
        assert _off(function, swapped(TINTS, build_of)) <= CLOSE


def _far_from_edges(image: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which pixels of a row stand two away from where the colour jumps."""
    jumps = np.abs(np.diff(image, axis=0)).max(axis=1) > 0.1
    near = np.convolve(jumps, np.ones(5), "same") > 0
    return ~np.append(near, near[-1])


def _same_row(made: NDArray[np.float64], wanted: NDArray[np.float64]) -> None:
    row = made.shape[0] // 2
    far = _far_from_edges(wanted[row])
    assert far.sum() > len(far) / 2
    assert np.abs(made[row] - wanted[row])[far].max() <= CLOSE


@pytest.mark.parametrize("frame", FRAMES, ids=lambda one: one.__name__)
def test_every_shading_prints_as_the_exact_mixture_does(frame: Frame) -> None:
    """Both through Ghostscript: the recoloured file, and one drawn in the new colours."""
    need_program("gs", "ghostscript")
    # Ghostscript draws a curve as a few straight lines, other ones when it is given in pieces.
    stripes = [replace(stripe, power=1.0) for stripe in CMYK]
    made = proven(_source(gradient_kit.equal_bounds, stripes, frame, "/DeviceCMYK"), SWAP).data
    wanted = _source(gradient_kit.stitched, swapped(stripes, {OLD: NEW}), frame, "/DeviceCMYK")
    inks = [next(iter(ink_pages(one, dpi=144, bits=16))).samples / 65535 for one in (made, wanted)]
    _same_row(*inks)


@pytest.mark.parametrize("frame", FRAMES, ids=lambda one: one.__name__)
def test_another_renderer_draws_the_same_edges(frame: Frame) -> None:
    """Both through PDFium, in RGB, so that no profile stands between."""
    made = proven(_source(gradient_kit.nested, RGB, frame, "/DeviceRGB"), RGB_SWAP).data
    wanted = _source(gradient_kit.stitched, swapped(RGB, RGB_NEW), frame, "/DeviceRGB")
    pictures = [
        np.asarray(next(iter(page_pictures(one, dpi=144))), dtype=float) / 255
        for one in (made, wanted)
    ]
    _same_row(*pictures)


def test_what_goes_on_beyond_the_end_keeps_its_colour() -> None:
    """A last stop of no width is the colour of everything beyond the gradient."""
    stripes = [Stripe(0, 1, PINK, SAND), Stripe(1, 1, OLD, OLD)]
    source = _source(gradient_kit.stitched, stripes, axial, "/DeviceCMYK")
    with opened(proven(source, SWAP)) as pdf:
        function = pdf.pages[0].Resources.Shading.S.Function
        assert gradient_kit.value(function, 1.0) == pytest.approx(NEW)
        assert gradient_kit.value(function, 0.999999) == pytest.approx(SAND, abs=1e-5)


@pytest.mark.parametrize("bits", [8, 16])
def test_a_table_bends_through_the_new_colour(bits: int) -> None:
    """Most gradients are tables: their stops are samples, and no thin line may stand there."""
    stripes = [
        Stripe(0, 0.35, PINK, OLD),
        Stripe(0.35, 0.7, OLD, SAND),
        Stripe(0.7, 1, SAND, PAPER),
    ]

    def build(pdf: pikepdf.Pdf, some: list[Stripe]) -> object:
        return gradient_kit.sampled(pdf, some, bits)

    with opened(proven(_source(build, stripes, axial, "/DeviceCMYK"), SWAP)) as pdf:
        function = pdf.pages[0].Resources.Shading.S.Function
        assert _off(function, swapped(stripes, {OLD: NEW})) <= CLOSE


# -- in two directions ------------------------------------------------------------------------

DISC = "2 copy 0.5 sub dup mul exch 0.5 sub dup mul add 0.09 lt"


def _field(pdf: pikepdf.Pdf, programs: list[str], space: str) -> object:
    outputs = 1 if len(programs) > 1 else {"/DeviceCMYK": 4, "/DeviceRGB": 3}[space]
    made = parsed(f"<< /ShadingType 1 /ColorSpace {space} /Matrix [100 0 0 100 0 0] >>")
    functions = [gradient_kit.calculated(pdf, words, outputs, 2) for words in programs]
    made["/Function"] = pikepdf.Array(functions) if len(functions) > 1 else functions[0]
    return pdf.make_indirect(made)


def _in_two_directions(programs: list[str], space: str, swap: str) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/Shading", "/S", _field(pdf, programs, space))

    return proven(document(b"/S sh", setup=setup), swap, render=True).data


def _field_value(data: bytes, x: float, y: float) -> Numbers:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return gradient_kit.value(pdf.pages[0].Resources.Shading.S.Function, x, y)


ONE = f"{DISC} {{ pop pop 0.85 0.2 0.6 0.3 }} {{ pop pop 0 1 0 0 }} ifelse"
EACH = [
    f"{DISC} {{ pop pop {old} }} {{ pop pop {ground} }} ifelse"
    for old, ground in zip(OLD, PINK, strict=True)
]


@pytest.mark.parametrize("programs", [[ONE], EACH], ids=["one", "each-ink"])
def test_a_disc_stays_round_to_the_last_bit(programs: list[str]) -> None:
    data = _in_two_directions(programs, "/DeviceCMYK", SWAP)
    for i in range(-50, 51):
        x = 0.5 + 0.3 * (1 + i / 1e4)
        wanted = NEW if i < 0 else PINK
        if i:
            assert _field_value(data, x, 0.5) == pytest.approx(wanted)


def test_a_disc_prints_as_one_drawn_in_the_new_colour() -> None:
    need_program("gs", "ghostscript")
    made = _in_two_directions([ONE], "/DeviceCMYK", SWAP)
    new = ONE.replace("0.85 0.2 0.6 0.3", "0.78 0.12 0.55 0.41")
    wanted = document(
        b"/S sh",
        setup=lambda pdf, page: resource(page, "/Shading", "/S", _field(pdf, [new], "/DeviceCMYK")),
    )
    inks = [next(iter(ink_pages(one, dpi=72, bits=16))).samples for one in (made, wanted)]
    assert np.array_equal(*inks)


def test_a_smooth_calculator_is_carried_over_along_its_line() -> None:
    blend = "add 2 div 1 exch sub dup 0.85 mul exch dup 0.2 mul exch dup 0.6 mul exch 0.3 mul"
    data = _in_two_directions([blend], "/DeviceCMYK", SWAP)
    for x, y in ((0, 0), (0.25, 0.7), (1, 0.4), (1, 1)):
        share = 1 - (x + y) / 2
        wanted = [value * share for value in NEW]
        assert _field_value(data, x, y) == pytest.approx(wanted, abs=CLOSE)


def test_a_calculator_of_another_kind_of_colour() -> None:
    words = f"{DISC} {{ pop pop 1 0 0 }} {{ pop pop 1 1 1 }} ifelse"
    data = _in_two_directions([words], "/DeviceRGB", "rgb 255 0 0 = cmyk 0 90 80 0")
    assert _field_value(data, 0.5, 0.5) == pytest.approx((0, 0.9, 0.8, 0))
    assert _field_value(data, 0.1, 0.1) == pytest.approx((0, 0, 0, 0))


def test_a_rainbow_in_two_directions_is_refused() -> None:
    words = "2 copy mul 3 copy pop"
    source = document(
        b"/S sh",
        setup=lambda pdf, page: resource(
            page, "/Shading", "/S", _field(pdf, [f"{words} pop pop"], "/DeviceRGB")
        ),
    )
    made = recolour(source, swaps("rgb 255 255 255 = rgb 204 102 0"))
    assert "mixed-kinds" in codes(made)


SEA, ROSE = (1.0, 0.0, 0.0, 0.0), (0.0, 0.9, 0.1, 0.0)
PARTS = {
    "first": ([(ROSE, SEA), (OLD, PINK)], [0.0]),
    "first, swapped": ([(OLD, SEA), (ROSE, PINK)], [0.0]),
    "first two": ([(SEA, OLD), (OLD, SEA), (ROSE, PINK)], [0.0, 0.0]),
    "last": ([(OLD, PINK), (SEA, ROSE)], [1.0]),
    "last, swapped": ([(PINK, SEA), (OLD, ROSE)], [1.0]),
    "both": ([(OLD, SEA), (PINK, ROSE), (SEA, OLD)], [0.0, 1.0]),
    "inner": ([(PINK, OLD), (SEA, ROSE), (OLD, PINK)], [0.5, 0.5]),
    "begun at a bound": ([(PINK, OLD), (SEA, ROSE)], [0.2]),
}
"""Ends of a stitching function's parts, and its bounds: of some parts no width is left."""


def _stitched(name: str, colours: dict[Numbers, Numbers], space: str) -> bytes:
    ends, bounds = PARTS[name]
    span = "/Domain [0.2 1] " if "begun" in name else ""

    def said(colour: Numbers) -> str:
        inks = colours.get(colour, colour)
        return "[" + " ".join(map(str, inks if space[1] == "D" else (*inks, 0.2))) + "]"

    parts = " ".join(
        f"<< /FunctionType 2 /Domain [0 1] /N 1 /C0 {said(a)} /C1 {said(b)} >>" for a, b in ends
    )
    return document(
        b"/S sh",
        f"<< /Shading << /S << /ShadingType 2 /ColorSpace {space} /Coords [20 0 80 0] {span}"
        f"/Extend [true true] /Function << /FunctionType 3 /Domain [0 1] /Functions [{parts}] "
        f"/Bounds [{' '.join(map(str, bounds))}] /Encode [{'0 1 ' * len(ends)}] >> >> >> >>",
        lambda pdf, page: _with_foil(pdf, page) if space[1] != "D" else None,
    )


def _with_foil(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    """Fill in the look of the four plates beside a foil, which calls for a program."""
    ranges = f"/Domain [{'0 1 ' * 5}] /Range [{'0 1 ' * 4}]"
    look = stream(pdf, b"{ pop }", f"<< /FunctionType 4 {ranges} >>")
    page.obj.Resources.Shading.S.ColorSpace[3] = pdf.make_indirect(look)


FOILED = "[/DeviceN [/Cyan /Magenta /Yellow /Black /Foil] /DeviceCMYK null]"


@pytest.mark.parametrize("space", ["/DeviceCMYK", FOILED])
@pytest.mark.parametrize("name", PARTS)
def test_parts_without_a_width_print_as_their_twin(name: str, space: str, tmp_path: Path) -> None:
    """Beyond the ends some readers show the part that has none: so do Ghostscript and poppler."""
    made = proven(_stitched(name, {}, space), SWAP, render=True)
    assert not made.errors
    twin = _stitched(name, {OLD: NEW}, space)
    found, wanted = (plates(one, tmp_path) for one in (made.data, twin))
    assert found.keys() == wanted.keys()
    assert max(np.abs(found[name] - wanted[name]).max() for name in wanted) < 1
    shown = [np.asarray(next(page_pictures(one, dpi=72)), int) for one in (made.data, twin)]
    assert np.abs(shown[0] - shown[1]).max() <= 3


def test_the_proof_refuses_what_lost_the_part_before_its_start(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(Function, "beginning", Function.__call__)
    source = _stitched("first", {}, "/DeviceCMYK")
    made = recolour(source, swaps(SWAP))
    assert not prove(source, made.data, swaps(SWAP), render=False).passed


ENDS = {
    "last": "1 ge {0} {1} ifelse",
    "first": "0 le {0} {1} ifelse",
    "last of the stripes": "6 mul cvi 2 mod 0 eq {0} {1} ifelse",
    "none of its own": "0.5 ge {0} {1} ifelse",
}
"""Calculators of two colours; the first stands at an end alone in all but the last."""


def _ended(name: str, one: Numbers, other: Numbers) -> bytes:
    words = ENDS[name].format(*(f"{{ {' '.join(map(str, it))} }}" for it in (one, other)))

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        made = axial(pdf, gradient_kit.calculated(pdf, words, 4), "/DeviceCMYK")
        resource(page, "/Shading", "/S", made)

    return document(b"/S sh", setup=setup)


@pytest.mark.parametrize("first", [True, False])
@pytest.mark.parametrize("name", ENDS)
def test_a_value_of_an_end_alone_prints_as_its_twin(name: str, first: bool, tmp_path: Path) -> None:
    """All that lies beyond the end is painted in it."""
    sources = [_ended(name, *((it, SAND) if first else (SAND, it))) for it in (OLD, NEW)]
    made = proven(sources[0], SWAP, render=True)
    assert not made.errors
    found, wanted = (plates(one, tmp_path) for one in (made.data, sources[1]))
    assert max(np.abs(found[name] - wanted[name]).max() for name in wanted) < 1
