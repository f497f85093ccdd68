"""The studio's own colours by name: what the book says of one."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from inkaccord.models import Frozen
from inkaccord.order.colours import Aim


def book_key(name: str) -> str:
    """Return a colour's name as it is compared: capitals and blanks make no difference."""
    return " ".join(name.split()).casefold()


class BookColour(Frozen):
    """A colour of the studio's book."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    aim: Aim
    client: Annotated[str, Field(max_length=200)] = ""
    note: Annotated[str, Field(max_length=2000)] = ""
    spectrum: tuple[float, ...] | None = None
    """Reflectance factors 0 to 1 of the thing, where it was read as a spectrum."""
    wavelengths_nm: tuple[float, ...] | None = None
    struck: bool = False
    """Whether it is in the book no more; what it said stays readable."""

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.aim.from_book is not None:
            raise ValueError("a colour of the book says itself what it looks like")
        if self.name != " ".join(self.name.split()) or not self.name.isprintable():
            raise ValueError("a colour's name is plain words on one line")
        if (self.spectrum is None) != (self.wavelengths_nm is None) or len(
            self.spectrum or ()
        ) != len(self.wavelengths_nm or ()):
            raise ValueError("a spectrum has one value for each wavelength")
        return self

    @property
    def key(self) -> str:
        """Its name as it is compared."""
        return book_key(self.name)


class FromBook(Frozen):
    """What the book said of an order's colour when the order was first run."""

    colour: str
    """As the order calls it."""
    name: str
    """As the book does."""
    edition: int
    newest: int
    """The newest edition at the time of the run: another where the book has changed since."""
    aim: str
    """In words."""
    client: str = ""
    note: str = ""
