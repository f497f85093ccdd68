"""What a vendor asks for its work: price tables, set-up and delivery, in one currency.

Amounts are exact decimals from the order's text to the last sum; none is ever a binary fraction.
"""

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, field_validator, model_validator

from inkaccord.models import Frozen
from inkaccord.order.names import Name
from inkaccord.written import number, plain, shown

ONE_CURRENCY = "a vendor is paid in one currency: name it once, under its 'prices'"


@cache
def minor_units(code: str) -> int | None:
    """Return how many decimals a currency's sums have; None for what is no currency to pay in.

    By ISO 4217, list one, as its maintenance agency publishes it: 2 for EUR, 0 for JPY, 3 for KWD.
    Metals, units of account and codes for tests have none.
    """
    from iso4217 import Currency  # noqa: PLC0415 - an order without prices has no use for it

    known = Currency.__members__.get(code)
    return None if known is None else known.exponent


def _currency(value: Any) -> Any:
    """Read ``EUR`` or ``eur``. Raises ValueError for a sign, and for what is no currency."""
    if not isinstance(value, str):
        return value
    code = plain(value).upper()
    if not code.isascii() or minor_units(code) is None:
        raise ValueError(
            f"{shown(value)} is not a currency: write its code of three letters (ISO 4217), "
            "such as EUR, USD or JPY"
        )
    return code


def _amount(value: Any) -> Any:
    """Read ``12.50`` or ``12,50``. Raises ValueError for more than a number."""
    if not isinstance(value, str):
        return value
    given = plain(value)
    if any(it.isalpha() or it in "$€£¥" for it in given):
        raise ValueError(
            f"{shown(value)} is more than an amount: write the number alone, such as 12.50; "
            + ONE_CURRENCY
        )
    number(given)  # says what is no number, and what can be read in two ways
    return Decimal(given.replace(",", "."))


Currency = Annotated[str, BeforeValidator(_currency)]
"""A currency's code of ISO 4217."""
Amount = Annotated[Decimal, BeforeValidator(_amount), Field(ge=0, max_digits=15, decimal_places=6)]
"""Money, exact; a price of one piece may be finer than a coin."""


_LINE = re.compile(r"(\S+)\s+up\s+to\s+(\S+)")


def line_in_words(said: str) -> dict[str, str] | None:
    """Return a line of a table that is written ``0.72 up to 100``; None for another text."""
    found = _LINE.fullmatch(said)
    return None if found is None else {"up_to": found[2], "each": found[1]}


class Price(Frozen):
    """One line of a price table."""

    up_to: Annotated[
        int | None,
        Field(
            description="pieces, or sheets where the order lays them; left out, on the last line: "
            "any number",
            ge=1,
        ),
    ] = None
    each: Annotated[Amount, Field(description="for each of them, when so many are printed")]

    @model_validator(mode="before")
    @classmethod
    def _for_any_number(cls, value: Any) -> Any:
        """Read a price alone, or a line in words."""
        if isinstance(value, str):
            return line_in_words(value) or {"each": value}
        return {"each": value} if isinstance(value, (Decimal, int)) else value


class PriceTable(Frozen):
    """What printing costs: lines by number, and the set-up.

    A list is the table; so is a number, or `0.72 up to 100; 0.46` in words.
    """

    table: Annotated[
        tuple[Price, ...], Field(description="the price of one, by how many are printed")
    ] = ()
    setup: Annotated[
        Amount | None,
        Field(
            description="once for each piece; once for each layout where the order lays sheets; "
            "0: it asks none"
        ),
    ] = None

    @model_validator(mode="before")
    @classmethod
    def _from_table_alone(cls, value: Any) -> Any:
        """Read a list of lines, or one price for any number."""
        if isinstance(value, (list, tuple, str, Decimal, int)):
            return {"table": value}
        if isinstance(value, dict) and "currency" in value and "currency" not in cls.model_fields:
            raise ValueError(ONE_CURRENCY)
        return value

    @field_validator("table", mode="before")
    @classmethod
    def _one_line(cls, value: Any) -> Any:
        if isinstance(value, str):
            return [it.strip() for it in value.split(";") if it.strip()] or [value]
        return [value] if isinstance(value, (Decimal, int)) else value

    @field_validator("table")
    @classmethod
    def _lines_rise(cls, table: tuple[Price, ...]) -> tuple[Price, ...]:
        for line, following in pairwise(table):
            if line.up_to is None:
                raise ValueError(
                    "a line without 'up_to' holds for any number: it can be the last one only"
                )
            if following.up_to is not None and following.up_to <= line.up_to:
                raise ValueError(
                    f"'up_to: {following.up_to}' stands after 'up_to: {line.up_to}': put the lines "
                    "in order, the smallest number first, each number once"
                )
        return table

    def line_for(self, number: int) -> tuple[Price, bool]:
        """Return the line for so many, and whether they lie past the table's last line.

        That line's price is then taken. Raises IndexError for a table without lines.
        """
        for line in self.table:
            if line.up_to is None or number <= line.up_to:
                return line, False
        return self.table[-1], True


class SamplePrices(PriceTable):
    """What printing sample sheets costs: by the page; the set-up once for each pair's pages."""

    delivery: Annotated[Amount | None, Field(description="of the sheets; 0: it asks none")] = None


class Prices(PriceTable):
    """All that a vendor asks, in one currency. A list is its table."""

    currency: Annotated[
        Currency | None,
        Field(description="code of ISO 4217, such as EUR; left out: the order's"),
    ] = None
    by_piece: Annotated[
        dict[Name, PriceTable],
        Field(
            default_factory=dict,
            description="tables of pieces that cost otherwise: piece → fields, or the lines alone; "
            "where the order lays sheets, of runs of that piece alone",
        ),
    ]
    by_stock: Annotated[
        dict[Name, PriceTable],
        Field(default_factory=dict, description="the same for what is printed on a stock"),
    ]
    delivery: Annotated[
        Amount | None, Field(description="of one parcel to the order's address; 0: it asks none")
    ] = None
    parcels: Annotated[int, Field(description="how many it sends", ge=1)] = 1
    overs: Annotated[
        Literal["charged", "free"],
        Field(description="whether the overs of a piece are paid like the others"),
    ] = "charged"
    samples: Annotated[
        SamplePrices | None,
        Field(description="sample sheets, by the page; left out: as other work, delivery too"),
    ] = None

    def tables_for(self, pieces: tuple[str, ...], stock: str) -> Iterator[PriceTable]:
        """Yield the tables that what is printed of some pieces on a stock can be priced by.

        The nearest first: that of the piece, where it is printed alone, the stock's, the vendor's.
        """
        if len(pieces) == 1 and pieces[0] in self.by_piece:
            yield self.by_piece[pieces[0]]
        if stock in self.by_stock:
            yield self.by_stock[stock]
        yield self


PricesField = Annotated[Prices | None, Field(description="what it asks for its work")]
"""A vendor's prices, in its profile or among the options of its kind."""
