"""What an order says of its artwork's page boxes, where a page itself doesn't tell."""

from typing import Annotated, Any

from pydantic import Field, model_validator

from inkaccord.models import Frozen
from inkaccord.pdf.cut_place import CutPlace
from inkaccord.units import Length
from inkaccord.written import plain, shown

_CENTRED = {"centred", "centered", "centre", "center"}


class TrimPlace(Frozen):
    """Where the piece lies on the artwork's page, as one sees the page.

    `centred` says in short that it lies in the middle.
    """

    left: Annotated[
        Length | None,
        Field(description="from the page's left edge to the cut; left out: in the middle", ge=0),
    ] = None
    top: Annotated[
        Length | None,
        Field(description="from the page's upper edge to the cut; left out: in the middle", ge=0),
    ] = None

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, value: Any) -> Any:
        """Read ``centred``, in either spelling."""
        if not isinstance(value, str):
            return value
        if plain(value).lower() in _CENTRED:
            return {}
        raise ValueError(
            f"{shown(value)} is no place on a page: expected 'centred', or how far the cut lies "
            "from the page's edges, such as {left: 10mm, top: 12mm}"
        )


class ArtworkBoxes(Frozen):
    """Where a piece is cut out of the pages of its artwork. Its size is the piece's `trim`."""

    trim: TrimPlace

    @property
    def place(self) -> CutPlace:
        """The same in the terms of a page."""
        return CutPlace(self.trim.left, self.trim.top)
