"""What comparing gives: whether the pieces agree."""

from pydantic import Field

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen

EYE_DECIDES_WITHIN = 6.0
"""Bound, ΔE00, up to which a judgement by eye is taken for one: two eyes that err by 1.5 to 3 each.
Beyond, the swatches to choose from lay too far apart."""


class Distance(Frozen):
    """How far apart a colour lies on two pieces, or on one piece and its aim."""

    colour: str
    piece: str
    other: str | None
    """The second piece; None for the aim."""
    delta_e_00: float
    paper_relative: float | None = None
    """The same with each colour seen against its own paper; None where a paper is not known, and
    to an aim that is no print on a paper."""
    paper_uncertainty: float | None = None
    """95 % bound, ΔE00, on ``paper_relative``: that of the colours and of the papers."""
    uncertainty: float
    tolerance: float
    verdict: Verdict
    by_eye: bool = False
    """Whether it rests on judgement by eye."""
    aim_uncertainty: float = 0.0
    """To an aim picked by eye: how well the eye judged, 95 %, ΔE00. It is the same for all pieces
    and no part of ``uncertainty``: the verdict is about the colour as it was picked."""
    accepted: str | None = None
    """The piece on which the order accepts the colour as it is; the distance holds no piece."""
    other_light: float | None = None
    """The distance under the order's other light, where spectra exist."""
    metamerism: float | None = None
    """Metamerism index for the change to that light (ISO 18314-4, multiplicative correction):
    what of ``other_light`` the change of light alone does."""

    @property
    def between(self) -> tuple[str, ...]:
        """The piece, or both pieces."""
        return (self.piece,) if self.other is None else (self.piece, self.other)

    @property
    def eye_decides(self) -> bool:
        """Whether it rests on judgement by eye, and the eye could see enough to judge."""
        return self.by_eye and self.uncertainty <= EYE_DECIDES_WITHIN


class Acceptance(Frozen):
    """A colour that the order accepts on a piece, and what is known of it."""

    piece: str
    colour: str
    why: str
    known: float
    """ΔE00 that it was off when it was accepted, as far as anyone could say: to the aim, or from
    another piece."""
    up_to: float
    """ΔE00 up to which it is accepted."""
    now: float
    """ΔE00 that it is off now."""

    @property
    def holds(self) -> bool:
        """Whether it still covers the colour."""
        return self.now <= self.up_to


class Agreement(Frozen):
    """Whether the pieces agree, before money is spent."""

    distances: tuple[Distance, ...] = ()
    accepted: tuple[Acceptance, ...] = ()
    """Also those that no longer hold: the colour has become worse than what was accepted."""
    held: dict[str, str] = Field(default_factory=dict)
    """Pieces that may not be released, and why."""
    findings: tuple[Diagnostic, ...] = ()
