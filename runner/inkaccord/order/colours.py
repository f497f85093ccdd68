"""Brand colours and their aims."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from inkaccord.artwork.paints import Paint
from inkaccord.colour.builds import Build
from inkaccord.colour.pairs import Pair
from inkaccord.models import Frozen

Lab = Annotated[
    tuple[
        Annotated[float, Field(ge=0, le=100)],
        Annotated[float, Field(ge=-128, le=128)],
        Annotated[float, Field(ge=-128, le=128)],
    ],
    Field(description="CIELAB L* a* b*, D50, 2° observer"),
]


class Aim(Frozen):
    """What a brand colour should look like. Give exactly one of `lab`, `build` and `by_eye`."""

    lab: Lab | None = None
    build: Annotated[
        Build | None, Field(description="a build that already prints right; needs `on`")
    ] = None
    on: Annotated[
        Pair | None, Field(description="the pair, `device@stock`, that `build` is on")
    ] = None
    by_eye: Annotated[
        str | None, Field(description="the thing that picks are matched to, in words", min_length=1)
    ] = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        given = [name for name in ("lab", "build", "by_eye") if getattr(self, name) is not None]
        if len(given) != 1:
            what = "none is given" if not given else f"{' and '.join(given)} are given"
            raise ValueError(
                f"an aim is exactly one of 'lab: [L, a, b]', 'build: … with on: device@stock' "
                f"and 'by_eye: words'; {what}"
            )
        if (self.build is None) != (self.on is None):
            raise ValueError("'build' and 'on' go together: the build, and the pair it prints on")
        return self

    @property
    def words(self) -> str:
        """The aim as a person says it."""
        if self.by_eye is not None:
            return f"to match {self.by_eye}, judged by eye"
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
        float,
        Field(
            description="how far a colour in the artwork may lie from these and still be this "
            "colour, in percent of full scale; rounding only by default",
            ge=0,
            le=5,
        ),
    ] = 0.5
    note: str = ""
