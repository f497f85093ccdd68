"""Gradients that a program wrote as a flight of flat fills are moved whole, and nothing else is."""

import io
from collections.abc import Sequence

import numpy as np
import pikepdf
import pytest

from artwork_kit import codes, document, form, proven, resource, swaps
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour
from inkaccord.artwork.swaps import Swap, TintTable
from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from inkaccord.pdf.ink_rendering import ink_pages
from outside import need_program

Numbers = tuple[float, ...]
KELP, LANTERN, SLATE, WHITE = (20, 92, 78), (240, 158, 40), (74, 88, 97), (255, 255, 255)
NEW_KELP, NEW_LANTERN = (120, 20, 150), (20, 92, 200)
SWAPS = ("rgb 20 92 78 = rgb 120 20 150", "rgb 240 158 40 = rgb 20 92 200")
NEW = {KELP: NEW_KELP, LANTERN: NEW_LANTERN}
BUILDS = ("rgb 20 92 78 = cmyk 85 20 60 30", "rgb 240 158 40 = cmyk 0 38 88 2")
STEP = 1.0
"""In 255ths: an original in steps of 8 bits does not say more exactly where on its line it lies."""


def _flight(first: Numbers, last: Numbers, count: int, *, ends: bool = True) -> list[Numbers]:
    """Return colours as an office suite writes them: rounded down to whole 255ths."""
    shares = np.linspace(0, 1, count) if ends else (np.arange(count) + 0.5) / count
    return [
        tuple(int(a + (b - a) * share + 1e-9) for a, b in zip(first, last, strict=True))
        for share in shares
    ]


def _content(colours: Sequence[Numbers]) -> bytes:
    """Strips from left to right, each set and filled."""
    width = 100 / len(colours)
    return b"".join(
        " ".join(f"{value / 255:.10f}" for value in colour).encode()
        + f" rg {i * width:.3f} 0 {width + 0.2:.3f} 50 re f*\n".encode()
        for i, colour in enumerate(colours)
    )


def _fills(data: bytes) -> list[tuple[str, Numbers]]:
    """Return the operators that set a fill, read by pikepdf's parser."""
    found = []
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for operands, operator in pikepdf.parse_content_stream(pdf.pages[0]):
            if str(operator) in ("rg", "k", "g"):
                found.append((str(operator), tuple(float(v) for v in operands)))
    return found


def _wanted(first: Numbers, last: Numbers, old: Sequence[Numbers]) -> list[Numbers]:
    """The exact mixtures, shares measured on the number that changes most."""
    widest = max(range(3), key=lambda i: abs(last[i] - first[i]))
    ends = [NEW.get(first, first), NEW.get(last, last)]
    shares = [(colour[widest] - first[widest]) / (last[widest] - first[widest]) for colour in old]
    return [tuple(a + (b - a) * share for a, b in zip(*ends, strict=True)) for share in shares]


@pytest.mark.parametrize(
    ("first", "last"),
    [(KELP, LANTERN), (LANTERN, KELP), (KELP, WHITE), (WHITE, KELP), (KELP, SLATE), (SLATE, KELP)],
    ids=str,
)
@pytest.mark.parametrize("count", [12, 185])
def test_every_step_becomes_its_mixture(first: Numbers, last: Numbers, count: int) -> None:
    old = _flight(first, last, count)
    used = [swap for swap, colour in zip(SWAPS, NEW, strict=True) if colour in (first, last)]
    made = proven(document(_content(old)), *used, render=count == 12)
    found = [tuple(255 * v for v in numbers) for _, numbers in _fills(made.data)]
    for have, want in zip(found, _wanted(first, last, old), strict=True):
        assert have == pytest.approx(want, abs=1.5 * STEP)
    assert codes(made) == {"stepped-gradient"}
    assert len(made.findings) == 1


def test_a_flight_becomes_process_colour_and_prints_as_a_gradient_does() -> None:
    need_program("gs", "ghostscript")
    made = proven(document(_content(_flight(KELP, LANTERN, 185))), *BUILDS, render=True)
    assert {operator for operator, _ in _fills(made.data)} == {"k"}
    shading = (
        "<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 100 0] "
        "/Function << /FunctionType 2 /Domain [0 1] /N 1 "
        "/C0 [0.85 0.2 0.6 0.3] /C1 [0 0.38 0.88 0.02] >> >>"
    )
    wanted = document(b"0 0 100 50 re W n /S sh", f"<< /Shading << /S {shading} >> >>")
    rows = [
        next(iter(ink_pages(one, dpi=144, bits=16))).samples[-30] / 65535
        for one in (made.data, wanted)
    ]
    assert np.abs(rows[0] - rows[1])[4:-4].max() < 0.012  # a step is 0.5 % wide


def test_steps_to_white_follow_a_tint_table() -> None:
    table = TintTable(steps=((50, Build.cmyk(50, 0, 40, 10)), (100, Build.cmyk(78, 12, 55, 41))))
    swap = Swap(old=Paint.parse("rgb 20 92 78"), new=Paint.parse("cmyk 78 12 55 41"), tints=table)
    old = _flight(KELP, WHITE, 100)
    made = proven(document(_content(old)), swap, render=True)
    for (_, have), colour in zip(_fills(made.data), old, strict=True):
        tint = (255 - colour[0]) / (255 - KELP[0])
        steps = [(0, 0, 0, 0), (0.5, 0, 0.4, 0.1), (0.78, 0.12, 0.55, 0.41)]
        low, high, share = (*steps[1:], 2 * tint - 1) if tint > 0.5 else (*steps[:2], 2 * tint)
        want = [a + (b - a) * share for a, b in zip(low, high, strict=True)]
        assert have == pytest.approx(want, abs=0.006)


def test_a_flight_whose_steps_begin_beside_its_ends() -> None:
    """Half a step from them: the ends themselves stand nowhere."""
    old = _flight(KELP, LANTERN, 100, ends=False)
    assert not {KELP, LANTERN} & set(old)
    solids = _content([KELP]) + b"/F Do " + _content([LANTERN])
    made = proven(
        document(
            solids + b"/F Do " + _content(old),
            setup=lambda pdf, page: resource(page, "/XObject", "/F", form(pdf, b"0 0 1 1 re n")),
        ),
        *SWAPS,
    )
    found = [tuple(255 * v for v in numbers) for _, numbers in _fills(made.data)][2:]
    for have, want in zip(found, _wanted(KELP, LANTERN, old), strict=True):
        assert have == pytest.approx(want, abs=1.5 * STEP)
    assert "near-miss" not in codes(made)


def test_flights_in_a_row_and_in_a_form_that_is_drawn_twice() -> None:
    two = [*_flight(KELP, LANTERN, 30), *_flight(LANTERN, WHITE, 30), *_flight(WHITE, KELP, 30)]
    source = document(
        b"/F Do 1 0 0 1 0 50 cm /F Do",
        setup=lambda pdf, page: resource(page, "/XObject", "/F", form(pdf, _content(two))),
    )
    made = proven(source, *SWAPS, render=True)
    assert len(made.findings) == 3


# -- what is no flight ------------------------------------------------------------------------

MEAN = (130, 125, 59)


@pytest.mark.parametrize(
    "colours",
    [
        pytest.param([KELP, MEAN, LANTERN], id="an isolated colour between two"),
        pytest.param(_flight(KELP, LANTERN, 7), id="seven swatches"),
        pytest.param([KELP, *_flight(MEAN, LANTERN, 20)[:-1]], id="a wide step"),
        pytest.param(
            [
                c
                for pair in zip(_flight(KELP, LANTERN, 20), [SLATE] * 20, strict=True)
                for c in pair
            ],
            id="something else between",
        ),
        pytest.param(
            [_flight(KELP, LANTERN, 16)[i] for i in (0, 8, 3, 12, 5, 1, 9, 2, 11, 4, 15)],
            id="in no order",
        ),
    ],
)
def test_colours_that_make_no_flight_stay(colours: list[Numbers]) -> None:
    made = proven(document(_content(colours)), *SWAPS)
    found = [tuple(round(255 * v) for v in numbers) for _, numbers in _fills(made.data)]
    assert found == [NEW.get(colour, colour) for colour in colours]
    assert "stepped-gradient" not in codes(made)


def test_the_same_colour_outside_the_flight_stays() -> None:
    flight = _flight(KELP, LANTERN, 60)
    alone = flight[30]
    source = document(_content(flight) + b"0 60 m 9 9 l S " + _content([SLATE, alone, SLATE]))
    made = proven(source, *SWAPS, render=True)
    found = [tuple(round(255 * v) for v in numbers) for _, numbers in _fills(made.data)]
    assert found[30] != alone
    assert found[-3:] == [SLATE, alone, SLATE]


def test_a_flight_of_which_one_end_would_stay_in_another_space_is_refused() -> None:
    made = recolour(document(_content(_flight(KELP, SLATE, 40))), swaps(BUILDS[0]))
    assert "mixed-kinds" in codes(made)


# -- the proof --------------------------------------------------------------------------------


@pytest.mark.parametrize("kept", [1, 20, 58])
def test_the_proof_refuses_a_step_that_was_left(kept: int) -> None:
    flight = _flight(KELP, LANTERN, 60)
    source = document(_content(flight))
    asked = swaps(*SWAPS)
    made = recolour(source, asked).data
    assert prove(source, made, asked, RecolourOptions(), render=False).passed
    with pikepdf.open(io.BytesIO(made)) as pdf:
        content = pdf.pages[0].Contents.read_bytes().split(b"\n")
        content[kept] = _content(flight).split(b"\n")[kept]
        pdf.pages[0].Contents.write(b"\n".join(content))
        out = io.BytesIO()
        pdf.save(out)
    assert not prove(source, out.getvalue(), asked, RecolourOptions(), render=False).passed


def test_the_proof_refuses_an_isolated_colour_that_was_moved() -> None:
    source = document(_content([KELP, MEAN, LANTERN]))
    asked = swaps(*SWAPS)
    moved = document(_content([NEW_KELP, (70, 56, 175), NEW_LANTERN]))
    assert not prove(source, moved, asked, RecolourOptions(), render=False).passed
