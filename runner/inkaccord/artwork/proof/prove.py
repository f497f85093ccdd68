"""Prove from the two files alone that a recoloured copy is what was asked for."""

from __future__ import annotations

from collections.abc import Generator, Sequence

from inkaccord.artwork.photographs.one_colour import with_one_colour_each
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.colour_tables import table_differences
from inkaccord.artwork.proof.entry_colours import entry_differences
from inkaccord.artwork.proof.flight_proof import FlightReader
from inkaccord.artwork.proof.gradient_proof import shading_differences
from inkaccord.artwork.proof.ink_pictures import picture_differences
from inkaccord.artwork.proof.ink_proof import ink_differences
from inkaccord.artwork.proof.inventory_part import inventory_part
from inkaccord.artwork.proof.mixtures import mixture_differences
from inkaccord.artwork.proof.one_colour_proof import one_colour_differences
from inkaccord.artwork.proof.overprint_proof import overprint_differences
from inkaccord.artwork.proof.parts import ProofPart, ProofVerdict
from inkaccord.artwork.proof.proof_file import ProofFile
from inkaccord.artwork.proof.refusal import refusals
from inkaccord.artwork.proof.sameness import Sameness
from inkaccord.artwork.recolouring.default_spaces import without_default_spaces
from inkaccord.artwork.recolouring.recolour import RecolourOptions, swap_table
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.artwork.swaps import Swap
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import FileError
from inkaccord.models import Frozen
from inkaccord.pdf.ink_questions import InkAnswer, InkPage, InkQuestion, ink_answers
from inkaccord.pdf.opening import refusing_damage
from inkaccord.pdf.page_source import PageSource, open_pages
from inkaccord.words import counted


class CopyProof(Frozen):
    """The proof of one recoloured file."""

    inventory: ProofPart
    """No old colour is left, and the new ones stand exactly where the old ones stood."""
    structure: ProofPart
    """Everything that is not colour is the same."""
    rendering: ProofPart
    """Ink-exact renderings differ only where a mapped colour stood, by the mapped build.

    Not run without Ghostscript; failed where it is there, and could not draw the files.
    """
    refusals: tuple[Diagnostic, ...] = ()
    """Of a copy that did not pass, what would not come out as asked, and where: for people."""

    @property
    def passed(self) -> bool:
        """Whether no part failed, and the two parts that must run did."""
        return (
            self.inventory.verdict is ProofVerdict.PASS
            and self.structure.verdict is ProofVerdict.PASS
            and self.rendering.verdict is not ProofVerdict.FAIL
        )


ProofSteps = Generator[InkQuestion, list[InkPage], CopyProof]
"""A proof that asks once, or never, to see pages."""


def prove(
    before: bytes,
    after: bytes,
    swaps: Sequence[Swap],
    options: RecolourOptions | None = None,
    *,
    render: bool = True,
) -> CopyProof:
    """Compare a file with its recoloured copy.

    Parameters
    ----------
    before, after
        The two files.
    swaps, options
        What was asked for.
    render
        Whether to compare renderings too, where Ghostscript is installed.

    Raises
    ------
    FileError
        Either file can't be read.
    """
    steps = proof_of(before, after, swaps, options or RecolourOptions(), drawn=render)
    question = begun(steps)
    if isinstance(question, CopyProof):
        return question
    answers = ink_answers({0: question})
    _, answer = next(answers)
    return concluded(steps, answer)


def begun(steps: ProofSteps) -> InkQuestion | CopyProof:
    """Return what a proof asks to see, or itself where it has to see nothing."""
    try:
        return next(steps)
    except StopIteration as done:
        proof: CopyProof = done.value
        return proof


def concluded(steps: ProofSteps, answer: InkAnswer) -> CopyProof:
    """Return a proof that has been shown what it asked for."""
    try:
        steps.throw(answer) if isinstance(answer, FileError) else steps.send(answer)
    except StopIteration as done:
        proof: CopyProof = done.value
        return proof
    raise AssertionError("a proof asks once")


def proof_of(
    before: bytes,
    after: bytes,
    swaps: Sequence[Swap],
    options: RecolourOptions,
    *,
    drawn: bool,
) -> ProofSteps:
    """Return a proof step by step: :func:`prove` says what it takes and raises."""
    table = swap_table(swaps, options)
    with refusing_damage():
        profiled, before = before, _without_profiles(before, options)
        given, before = before, _with_one_colour_each(before, table)
        inventory, structure, rendering = yield from _parts(
            before, after, table, options, drawn=drawn
        )
        if before is not given:
            structure = _with_flattening(structure, given, before)
        if given is not profiled:
            structure = _with_default_spaces_off(structure, profiled, given)
        parts = (inventory, structure, rendering)
        said = refusals(profiled, parts, table)
    return CopyProof(inventory=inventory, structure=structure, rendering=rendering, refusals=said)


def _parts(
    before: bytes, after: bytes, table: SwapTable, options: RecolourOptions, *, drawn: bool
) -> Generator[InkQuestion, list[InkPage], tuple[ProofPart, ProofPart, ProofPart]]:
    """Return the three parts of the proof of two files, each opened and walked once."""
    with open_pages(before) as old, open_pages(after) as new:
        wanted = ProofFile.read(old, FlightReader(table).steps)
        found = ProofFile.read(new)
        inventory = inventory_part(wanted, found, table)
        structure = _structure(old, new, table, options)
        if not drawn:
            return inventory, structure, ProofPart.not_run("not asked for")
        rendering = yield from ink_differences(wanted, found, table)
        return inventory, structure, rendering


def _without_profiles(before: bytes, options: RecolourOptions) -> bytes:
    """Return the first file without default spaces, where colours count as their numbers."""
    if options.profiled is not Profiled.PLAIN:
        return before
    return without_default_spaces(before)


def _with_default_spaces_off(structure: ProofPart, profiled: bytes, plain: bytes) -> ProofPart:
    """Add to a part whether taking default colour spaces off has changed anything else."""
    with (
        open_pages(profiled) as old,
        open_pages(plain) as new,
    ):
        sameness = Sameness(old, new, changing=None)
        sameness.compare()
    details = (*structure.details, *sameness.differences)
    return ProofPart.judged(
        f"{structure.checked}; the same but for its default colour spaces",
        details,
    )


def _with_one_colour_each(before: bytes, table: SwapTable) -> bytes:
    """Return the first file as recolouring understands it: blurred shapes hold their one colour."""
    known = [swap.old for swap in table.swaps]
    found = with_one_colour_each(before, known)
    return found if isinstance(found, bytes) else before


def _with_flattening(structure: ProofPart, given: bytes, before: bytes) -> ProofPart:
    """Add to a part what became of pictures that were taken for one colour."""
    count, wrong = one_colour_differences(given, before)
    details = (*structure.details, *wrong)
    return ProofPart.judged(
        f"{structure.checked}; {counted(count, 'picture')} of one colour, every pixel within "
        "rounding",
        details,
    )


def _structure(
    old: PageSource, new: PageSource, table: SwapTable, options: RecolourOptions
) -> ProofPart:
    sameness = Sameness(old, new, changing={name or "" for name in table.whole_spots})
    sameness.compare()
    gradients, wrong = shading_differences(sameness.shadings, table)
    wrong += mixture_differences(sameness.mixtures, table)
    wrong += table_differences(sameness.tables, table)
    wrong += entry_differences(sameness.entries, table)
    wrong += picture_differences(sameness.pictures, table)
    wrong += overprint_differences(old, new, options.overprint)
    details, content = [*sameness.differences, *wrong], sameness.content
    return ProofPart.judged(
        f"{sameness.objects} objects; {gradients} gradients computed; "
        f"{counted(content.parsed, 'content stream')} read by a second parser, "
        f"{content.by_bytes} compared byte by byte, {content.identical} identical",
        details,
    )
