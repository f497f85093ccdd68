"""What the shelf gives back: the values that were put in, with when and by whom."""

import datetime
from enum import StrEnum
from typing import Annotated

from pydantic import AfterValidator, AwareDatetime

from inkaccord.colour.pairs import Pair
from inkaccord.models import Frozen
from inkaccord.order.book import BookColour
from inkaccord.sheets.model import Pick, SampleSheet, SheetReadings

Moment = Annotated[AwareDatetime, AfterValidator(lambda at: at.astimezone(datetime.UTC))]
"""When something was done: UTC, wherever it was done."""


class MoveKind(StrEnum):
    """What became of a sheet on paper."""

    SENT = "sent"
    """It went off to be printed."""
    BACK = "back"
    """It came back, printed."""
    LAID = "laid"
    """It was laid somewhere."""
    LENT = "lent"
    """Somebody borrowed a copy."""
    RETURNED = "returned"
    """A borrowed copy is back in its place."""


class Move(Frozen):
    """Where a sheet went, and when."""

    kind: MoveKind
    at: Moment
    place: str = ""
    """To whom, or where; empty where nobody said."""
    by: str = ""
    copies: int | None = None
    """Of how many copies it is so; None where nobody said."""
    in_light: bool | None = None
    """Whether they lie in the light; None where nobody said."""


class KeptSheet(Frozen):
    """A sheet on the shelf."""

    sheet: SampleSheet
    added_at: Moment
    added_by: str = ""
    retired_at: Moment | None = None
    """When it was taken out of use; its readings and picks count no more."""
    retired_by: str | None = None
    retired_why: str | None = None
    printed_at: Moment | None = None
    """When a person said that it is printed."""
    withdrawn_at: Moment | None = None
    """When its order no longer asked for it. Readings and picks of it count all the same."""
    withdrawn_why: str | None = None
    moves: tuple[Move, ...] = ()
    """Where it went on paper, the earliest first."""


class KeptReadings(Frozen):
    """One reading of one sheet, beside the sheet itself."""

    digest: str
    """Names the record: the SHA-256 of what was read."""
    sheet: SampleSheet
    readings: SheetReadings
    source: str = ""
    """Name of the file that they came from."""
    source_sha256: str = ""
    recorded_at: Moment
    recorded_by: str = ""
    retired_at: Moment | None = None
    """When this one reading was taken out of use."""
    retired_by: str | None = None
    retired_why: str | None = None

    @property
    def day(self) -> datetime.date:
        """When it was read, as far as that is known; else when it was recorded."""
        return self.readings.read_on or self.recorded_at.date()


class KeptPick(Frozen):
    """A pick, beside the sheet that it was made on."""

    digest: str
    sheet: SampleSheet
    pick: Pick
    recorded_at: Moment
    recorded_by: str = ""

    @property
    def day(self) -> datetime.date:
        """When it was looked at, or else recorded."""
        return self.pick.picked_on or self.recorded_at.date()


class PairEvidence(Frozen):
    """All that the sheets of a pair that are in use tell."""

    sheets: tuple[KeptSheet, ...] = ()
    """The oldest first; so are the others."""
    readings: tuple[KeptReadings, ...] = ()
    picks: tuple[KeptPick, ...] = ()


class Served(Frozen):
    """A colour of an order that a pair's evidence has translated."""

    pair: Pair
    order: str
    colour: str
    served_at: Moment


class KeptColour(Frozen):
    """What the studio's book said of a colour, in one edition."""

    colour: BookColour
    edition: int
    added_at: Moment
    added_by: str = ""


class BookUse(Frozen):
    """With which edition of a book's colour an order was first run."""

    order: str
    colour: str
    """As the order calls it."""
    key: str
    """The book's colour, as names are compared."""
    edition: int
