"""The whole order."""

import datetime
from collections.abc import Container
from enum import StrEnum
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import Field, field_validator

from inkaccord.artwork.profiled import Profiled
from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.models import Frozen
from inkaccord.order.aperture import Aperture
from inkaccord.order.colours import BrandColour, Prefer
from inkaccord.order.contact import Contact
from inkaccord.order.finishes import Finish
from inkaccord.order.job import Job, Printing
from inkaccord.order.keeping import Samples
from inkaccord.order.names import Name
from inkaccord.order.pieces import Neutrals, Piece, word_as_written_now
from inkaccord.order.prices import Currency
from inkaccord.order.stocks import Stock
from inkaccord.order.vendors import Device, Quote, Vendor


class Release(StrEnum):
    """When files go to the vendors' folders."""

    WHEN_AGREED = "when-agreed"
    """Only when every shared colour agrees and no check has failed."""
    REGARDLESS = "regardless"
    """Also when colours do not agree; the report says so."""


class Photographs(StrEnum):
    """What becomes of photographs."""

    KEEP = "keep"
    MATCHED = "matched"
    """Every colour of theirs is matched to the pair."""


class Tolerances(Frozen):
    """Limits in ΔE00 (ISO/CIE 11664-6). Settings, not laws."""

    between_pieces: Annotated[
        float,
        Field(
            gt=0,
            description="between two pieces; about 2 is a close match side by side "
            "(common practice, no source)",
        ),
    ] = 2.0
    to_aim: Annotated[
        float,
        Field(
            gt=0,
            description="of a piece to the aim; compare 3.5 for solids in ISO 12647-2:2013",
        ),
    ] = 3.5
    alike_within: Annotated[
        float | None,
        Field(
            gt=0,
            description="with 'prefer: alike', how far apart pieces may be when some pair can't "
            "reach a colour; half of between_pieces when left out, which leaves room for doubt",
        ),
    ] = None
    sure: Annotated[
        float | None,
        Field(
            gt=0,
            description="colours less sure than this 95 % bound get swatches of their own, also "
            "where no verdict hangs on them; left out, swatches are printed only where they may "
            "change one",
        ),
    ] = None


class Order(Frozen):
    """What one job file describes."""

    order: Annotated[Name, Field(description="name of the order; names its files")]
    title: str = ""
    date: Annotated[
        datetime.date, Field(description="date of the order; every file is dated by it")
    ]
    due: datetime.date | None = None
    ordered_by: Annotated[
        Contact | None, Field(description="who orders; stands on the order sheets")
    ] = None
    deliver_to: Annotated[
        str, Field(description="the address that the goods go to; stands on the order sheets")
    ] = ""
    currency: Annotated[
        Currency | None,
        Field(
            description="code of ISO 4217 of the currency that vendors are paid in, unless their "
            "`prices` name another"
        ),
    ] = None
    suites: Annotated[int, Field(description="how many complete sets", ge=1)]
    shelf: Annotated[
        str | None, Field(description="this order's own shelf, from the order's folder")
    ] = None
    evidence: Annotated[
        str | None,
        Field(description="a shelf export beside the order, taken in before the run"),
    ] = None
    colours: Annotated[dict[Name, BrandColour], Field(min_length=1)]
    keep: Annotated[
        tuple[Paint, ...],
        Field(
            description="colours in the artwork that are left alone and need no mention; a spot "
            "without a tint means all its tints and gradients, mixed with process inks too"
        ),
    ] = ()
    finishes: Annotated[
        dict[Name, Finish],
        Field(
            default_factory=dict,
            description="plates of the artwork that are no colour: white, foil, varnish, die lines "
            "and such; they pass as they are, and are left out of all that is said of colour",
        ),
    ]
    stocks: Annotated[dict[Name, Stock], Field(min_length=1)]
    vendors: Annotated[dict[Name, Vendor], Field(min_length=1)]
    quotes: Annotated[
        dict[Name, Quote],
        Field(
            default_factory=dict,
            description="what other vendors would ask, by name, to be compared (`inkaccord cost`)",
        ),
    ]
    pieces: Annotated[dict[Name, Piece], Field(min_length=1)]
    assembly: Annotated[
        tuple[Name, ...],
        Field(
            description="pieces in the order in which a suite is laid together, the one at the "
            "back first; what is not named follows, larger pieces before smaller ones"
        ),
    ] = ()
    tolerances: Tolerances = Tolerances()
    prefer: Prefer = Prefer.EACH_CLOSEST
    release: Release = Release.WHEN_AGREED
    approval_first: Annotated[
        bool,
        Field(
            description="make the vendors' zips only once a client's approval covers the order as "
            "it stands (`inkaccord approve`)"
        ),
    ] = False
    proof: Annotated[
        bool,
        Field(description="print one swatch of each chosen build on every pair, as a last look"),
    ] = False
    accept_by_eye: Annotated[
        bool,
        Field(
            description="let pieces go whose colours were only judged by eye; without it they wait "
            "until their sheets are read"
        ),
    ] = False
    neutrals: Neutrals = Neutrals.BLACK
    profiled: Profiled = Profiled.AS_PROFILED
    photographs: Photographs = Photographs.KEEP
    photographs_from: Annotated[
        Pair | None,
        Field(description="the pair whose print of the artwork's CMYK photographs is right"),
    ] = None
    post: Annotated[
        Literal["usps", "royal-mail"] | None,
        Field(description="the post that addressed pieces go through"),
    ] = None
    samples: Annotated[
        Samples,
        Field(description="how many of each sample sheet are printed, and how they are kept then"),
    ] = Samples()
    aperture: Annotated[
        Aperture | None,
        Field(
            description="the opening of the instrument that reads the swatches of sheets; these "
            "are at least 3 mm larger each way; left out, they suit openings up to 8 mm"
        ),
    ] = None
    light: Annotated[
        str | None,
        Field(description="another light that the suite is seen under, as CIE names it: A, LED-B3"),
    ] = None

    _no_old_word = field_validator("profiled", "photographs", mode="before")(word_as_written_now)

    @cached_property
    def jobs(self) -> dict[str, Job]:
        """Every piece by name, in the order of the file, with all that is ordered of it.

        Raises KeyError for a device or stock that the order lacks; a loaded order lacks none.
        """
        return {
            name: Job(
                **vars(self.on(Pair(device=piece.device, stock=piece.stock))),
                name=name,
                piece=piece,
                quantity=self.suites * piece.per_suite + piece.extra,
            )
            for name, piece in self.pieces.items()
        }

    @cached_property
    def plates(self) -> dict[str, str]:
        """The plates that are no colour, each with the name of its finish."""
        return {plate: name for name, it in self.finishes.items() for plate in it.plates}

    @property
    def stays(self) -> tuple[Paint, ...]:
        """What artwork holds that is left alone and needs no mention: kept colours, finishes."""
        return (*self.keep, *(it for one in self.finishes.values() for it in one.in_artwork))

    def white_under(self, stock: str) -> str:
        """Return the plate of the white under all ink on a stock; "" where there is none."""
        known = self.stocks.get(stock)
        return "" if known is None or known.under is None else self.finishes[known.under].plates[0]

    @property
    def asks_book(self) -> bool:
        """Whether the studio's book is to say what one of its colours looks like."""
        return any(colour.aim.from_book for colour in self.colours.values())

    @property
    def printing(self) -> tuple[str, ...]:
        """The vendors that print a piece, in the order of the pieces."""
        return tuple(dict.fromkeys(job.vendor_name for job in self.jobs.values()))

    def jobs_of(self, vendor: str) -> tuple[Job, ...]:
        """Return what a vendor prints, in the order of the file."""
        return tuple(job for job in self.jobs.values() if job.vendor_name == vendor)

    def jobs_on(self, pair: Pair) -> tuple[Job, ...]:
        """Return what is printed on a pair, in the order of the file."""
        return tuple(job for job in self.jobs.values() if job.pair == pair)

    def on(self, reference: Pair) -> Printing:
        """Return a pair with all that the order says of who prints on it.

        Raises KeyError for a device or stock that the order lacks.
        """
        vendor = self._vendors_of_devices[reference.device]
        return Printing(
            pair=self.pair(reference),
            vendor_name=vendor,
            vendor=self.vendors[vendor],
            device=self.device(reference.device),
            stock=self.stocks[reference.stock],
        )

    def device(self, name: str) -> Device:
        """Return a device by name. Raises KeyError."""
        return self.vendors[self._vendors_of_devices[name]].devices[name]

    @cached_property
    def _vendors_of_devices(self) -> dict[str, str]:
        return {device: name for name, it in self.vendors.items() for device in it.devices}

    def pair(self, reference: Pair) -> Pair:
        """Return a pair as written in the order with its device's driver setting filled in.

        The order may lack its stock: readings of other stocks can be shown and taken in as well.
        """
        if reference.setting:
            return reference
        return reference.model_copy(update={"setting": self.device(reference.device).setting})

    def pairs(self) -> tuple[Pair, ...]:
        """Return every pair that a piece is printed on, each once, in order of the pieces."""
        return tuple(dict.fromkeys(job.pair for job in self.jobs.values()))

    def pairs_needed(self) -> tuple[Pair, ...]:
        """Return the pairs of the pieces, and those that a colour's aim is defined on."""
        aims = [self.pair(it.aim.on) for it in self.colours.values() if it.aim.on is not None]
        if self.photographs_from is not None:
            aims.append(self.pair(self.photographs_from))
        return tuple(dict.fromkeys([*self.pairs(), *aims]))

    def aim_on(self, colour: str, pair: Pair) -> Build | None:
        """Return the build that is a colour's aim, if it is one on a pair."""
        aim = self.colours[colour].aim
        return aim.build if aim.on is not None and self.pair(aim.on) == pair else None

    def only(self, pieces: Container[str]) -> Self:
        """Return the order of some of its pieces alone."""
        kept = {name: it for name, it in self.pieces.items() if name in pieces}
        return self.model_copy(update={"pieces": kept})

    def limit_between(self, colour: str, piece: str, other: str) -> float:
        """Return how far a colour may lie apart on two pieces, ΔE00.

        Of limits written for the colour and for either piece the widest counts; the order's own
        where none is written.
        """
        own = (self.colours[colour], self.pieces[piece], self.pieces[other])
        written = [it.tolerance.between_pieces for it in own if it.tolerance is not None]
        return max(filter(None, written), default=self.tolerances.between_pieces)

    def limit_to_aim(self, colour: str, piece: str) -> float:
        """Return how far a colour may lie from its aim on a piece, found likewise."""
        own = (self.colours[colour], self.pieces[piece])
        written = [it.tolerance.to_aim for it in own if it.tolerance is not None]
        return max(filter(None, written), default=self.tolerances.to_aim)

    def prefers(self, colour: str) -> Prefer:
        """Return what is done with a colour that some pair can't reach."""
        return self.colours[colour].prefer or self.prefer

    def neutrals_of(self, piece: str) -> Neutrals:
        """Return what becomes of a piece's black, greys and white in RGB."""
        return self.pieces[piece].neutrals or self.neutrals

    def profiled_of(self, piece: str) -> Profiled:
        """Return what becomes of a piece's colours with a profile."""
        return self.pieces[piece].profiled or self.profiled

    def accepts(self, colour: str, piece: str) -> bool:
        """Tell whether a person has accepted a colour on a piece, whatever it comes to."""
        return colour in self.pieces[piece].accept
