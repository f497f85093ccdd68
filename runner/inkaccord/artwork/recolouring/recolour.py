"""Recolour a PDF: every colour that a swap names, everywhere, and nothing else."""

from __future__ import annotations

import contextlib
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pikepdf import Pdf
from pydantic import Field

from inkaccord.artwork.made_with import program_kind
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.where import concerned, first_place
from inkaccord.artwork.photographs.few_colours import flat_pictures
from inkaccord.artwork.photographs.one_colour import flatten_pictures
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.programs import ProgramKind
from inkaccord.artwork.recolouring.default_spaces import drop_default_spaces
from inkaccord.artwork.recolouring.oddities import diagnostics
from inkaccord.artwork.recolouring.recolourer import Recolourer
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.artwork.swaps import (
    OverprintMode,
    SpotMode,
    Swap,
    TintMode,
    parse_swap,
)
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.errors import FileError
from inkaccord.files import as_given
from inkaccord.models import Frozen
from inkaccord.pdf.opening import open_artwork, opening_findings, refusing_damage
from inkaccord.pdf.writing import save_as_packed
from inkaccord.words import counted, joined

__all__ = [
    "OverprintMode",
    "RecolourOptions",
    "RecolouredFile",
    "SpotMode",
    "Swap",
    "SwapCount",
    "TintMode",
    "parse_swap",
    "recolour",
    "swap_table",
]


class RecolourOptions(Frozen):
    """How to recolour, as the vendor's rules say."""

    spots: SpotMode = SpotMode.KEEP
    tints: TintMode = TintMode.FOLLOW
    profiled: Profiled = Profiled.AS_PROFILED
    overprint: OverprintMode = OverprintMode.REPORT
    near: float = Field(
        2.5,
        ge=0,
        le=20,
        description="A colour this close to a swapped one, in percent or 255ths, is reported.",
    )
    beside: tuple[Swap, ...] = ()
    """What colours that stay become where they share a gradient, or a table, with a swapped one
    that leaves their kind of colour; nowhere else."""


class SwapCount(Frozen):
    """How often one swap was made."""

    swap: Swap
    solids: int
    """Places that held the colour itself."""
    tints: int
    """Places that held a tint of it."""


@dataclass(frozen=True, slots=True)
class RecolouredFile:
    """A recoloured file."""

    data: bytes
    findings: tuple[Diagnostic, ...]
    counts: tuple[SwapCount, ...]
    photographs: int
    """Images that hold pictures, which stay as they are."""
    program: ProgramKind = ProgramKind.UNKNOWN
    """What kind of program made the file."""
    without_build: tuple[Paint, ...] = ()
    """Colours without a swap that share a gradient or table with one that leaves their kind."""

    @property
    def errors(self) -> tuple[Diagnostic, ...]:
        """The findings for which the file must not be delivered."""
        return tuple(one for one in self.findings if one.severity is Severity.ERROR)


def swap_table(swaps: Sequence[Swap], options: RecolourOptions) -> SwapTable:
    """Return the swaps as a table. Raises OrderError for swaps that contradict each other."""
    return SwapTable(
        swaps,
        spots=options.spots,
        tints=options.tints,
        profiled=options.profiled,
        near=options.near,
        beside=options.beside,
    )


def recolour(
    source: Path | str | bytes, swaps: Sequence[Swap], *, options: RecolourOptions | None = None
) -> RecolouredFile:
    """Return a copy of a PDF in which the swaps are made, all at once.

    Parameters
    ----------
    source
        The artwork, a path or its bytes.
    swaps
        What becomes of which colour. All of them ask about the original colour, so that their
        order plays no part.
    options
        The vendor's rules.

    Raises
    ------
    FileError
        The file can't be read, or passes a limit.
    OrderError
        The swaps contradict each other.
    """
    source = as_given(source)
    options = options or RecolourOptions()
    table = swap_table(swaps, options)
    with (
        open_artwork(source, changing=True) as pdf,
        refusing_damage(str(source) if isinstance(source, Path) else None),
    ):
        made = _rewritten(pdf, table, options)
    del pdf  # with all objects, before anything else is made of the copy
    findings = _with_places(made.findings, source, table)
    return replace(made, findings=tuple(findings))


def _rewritten(pdf: Pdf, table: SwapTable, options: RecolourOptions) -> RecolouredFile:
    """Return an open file with the swaps made; its findings do not all say yet where."""
    dropped = options.profiled is Profiled.PLAIN and drop_default_spaces(pdf)
    flatten_pictures(pdf, [swap.old for swap in table.swaps])
    drawn = _said_of_flat_pictures(pdf, table)
    mute = options.overprint is OverprintMode.OFF
    rewriter = Recolourer(pdf, table, mute_overprint=mute)
    for said in drawn:
        rewriter.finding("brand-in-picture", said)
    rewriter.run()
    for said in dict.fromkeys(rewriter.spaces.unknown):
        rewriter.finding("bad-colour-space", said)
    if dropped:
        rewriter.finding(
            "default-space-gone",
            "the artwork sends plain colour through a profile of its own (a default colour "
            "space), and that was taken off: all of it prints by its numbers now",
        )
    findings = (*opening_findings(pdf), *diagnostics(rewriter.odd))
    results = rewriter.work.results
    return RecolouredFile(
        save_as_packed(pdf),
        findings,
        _counts(table, results.swapped),
        len(results.photographs) + len(results.inline_photographs),
        program_kind(pdf),
        tuple(sorted(results.without_build, key=str)),
    )


_ROLES: Mapping[str, Collection[Role]] = {
    "mixed-kinds": {Role.GRADIENT, Role.IMAGE},
    "spot-image": {Role.IMAGE},
}
"""What an error speaks of, where not of all that a swap concerns."""
_OF_OTHERS = frozenset(
    {"double-entry", "lost-object", "rewritten-colour", "brand-in-picture", "misspelt-colour"}
)
"""Errors about colours that no swap concerns, though one should."""


def _with_places(
    findings: Sequence[Diagnostic], source: Path | bytes, table: SwapTable
) -> Iterator[Diagnostic]:
    """Yield findings, errors with the place on the page of what they speak of."""
    marks: list[Mark] = []
    if any(one.severity is Severity.ERROR for one in findings):
        with contextlib.suppress(FileError), open_artwork(source) as pdf:
            marks = concerned(pdf, table)
    for one in findings:
        of_a_swap = one.severity is Severity.ERROR and one.code not in _OF_OTHERS
        if of_a_swap and one.place.box_mm is None:
            place, _ = first_place(marks, _ROLES.get(one.code, ()), one.place.page)
            yield one.model_copy(update={"place": place})
        else:
            yield one


def _said_of_flat_pictures(pdf: Pdf, table: SwapTable) -> list[str]:
    """Return what is said of pictures that are drawn in colours that change, one for one cause."""
    changing = [swap.old for swap in table.swaps if swap.old != swap.new and not swap.neutral]
    causes: dict[str, list[str]] = {}
    for picture in flat_pictures(pdf, changing):
        colours = joined([paint.spoken for paint, _ in picture.known])
        causes.setdefault(colours, []).append("{} × {}".format(*picture.size))
    return [
        f"{counted(len(sizes), 'picture')} ({', '.join(dict.fromkeys(sizes))} px) "
        f"{'is' if len(sizes) == 1 else 'are'} drawn in {colours}: pictures keep their colours, "
        "where shapes in these change"
        for colours, sizes in causes.items()
    ]


def _counts(table: SwapTable, total: Counter[tuple[int, float]]) -> tuple[SwapCount, ...]:
    return tuple(
        SwapCount(
            swap=swap,
            solids=sum(n for (i, tint), n in total.items() if i == index and tint == 100),
            tints=sum(n for (i, tint), n in total.items() if i == index and tint != 100),
        )
        for index, swap in enumerate(table.swaps)
    )
