"""The pictures of an order's pieces, for every list and report of a run."""

from dataclasses import dataclass
from typing import Protocol

REPORT_PX, LIST_PX, SMALL_PX = SIZES = 640, 480, 240
"""The longest sides of pictures that our own reports and lists ask for."""


@dataclass(frozen=True)
class Picture:
    """A picture of one page, cut to its trim."""

    png: bytes
    width_px: int
    height_px: int


@dataclass(frozen=True)
class Shown:
    """A piece's pages as pictures; without any, ``why`` says what stands in the way."""

    pages: tuple[Picture, ...] = ()
    why: str = ""
    estimated: bool = False
    """Whether the pair was never read, so that its model is experience with others."""
    legend: str = ""
    """What the lines in them mean: finishes, which no screen colour shows."""


class Gallery(Protocol):
    """Makes the pictures of an order's pieces, each once at each size that is asked for."""

    def original(self, piece: str, longest_px: int) -> Shown:
        """Return a piece as its pair would print the artwork's own builds."""
        ...

    def translated(self, piece: str, longest_px: int) -> Shown:
        """Return a piece as its pair will print the translated builds."""
        ...

    def best(self, piece: str, longest_px: int) -> Shown:
        """Return the translated piece where it is known, else the original one."""
        ...
