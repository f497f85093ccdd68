"""Pieces: what is printed, on which pair, how many."""

from enum import StrEnum
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationInfo, field_validator, model_validator

from inkaccord.artwork.profiled import Profiled
from inkaccord.layout.model import BackUp
from inkaccord.models import Frozen
from inkaccord.order.answers import Accepted, Limits
from inkaccord.order.going import Going
from inkaccord.order.merging import Merge
from inkaccord.order.page_boxes import ArtworkBoxes
from inkaccord.order.panels import TUCK_PT, FoldStyle, fold_places
from inkaccord.sizes import Size, SizeField
from inkaccord.units import Length, parse_length
from inkaccord.written import plain, shown


class FoldLine(StrEnum):
    """Which way a fold runs on the flat piece."""

    VERTICAL = "vertical"
    HORIZONTAL = "horizontal"


class Folding(Frozen):
    """How a flat piece is folded into panels."""

    line: FoldLine = FoldLine.VERTICAL
    at: Annotated[
        tuple[Length, ...],
        Field(description="folds from the left or the bottom; empty: in the middle"),
    ] = ()
    style: Annotated[
        FoldStyle | None,
        Field(description="a usual way to fold, in place of `at`: its folds are worked out"),
    ] = None
    panels: Annotated[int, Field(description="of an accordion fold", ge=2, le=12)] = 3
    tuck: Annotated[
        Length,
        Field(description="how much narrower a panel is that is folded in; a gate's gap", ge=0),
    ] = TUCK_PT
    score: Annotated[bool, Field(description="scored before folding")] = True

    def places(self, trim: Size) -> tuple[float, ...]:
        """Return where the folds lie on a flat piece, in points from its left or lower edge.

        Raises ValueError when the style leaves a panel no width.
        """
        span = trim.width_pt if self.line is FoldLine.VERTICAL else trim.height_pt
        if self.style is None:
            return self.at or (span / 2,)
        return fold_places(self.style, span, count=self.panels, tuck_pt=self.tuck)

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.style is not None and self.at:
            raise ValueError("give 'style' or 'at', not both: a style says where its folds lie")
        return self

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, value: Any) -> Any:
        """Read ``vertical``, ``4in`` or ``yes``, for a fold in the middle."""
        if not isinstance(value, str):
            return value
        word = plain(value).lower()
        if word in set(FoldLine):
            return {"line": word}
        if word in set(FoldStyle):
            return {"style": word}
        if word in {"yes", "true"}:
            return {}
        try:
            return {"at": [parse_length(value)]}
        except ValueError:
            raise ValueError(
                f"{shown(value)} is not a fold: expected 'vertical', 'horizontal' or a style such "
                "as 'gate', or {line: vertical, at: 4in}"
            ) from None


class BleedRepair(StrEnum):
    """What is done for artwork with too little bleed."""

    REPORT = "report"
    """Nothing; it is a finding."""
    MIRROR = "mirror"
    """The rim of the page is mirrored outwards."""
    SCALE = "scale"
    """The page is enlarged until it reaches the bleed."""


_ONCE_WRITTEN = {
    "profiled": {"keep": "as-profiled", "by-numbers": "plain"},
    "photographs": {"translate": "matched"},
}


def word_as_written_now(value: object, field: ValidationInfo) -> object:
    """Return a word of the order. Raises ValueError for one that is no longer used."""
    now = _ONCE_WRITTEN[str(field.field_name)]
    if isinstance(value, str) and value in now:
        raise ValueError(f"'{value}' is written '{now[value]}' now")
    return value


class Neutrals(StrEnum):
    """What becomes of black, greys and white in RGB, or with a profile, on devices in CMYK.

    Devices in RGB get them as they are, in plain RGB where they had a profile.
    """

    BLACK = "black"
    """Black ink alone, white no ink: a grey gets as much black as it is dark."""
    MATCHED = "matched"
    """Black and white likewise; a grey gets the build that is neutral beside the pair's paper, and
    as light as on a screen, from its readings. Small type is then printed in several inks."""
    KEEP = "keep"
    """They stay RGB, and the device mixes them as it likes, black type of all inks maybe."""


class Records(StrEnum):
    """Where the next record lies on the sheets, when every copy has a page of its own."""

    CUT_AND_STACK = "cut-and-stack"
    """Under the last one: the cut piles, put on each other, are in order."""
    SHEET_BY_SHEET = "sheet-by-sheet"
    """Beside the last one: every sheet bears the next few."""


class Piece(Frozen):
    """One printed item."""

    artwork: Annotated[str, Field(description="PDF, from the order's folder", min_length=1)]
    trim: SizeField
    device: str
    stock: str
    per_suite: Annotated[int, Field(ge=0)] = 1
    extra: Annotated[int, Field(description="more than the suites need", ge=0)] = 0
    sides: Annotated[
        Literal[1, 2] | None, Field(description="taken from the artwork's pages when left out")
    ] = None
    back_up: Annotated[
        BackUp, Field(description="how the back stands: turned over like a book, or a calendar")
    ] = BackUp.HEAD_TO_HEAD
    records: Annotated[
        Records | None,
        Field(
            description="every copy has a page of its own in the artwork (with `sides: 2` two, the "
            "front first): numbered tickets, addressed envelopes; with `merge` the pages are made, "
            "and it is `cut-and-stack` where nothing else is said"
        ),
    ] = None
    merge: Annotated[
        Merge | None,
        Field(description="records of a table, laid over the artwork, a page for each copy"),
    ] = None
    goes: Annotated[
        Going | None,
        Field(
            description="where it goes in its suite: `within`, `round` the others, `beside` them, "
            "or `with NAME` of another piece; left out: worked out from the sizes"
        ),
    ] = None
    fold: Folding | None = None
    grain: Annotated[
        FoldLine | None,
        Field(
            description="which way the stock's grain must run in the piece, so that it stands "
            "or bends as it should; left out: along its folds"
        ),
    ] = None
    addressed: Annotated[bool, Field(description="carries an address for the post")] = False
    bleed: Annotated[
        Length | None, Field(description="bleed of this piece, where it is not the vendor's", ge=0)
    ] = None
    bleed_repair: BleedRepair = BleedRepair.REPORT
    boxes: Annotated[
        ArtworkBoxes | None,
        Field(
            description="where the piece lies on its artwork's pages, where these don't tell: "
            "`{trim: centred}`"
        ),
    ] = None
    neutrals: Annotated[
        Neutrals | None, Field(description="for this piece, what the order's `neutrals` says")
    ] = None
    profiled: Annotated[
        Profiled | None,
        Field(description="for this piece, what the order's `profiled` says for all"),
    ] = None
    finishing: str = ""
    waive: Annotated[
        dict[str, str],
        Field(
            default_factory=dict,
            description="findings that are accepted: code → reason, which the order sheet gives",
        ),
    ]
    accept: Annotated[
        dict[str, Accepted],
        Field(
            default_factory=dict,
            description="colours that are accepted on this piece as it prints them: colour → "
            "reason, or `{why: …, up_to: ΔE00}`; the piece is released and holds no other",
        ),
    ]
    tolerance: Annotated[
        Limits | None,
        Field(description="limits of this piece's own: a number for both, or a mapping"),
    ] = None

    _no_old_word = field_validator("profiled", mode="before")(word_as_written_now)

    @model_validator(mode="before")
    @classmethod
    def _merged_are_records(cls, value: Any) -> Any:
        if isinstance(value, dict) and value.get("merge") and value.get("records") is None:
            return value | {"records": Records.CUT_AND_STACK}
        return value

    def sides_of(self, pages: int) -> int:
        """Return the sides of a copy, from the pages of the artwork."""
        return pages if self.records is None else self.sides or 1
