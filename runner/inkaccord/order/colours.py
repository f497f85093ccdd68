"""Brand colours and their aims."""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, field_validator, model_validator

from inkaccord.colour.black_wish import BlackWish
from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.colour.pairs import Pair
from inkaccord.models import Frozen
from inkaccord.order.answers import Limits, SwatchName
from inkaccord.units import Percent
from inkaccord.written import shown

GivenLab = Annotated[
    tuple[
        Annotated[float, Field(ge=0, le=100)],
        Annotated[float, Field(ge=-128, le=128)],
        Annotated[float, Field(ge=-128, le=128)],
    ],
    Field(description="CIELAB L* a* b*, D50, 2° observer"),
]


class Prefer(StrEnum):
    """What is done with a colour that some pair can't reach."""

    EACH_CLOSEST = "each-closest"
    """Each piece comes as near to the aim as its pair can."""
    ALIKE = "alike"
    """The pieces stay alike, at what that costs against the aim."""


class Aim(Frozen):
    """What a brand colour should look like: one of `lab`, `build`, `by_eye` and `from_book`."""

    lab: GivenLab | None = None
    build: Annotated[
        Build | None, Field(description="a build that already prints right; needs `on`")
    ] = None
    on: Annotated[
        Pair | None, Field(description="the pair, `device@stock`, that `build` is on")
    ] = None
    by_eye: Annotated[
        str | None, Field(description="the thing that picks are matched to, in words", min_length=1)
    ] = None
    on_glass: Annotated[
        bool,
        Field(
            description="whether the thing is laid on a scanner's glass: its sheets then have a "
            "field for it, and `inkaccord record SHEET SCAN --thing COLOUR` compares; with `by_eye`"
        ),
    ] = False
    picked_on: Annotated[
        str | None,
        Field(
            description="the picked swatch that is the thing, where picks contradict each other: "
            "its sheet and id, 'K7Q-XM3 B7'; with `by_eye`"
        ),
    ] = None

    from_book: Annotated[
        str | None,
        Field(
            description="the name of a colour in the studio's book, whose aim it is; the order "
            "keeps what the book said when it was first run",
            min_length=1,
        ),
    ] = None
    edition: Annotated[
        int | None,
        Field(description="what the book said in this edition; with `from_book`", ge=1),
    ] = None

    @field_validator("picked_on")
    @classmethod
    def _names_a_swatch(cls, text: str | None) -> str | None:
        return None if text is None else str(SwatchName.parse(text))

    @field_validator("by_eye")
    @classmethod
    def _is_a_thing(cls, text: str | None) -> str | None:
        if text is None or not Paint.is_numbers(text):
            return text
        raise ValueError(
            f"{shown(text)} is numbers, and no thing that can be held beside a sheet: say in words "
            "what the thing is, or write 'build' or 'lab' for the numbers"
        )

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        given = [
            name
            for name in ("lab", "build", "by_eye", "from_book")
            if getattr(self, name) is not None
        ]
        if len(given) != 1:
            what = "none is given" if not given else f"{' and '.join(given)} are given"
            raise ValueError(
                f"an aim is exactly one of 'lab: [L, a, b]', 'build: … with on: device@stock', "
                f"'by_eye: words' and 'from_book: NAME'; {what}"
            )
        if (self.build is None) != (self.on is None):
            raise ValueError("'build' and 'on' go together: the build, and the pair it prints on")
        if self.picked_on is not None and self.by_eye is None:
            raise ValueError("'picked_on' says which pick is the thing, and goes with 'by_eye'")
        if self.edition is not None and self.from_book is None:
            raise ValueError("'edition' is one of the book's, and goes with 'from_book'")
        if self.on_glass and self.by_eye is None:
            raise ValueError("'on_glass' says where the thing is laid, and goes with 'by_eye'")
        return self

    @property
    def words(self) -> str:
        """The aim as a person says it."""
        if self.by_eye is not None:
            return f"to match {self.by_eye}, judged by eye"
        if self.from_book is not None:
            return f"as the book has {self.from_book!r}"
        if self.lab is not None:
            return "CIELAB {:g}, {:g}, {:g} (D50, 2°)".format(*self.lab)
        return f"as {self.build} prints on {self.on}"


class BrandColour(Frozen):
    """A named colour that the pieces share."""

    aim: Aim
    in_artwork: Annotated[
        tuple[Paint, ...],
        Field(
            description="how the artwork writes this colour: 'cmyk 85 20 60 30', 'spot Name', …",
            min_length=1,
        ),
    ]
    within: Annotated[
        Percent,
        Field(
            description="how far a colour in the artwork may lie from these and still be this "
            "colour, in percent of full scale; rounding only by default",
            ge=0,
            le=5,
        ),
    ] = 0.5
    black: Annotated[
        BlackWish | None,
        Field(
            description="how its black is printed on devices in CMYK: `keep` what the artwork has "
            "(small type in black alone stays one ink), `least` or `most` that the colour allows; "
            "the report says what that costs in match"
        ),
    ] = None
    tolerance: Annotated[
        Limits | None,
        Field(description="limits of this colour's own: a number for both, or a mapping"),
    ] = None
    prefer: Annotated[
        Prefer | None,
        Field(description="for this colour, what the order's `prefer` says for all"),
    ] = None
    note: str = ""

    @property
    def known_as(self) -> tuple[Paint, ...]:
        """All that artwork can write for it: what is listed, and the look that it aims at.

        The last finds it where a profile says what a colour looks like.
        """
        if self.aim.lab is None:
            return self.in_artwork
        lightness, *chroma = self.aim.lab
        values = (lightness, *(min(value, 127.0) for value in chroma))
        return tuple(dict.fromkeys((*self.in_artwork, Paint(kind=PaintKind.LAB, values=values))))
