"""The proofs of many copies, whose pages are drawn together."""

import contextlib
from collections.abc import Sequence

from inkaccord.artwork.proof.prove import CopyProof, ProofSteps, begun, concluded, proof_of
from inkaccord.artwork.recolouring.recolour import RecolourOptions
from inkaccord.artwork.swaps import Swap
from inkaccord.errors import InkaccordError
from inkaccord.pdf.ink_questions import InkQuestion, ink_answers

ProofCase = tuple[bytes, bytes, Sequence[Swap], RecolourOptions]
"""A file, its recoloured copy, what was asked for, and how."""
_MOST_COPIES, _MOST_BYTES = 40, 64 * 2**20
"""Copies that are held open to be drawn together, and bytes of all of them."""


def prove_together(cases: Sequence[ProofCase]) -> list[CopyProof | None]:
    """Return what :func:`prove` gives for many copies, whose pages are drawn together.

    None for a copy that can't be judged, such as one that can't be read.
    """
    proofs: dict[int, CopyProof] = {}
    steps: dict[int, ProofSteps] = {}
    questions: dict[int, InkQuestion] = {}
    size = 0

    def draw() -> None:
        for at, answer in ink_answers(questions):
            with contextlib.suppress(InkaccordError):
                proofs[at] = concluded(steps.pop(at), answer)
        questions.clear()

    for at, case in enumerate(cases):
        with contextlib.suppress(InkaccordError):
            steps[at] = proof_of(*case, drawn=True)
            asked = begun(steps[at])
            if isinstance(asked, CopyProof):
                proofs[at] = asked
                continue
            questions[at] = asked
            size += len(case[0]) + len(case[1])
            if size > _MOST_BYTES or len(questions) >= _MOST_COPIES:
                draw()
                size = 0
    draw()
    return [proofs.get(at) for at in range(len(cases))]
