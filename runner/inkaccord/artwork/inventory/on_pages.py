"""One colour on each of its pages: kept in columns, since a file may have thousands of pages."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from math import isnan, nan
from typing import Any, Self, overload

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

from inkaccord.artwork.roles import Role

BoxMm = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class ColourOnPage:
    """One colour on one page. Areas are None where the page could not be drawn."""

    page: int
    area_mm2: float | None
    """Within the CropBox, what is covered left out."""
    area_in_trim_mm2: float | None
    box_mm: BoxMm
    """Around all its marks."""
    roles: tuple[tuple[Role, float | None], ...]
    """How it is used, with the area of each use."""
    marks: int


_ROW = struct.Struct("<IHQ6d")
"""Page, which of the uses, marks, the two areas, the box."""


@dataclass(frozen=True, slots=True)
class OnPages(Sequence[ColourOnPage]):
    """One colour on its pages, as a sequence of :class:`ColourOnPage`.

    Attributes
    ----------
    uses
        The roles that it has on a page, one after the other.
    rows
        What is known of each page; no number stands for an area that is not.
    shares
        The area of each role of each page, through all pages.
    """

    uses: tuple[tuple[Role, ...], ...] = ()
    rows: bytes = b""
    shares: bytes = b""

    @classmethod
    def of(cls, pages: Iterable[ColourOnPage]) -> Self:
        """Return what is said of each page."""
        uses: dict[tuple[Role, ...], int] = {}
        rows, shares = bytearray(), bytearray()
        for one in pages:
            use = uses.setdefault(tuple(role for role, _ in one.roles), len(uses))
            areas = (_number(one.area_mm2), _number(one.area_in_trim_mm2))
            rows += _ROW.pack(one.page, use, one.marks, *areas, *one.box_mm)
            for _, area in one.roles:
                shares += struct.pack("<d", _number(area))
        return cls(tuple(uses), bytes(rows), bytes(shares))

    def __len__(self) -> int:
        """Return on how many pages it is."""
        return len(self.rows) // _ROW.size

    def __iter__(self) -> Iterator[ColourOnPage]:
        """Iterate over the pages."""
        shares = (_area(share) for (share,) in struct.iter_unpack("<d", self.shares))
        for page, use, marks, area, in_trim, *box in _ROW.iter_unpack(self.rows):
            roles = self.uses[use]
            left, bottom, right, top = box
            yield ColourOnPage(
                page=page,
                area_mm2=_area(area),
                area_in_trim_mm2=_area(in_trim),
                box_mm=(left, bottom, right, top),
                roles=tuple(zip(roles, islice(shares, len(roles)), strict=True)),
                marks=marks,
            )

    @overload
    def __getitem__(self, at: int) -> ColourOnPage: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[ColourOnPage]: ...
    def __getitem__(self, at: int | slice) -> ColourOnPage | Sequence[ColourOnPage]:
        """Return what is said of one of the pages, or of some."""
        return tuple(self)[at]

    @property
    def numbers(self) -> list[int]:
        """The numbers of the pages."""
        return [page for page, *_ in _ROW.iter_unpack(self.rows)]

    @property
    def areas_mm2(self) -> list[float | None]:
        """The area on each of the pages."""
        return [_area(area) for _, _, _, area, *_ in _ROW.iter_unpack(self.rows)]

    @property
    def marks(self) -> int:
        """How many things are painted with it on all of them."""
        return sum(marks for _, _, marks, *_ in _ROW.iter_unpack(self.rows))

    @classmethod
    def __get_pydantic_core_schema__(cls, _: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Take what it is made of too, and be dumped as that."""
        one_by_one = core_schema.no_info_after_validator_function(
            cls.of, core_schema.tuple_variable_schema(handler(ColourOnPage))
        )
        return core_schema.json_or_python_schema(
            one_by_one,
            core_schema.union_schema([core_schema.is_instance_schema(cls), one_by_one]),
            serialization=core_schema.plain_serializer_function_ser_schema(tuple),
        )


def _number(area: float | None) -> float:
    return nan if area is None else area


def _area(number: float) -> float | None:
    return None if isnan(number) else number
