"""What is printed of brand colours: solids and tints, each with its build on a pair."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from inkaccord.artwork.swaps import TintTable
from inkaccord.colour.builds import Build
from inkaccord.knowledge.values import Translation
from inkaccord.run.collected import FoundAs
from inkaccord.run.record import RecordedPiece, Run

SOLID = 100.0


class InkPlace(NamedTuple):
    """A brand colour on a pair, solid or as a tint in percent."""

    colour: str
    pair: str
    tint: float = SOLID

    @property
    def words(self) -> str:
        """``kelp on laser@kraft``, or ``kelp, 40 % tint, on laser@kraft``."""
        tint = "" if self.tint == SOLID else f", {self.tint:g} % tint,"
        return f"{self.colour}{tint} on {self.pair}"


def inks_printed(run: Run, pieces: Iterable[RecordedPiece] | None = None) -> tuple[InkPlace, ...]:
    """Return which brand colours the artworks of pieces hold, solid and as which tints; of all."""
    pairs = {it.name: str(it.pair) for it in (run.pieces if pieces is None else pieces)}
    places = (
        InkPlace(found.colour, pairs[artwork.piece], round(found.tint, 1))
        for artwork in run.artworks
        if artwork.piece in pairs
        for found in artwork.colours
        if found.found_as is FoundAs.BRAND and found.colour is not None
    )
    return tuple(sorted(dict.fromkeys(places), key=lambda it: (it.colour, it.pair, -it.tint)))


def builds_at(
    places: Iterable[InkPlace], translations: Iterable[Translation]
) -> Mapping[InkPlace, str]:
    """Return the build of each, of those that are known; steps of tints are read linear between."""
    known = {(it.colour, str(it.pair)): it for it in translations}
    return {
        place: str(_at(known[key], place.tint))
        for place in places
        if (key := (place.colour, place.pair)) in known
    }


def _at(translation: Translation, tint: float) -> Build:
    steps = tuple((it.tint, it.build) for it in translation.tints)
    at = TintTable(steps=(*steps, (SOLID, translation.build))).at(tint)
    return Build(drive=at.drive, values=tuple(round(it, 1) for it in at.values))
