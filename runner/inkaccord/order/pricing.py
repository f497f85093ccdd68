"""What a part of an order costs, from the price table that the order holds."""

from collections.abc import Sequence
from dataclasses import dataclass

from inkaccord.order.vendors import Price


@dataclass(frozen=True)
class Priced:
    """One line of a price: so many of something, at so much each."""

    what: str
    number: int
    each: float
    past_table: bool
    """Whether the number lies past the table's last line, whose price was taken."""

    @property
    def total(self) -> float:
        """Number times price."""
        return self.number * self.each


def price_of(table: Sequence[Price], what: str, number: int) -> Priced:
    """Return the price of ``number`` pieces or sheets by the first line that reaches so far."""
    lines = sorted(table, key=lambda line: line.up_to)
    line = next((it for it in lines if number <= it.up_to), lines[-1])
    return Priced(what, number, line.each, past_table=number > line.up_to)
