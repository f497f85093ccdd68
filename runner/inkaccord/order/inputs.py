"""What a run of an order depends on."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Self

from inkaccord.colour.pairs import Pair
from inkaccord.order.loading import LoadedOrder


@dataclass(frozen=True)
class OrderInputs:
    """The files that an order names, whether or not they are there, and what it asks a shelf.

    Attributes
    ----------
    order
        The order file itself.
    artworks
        By piece.
    tables
        Of records, by piece; only of pieces that have one.
    profiles
        Output profiles, by vendor; only of vendors who want one.
    evidence
        The folder of readings and picks that travels with the order.
    pairs
        Whose sheets, readings and picks are asked for.
    """

    order: Path
    artworks: Mapping[str, Path]
    tables: Mapping[str, Path]
    profiles: Mapping[str, Path]
    evidence: Path | None
    pairs: tuple[Pair, ...]

    @classmethod
    def of(cls, loaded: LoadedOrder) -> Self:
        """Return what a run of an order depends on."""
        order, folder = loaded.order, loaded.folder
        return cls(
            order=loaded.path,
            artworks={name: folder / piece.artwork for name, piece in order.pieces.items()},
            tables={
                name: folder / piece.merge.data
                for name, piece in order.pieces.items()
                if piece.merge is not None
            },
            profiles={
                name: folder / vendor.pdf.output_profile
                for name, vendor in order.vendors.items()
                if vendor.pdf.output_profile
            },
            evidence=folder / order.evidence if order.evidence else None,
            pairs=order.pairs_needed(),
        )

    def contents(self) -> tuple[Path, ...]:
        """Return every file once whose bytes a run rests on, besides the order file."""
        within = () if self.evidence is None else self._evidence_files(self.evidence)
        found = (*self.named(), *within)
        return tuple(dict.fromkeys(found))

    def named(self) -> tuple[Path, ...]:
        """Return every file that the order names, evidence left out."""
        return (*self.artworks.values(), *self.tables.values(), *self.profiles.values())

    @staticmethod
    def _evidence_files(folder: Path) -> tuple[Path, ...]:
        # What an exported shelf is made of: inkaccord.shelf.exchange.
        return (
            folder / "shelf.json",
            folder / "book.json",
            *sorted((*folder.glob("*/*.json"), *folder.glob("*/*.txt"))),
        )

    def files(self) -> tuple[Path, ...]:
        """Return every file once, the folder of evidence and all that lies in it among them."""
        within = () if self.evidence is None else (self.evidence, *sorted(self.evidence.rglob("*")))
        found = (self.order, *self.named(), *within)
        return tuple(dict.fromkeys(found))
