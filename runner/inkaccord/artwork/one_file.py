"""One PDF recoloured by hand: the copy, its proof, and all that is worth saying of both."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from inkaccord.artwork.advice import advised
from inkaccord.artwork.finishing.groups import drive_of, mend_groups
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.prove import CopyProof, prove
from inkaccord.artwork.recolouring.absent import absent
from inkaccord.artwork.recolouring.default_spaces import without_default_spaces
from inkaccord.artwork.recolouring.recolour import (
    RecolourOptions,
    SwapCount,
    recolour,
    swap_table,
)
from inkaccord.artwork.swaps import NEUTRALS, Swap, black_ink_of, without_profile
from inkaccord.colour.builds import Drive
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, Severity, note
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.signatures import SIGNED
from inkaccord.words import joined

_NAMED = 4
_WHY_MISSED = frozenset({"profiled-colour", "bad-colour-space", "near-miss"})
"""What is said of colours that stay, though they may be the one that was asked for."""


class Asked(Frozen):
    """What is to become of a file.

    Attributes
    ----------
    black_neutrals
        Whether black, greys and white in RGB become black ink alone, and no ink.
    break_signature
        Whether a signed file is changed too.
    """

    swaps: tuple[Swap, ...]
    options: RecolourOptions
    black_neutrals: bool = False
    break_signature: bool = False


class CopySaid(Frozen):
    """What is to be said of a copy, as ``inkaccord recolour --json`` prints it.

    Attributes
    ----------
    swaps
        How often each was made.
    photographs
        Pictures that stay as they are.
    without_build
        Colours that need a swap too.
    """

    swaps: tuple[SwapCount, ...]
    photographs: int
    without_build: tuple[Paint, ...]
    proof: CopyProof
    findings: tuple[Diagnostic, ...]

    @property
    def is_good(self) -> bool:
        """Whether every old colour was changed, and nothing else was."""
        errors = any(it.severity is Severity.ERROR for it in self.findings)
        return self.proof.passed and not errors


@dataclass(frozen=True)
class ProvedCopy:
    """A recoloured copy, and what is to be said of it."""

    data: bytes
    said: CopySaid
    swaps: tuple[Swap, ...]
    """Those that were asked for, and that of the neutrals."""


def proved_copy(
    before: bytes,
    asked: Asked,
    said: Sequence[Diagnostic],
    progress: Callable[[str], None],
) -> ProvedCopy:
    """Return a copy of a file with other colours, and prove that nothing else changed.

    Parameters
    ----------
    said
        What was said of the new colours, which comes first among the findings.
    progress
        Is told what is done next.

    Raises OrderError where a colour is not in the file, or swaps contradict each other, and
    FileError for a file that can't be used.
    """
    swaps, options = _with_neutrals(asked), asked.options
    drive, plain = drive_of(swaps), _made_plain(before, swaps, options)
    swaps += plain
    progress("changing the colours")
    made = recolour(before, swaps, options=options)
    greys = black_ink_of(made.without_build) if drive is Drive.CMYK else ()
    if greys:  # beside a colour that becomes CMYK they can't stay what they are
        options = options.model_copy(update={"beside": greys})
        made = recolour(before, swaps, options=options)
    if asked.break_signature:
        made = replace(made, findings=tuple(f for f in made.findings if f.code != SIGNED))
    with open_artwork(before) as pdf:
        missed = absent(pdf, [it for it in made.counts if it.swap in asked.swaps])
    if missed:
        why = [one for one in made.findings if one.code in _WHY_MISSED]
        raise OrderError((*missed, *advised(why, made.program, in_order=False)))
    progress("proving that nothing else changed")
    proof = prove(before, made.data, swaps, options)
    progress("looking at groups that mix in another kind of colour")
    data, of_groups = mend_groups(made.data, drive)
    refused = () if made.errors else proof.refusals  # else they follow from the errors
    beside = (*_said_of_plain(plain), *_said_of_greys(greys))
    findings = advised(
        (*said, *beside, *made.findings, *refused, *of_groups),
        made.program,
        in_order=False,
    )
    told = CopySaid(
        swaps=tuple(it for it in made.counts if it.swap not in plain),
        photographs=made.photographs,
        without_build=made.without_build,
        proof=proof,
        findings=tuple(findings),
    )
    return ProvedCopy(data or made.data, told, swaps)


def _with_neutrals(asked: Asked) -> tuple[Swap, ...]:
    if not asked.black_neutrals:
        return asked.swaps
    if any(it.new.kind == "rgb" for it in asked.swaps):
        raise OrderError.of(
            "neutrals-in-rgb",
            "'--neutrals black' makes black ink of black in RGB, and the new builds are RGB",
            hint="leave it out: a device in RGB gets black, greys and white as they are",
        )
    return (*asked.swaps, NEUTRALS)


def _made_plain(before: bytes, swaps: Sequence[Swap], options: RecolourOptions) -> tuple[Swap, ...]:
    """Return what takes the profile from colours that no swap names, where numbers count alone."""
    if options.profiled is not Profiled.PLAIN:
        return ()
    table = swap_table(swaps, options)
    found = inventory(without_default_spaces(before))
    colours = (part for it in found.colours for part in (it.colour, *it.colour.parts))
    numbers = (it.numbers for it in colours if it.paint is None and it.numbers is not None)
    stay = (it for it in numbers if table.of_paint(it) is None and table.near_miss_of(it) is None)
    return without_profile(stay, swaps)


def _said_of_plain(plain: Sequence[Swap]) -> list[Diagnostic]:
    """Return a note that names the colours which lost their profile beside those swapped."""
    if not plain:
        return []
    named = _some([it.old.spoken for it in plain])
    does = "has" if len(plain) == 1 else "have"
    return [
        note(
            "profile-gone",
            f"{named} {does} no profile any more, though no swap names "
            f"{'it' if len(plain) == 1 else 'them'}: their numbers count alone, as was asked",
            hint="look at the copy: numbers that were converted to the profile are another colour "
            "without it",
        )
    ]


def _said_of_greys(greys: Sequence[Swap]) -> list[Diagnostic]:
    """Return a note that names the greys which became black ink beside a swapped colour."""
    if not greys:
        return []
    named = _some([f"{one.old.spoken} becomes {one.new.spoken}" for one in greys])
    return [
        note(
            "converted-beside",
            f"a gradient or table can only become CMYK whole: in it {named}",
            hint="give it a '--swap' of its own to have another build",
        )
    ]


def _some(words: Sequence[str]) -> str:
    """Return the first of many, and how many more there are."""
    more = len(words) - _NAMED
    return joined(words[:_NAMED]) + (f" (and {more} more)" if more > 0 else "")
