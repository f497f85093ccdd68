"""The pieces of an order as they will print: with the artwork's own builds, and translated."""

from dataclasses import dataclass, field

from inkaccord.artwork.objects.alternates import spot_alternates
from inkaccord.errors import InkaccordError
from inkaccord.order.model import Order
from inkaccord.record import RecordedTranslation, Run
from inkaccord.report.impressions import BrandInk, Picture, impression, translated, untouched
from inkaccord.report.known import Known


@dataclass(frozen=True)
class Shown:
    """A piece's pages as pictures; without any, ``why`` says what stands in the way."""

    pages: tuple[Picture, ...] = ()
    why: str = ""
    estimated: bool = False
    """Whether the pair was never read, so that its model is experience with others."""


@dataclass
class Gallery:
    """Makes the pictures of an order's pieces, each once.

    Attributes
    ----------
    longest_px
        The longest side of a picture.
    """

    order: Order
    run: Run
    known: Known
    longest_px: int
    _made: dict[tuple[str, bool], Shown] = field(default_factory=dict)

    def original(self, piece: str) -> Shown:
        """Return a piece as its pair would print the artwork's own builds."""
        return self._once(piece, after=False)

    def translated(self, piece: str) -> Shown:
        """Return a piece as its pair will print the translated builds."""
        return self._once(piece, after=True)

    def best(self, piece: str) -> Shown:
        """Return the translated piece where it is known, else the original one."""
        after = self.translated(piece)
        return after if after.pages else self.original(piece)

    def _once(self, piece: str, *, after: bool) -> Shown:
        key = (piece, after)
        if key not in self._made:
            try:
                self._made[key] = self._make(piece, after=after)
            except InkaccordError as problem:
                self._made[key] = Shown(why=str(problem))
        return self._made[key]

    def _make(self, piece: str, *, after: bool) -> Shown:
        artwork = next(it for it in self.run.artworks if it.piece == piece)
        facts = self.known.pair(self.order.pair_of(piece))
        data = self.known.artwork(piece)
        inks: list[BrandInk] = []
        missing: list[str] = []
        if after:
            known = translations_on(self.run, self.order, piece)
            missing = [colour for colour in artwork.brand_colours if colour not in known]
            for colour, it in known.items():
                tints = [(tint.tint, tint.build) for tint in it.tints]
                inks += [
                    translated(paint, it.build, tints, it.predicted_lab)
                    for paint in self.order.colours[colour].in_artwork
                ]
        else:
            spots = spot_alternates(data)
            asked = [
                untouched(paint, facts.drive, spots)
                for colour in self.order.colours.values()
                for paint in colour.in_artwork
            ]
            inks += [ink for ink in asked if ink is not None]
        if missing:
            return Shown(why=f"waits for {', '.join(missing)}")
        pages = impression(
            data,
            artwork,
            drive=facts.drive,
            model=facts.model,
            inks=inks,
            longest_px=self.longest_px,
        )
        return Shown(pages, estimated=not facts.is_read)


def translations_on(run: Run, order: Order, piece: str) -> dict[str, RecordedTranslation]:
    """Return the translations on a piece's pair, by colour."""
    pair = order.pair_of(piece)
    return {
        it.colour: it
        for it in run.translations
        if (it.device, it.stock, it.setting) == (pair.device, pair.stock, pair.setting)
        and it.colour in order.colours
    }
