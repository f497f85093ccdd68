"""Any page of overprinting fills, lines, text, stencils, pictures and gradients, beside a twin.

The twin is made by a small reader of its own that sets colour and overprint anew for each thing
that is painted, as ISO 32000-2, 8.6.7, has it; both are drawn in inks by Ghostscript.
"""

import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from artwork_kit import KELP, document, form, proven, resource
from examples_kit import few
from inkaccord.artwork.recolouring.recolour import OverprintMode, RecolourOptions, SpotMode
from outside import plates

FOIL = KELP.replace("Kelp", "Foil").replace("0.2 0.4 0.6 0.1", "0 0.1 0.5 0")
SWITCHES = {
    "O": (True, True, 1),
    "M": (True, True, 0),
    "S": (True, False, 1),
    "F": (False, True, 1),
}
NONE = "N"
STATES = " ".join(
    f"/{name} << /OP {str(stroke).lower()} /op {str(fill).lower()} /OPM {mode} >>"
    for name, (stroke, fill, mode) in {**SWITCHES, NONE: (False, False, 0)}.items()
)
AXIAL = (
    f"<< /ShadingType 2 /ColorSpace {FOIL} /Coords [0 0 1 0] "
    "/Function << /FunctionType 2 /Domain [0 1] /C0 [0.2] /C1 [1] /N 1 >> >>"
)
RESOURCES = (
    f"<< /ExtGState << {STATES} >> /ColorSpace << /Kelp {KELP} /Foil {FOIL} >> "
    f"/Shading << /X {AXIAL} >> "
    "/Font << /H << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> >>"
)
NEW = {
    "0.902 0.0784 0.4706 rg": "0.9 0 0.1 0.6 k",
    "1 1 1 rg": "0 0 0.05 0 k",
    "0.85 0.2 0.6 0.3 k": "0.1 0.9 0 0 k",
    "0.2 0 0.2 0.9 k": "0.3 0.3 0.2 0 k",
    "/Kelp cs 1 scn": "0 0.7 0 0.4 k",
}
SWAPS = (
    "rgb 230 20 120 = cmyk 90 0 10 60",
    "rgb 255 255 255 = cmyk 0 0 5 0",
    "cmyk 85 20 60 30 = cmyk 10 90 0 0",
    "cmyk 20 0 20 90 = cmyk 30 30 20 0",
    "spot Kelp = cmyk 0 70 0 40",
)
OTHERS = ("0 0 0 1 k", "0.5 0 0.5 0 k", "/Foil cs 0.6 scn", "0.4 g", "0 0.3 1 rg")
GROUND = "0.3 0.3 0.3 0.3 k 0 0 100 100 re f 0 g "
FILLED = {
    "square": "{} {} 20 20 re f",
    "text": "BT /H 40 Tf 0 Tr {} {} Td (O) Tj ET",
    "stencil": "q 30 0 0 30 {} {} cm BI /W 8 /H 2 /IM true /BPC 1 ID UU EI Q",
}
STROKED = {"frame": "{} {} 20 20 re S", "outlines": "BT /H 40 Tf 1 Tr {} {} Td (O) Tj ET"}
OWN = {
    "picture": "q 30 0 0 30 {} {} cm BI /W 2 /H 1 /BPC 8 /CS /CMYK ID A@@@Z@z@ EI Q",
    "gradient": "q 25 0 0 25 {} {} cm 0 0 1 1 re W n /X sh Q",
}
PAINTED = {**FILLED, **STROKED, **OWN, "both": "{} {} 20 20 re B"}

Step = tuple[str, Any]
_colours = st.sampled_from([*NEW, *OTHERS])
_places = st.integers(0, 80)
_plain = st.one_of(
    st.tuples(st.just("fill"), _colours),
    st.tuples(st.just("stroke"), _colours),
    st.tuples(st.just("gs"), st.sampled_from(["O", "O", "O", *SWITCHES, NONE])),
    *(st.tuples(st.just(name), st.tuples(_places, _places)) for name in PAINTED),
)
_kept = st.tuples(st.just("kept"), st.lists(_plain, max_size=4))
_forms = st.lists(st.one_of(_plain, _kept), min_size=5, max_size=8)
_drawn = st.tuples(st.just("Do"), st.sampled_from("AB"))
_pages = st.lists(st.one_of(_plain, _kept, _drawn), min_size=24, max_size=30)


def as_line(colour: str) -> str:
    *values, operator = colour.split()
    return " ".join([*values, operator.upper()]).replace("cs", "CS")


def content(steps: list[Step]) -> str:
    """Write the steps as they are."""

    def written(what: str, value: Any) -> str:
        match what:
            case "fill":
                return value
            case "stroke":
                return as_line(value)
            case "gs" | "Do":
                return f"/{value} {what}"
            case "kept":
                return f"q {content(value)} Q"
        return PAINTED[what].format(*value)

    return " ".join(written(*step) for step in steps)


def zeros(colour: str) -> list[bool]:
    return [float(value) == 0 for value in colour.split()[:-1]]


class Twin:
    """Follows the steps, and writes each thing with the switches and the colour it needs."""

    def __init__(self, forms: dict[str, list[Step]], *, off: bool) -> None:
        self.forms = forms
        self.off = off
        self.lines: list[str] = []

    def follow(self, steps: list[Step], state: dict[str, str]) -> None:
        for what, value in steps:
            match what:
                case "fill" | "stroke" | "gs":
                    state[what] = value
                case "Do":
                    self.follow(self.forms[value], dict(state))
                case "kept":
                    self.follow(value, dict(state))
                case "both":
                    self.paint("fill", FILLED["square"], value, state)
                    self.paint("stroke", STROKED["frame"], value, state)
                case _ if what in OWN:
                    self.lines.append(f"/{state['gs']} gs {OWN[what].format(*value)}")
                case _:
                    part, all_of = ("fill", FILLED) if what in FILLED else ("stroke", STROKED)
                    self.paint(part, all_of[what], value, state)

    def paint(self, part: str, shape: str, place: tuple[int, int], state: dict[str, str]) -> None:
        old, (stroke, fill, mode) = state[part], SWITCHES.get(state["gs"], (False, False, 0))
        new, on = NEW.get(old, old), fill if part == "fill" else stroke
        if new != old and old.endswith("rg"):
            mode = 0  # it covered all process inks, whatever the mode
        elif (
            new != old and self.off and (old.endswith("scn") or (mode and zeros(old) != zeros(new)))
        ):
            on = False
        gs = ("O" if mode else "M") if on else NONE
        self.lines.append(
            f"/{gs} gs {new if part == 'fill' else as_line(new)} {shape.format(*place)}"
        )


@pytest.mark.slow
@few(10)
@given(steps=_pages, one=_forms, other=_forms, off=st.booleans())
def test_the_process_plates_are_those_of_a_twin(
    steps: list[Step], one: list[Step], other: list[Step], off: bool
) -> None:
    """A spot's plate may be another: where line and fill share a mode, one may knock it out."""
    forms = {"A": one, "B": other}

    def setup(pdf, page):
        for name, inside in forms.items():
            drawn = form(pdf, content(inside).encode(), f"<< /Resources {RESOURCES} >>")
            resource(page, "/XObject", f"/{name}", drawn)

    before = document((GROUND + content(steps)).encode(), RESOURCES, setup)
    overprint = OverprintMode.OFF if off else OverprintMode.REPORT
    options = RecolourOptions(spots=SpotMode.PROCESS, overprint=overprint)
    made = proven(before, *SWAPS, options=options)
    twin = Twin(forms, off=off)
    twin.follow(steps, {"fill": "0 g", "stroke": "0 g", "gs": NONE})
    after = document((GROUND + " ".join(twin.lines)).encode(), RESOURCES)
    with tempfile.TemporaryDirectory() as first, tempfile.TemporaryDirectory() as second:
        copy, drawn = plates(made.data, Path(first)), plates(after, Path(second))
    for name in ("Cyan", "Magenta", "Yellow", "Black"):
        assert np.abs(copy[name] - drawn[name]).max() < 0.5, name
