"""The proofs of many copies, whose pages are drawn together."""

import contextlib
from collections.abc import Iterator, Sequence

from inkaccord.artwork.proof.prove import CopyProof, ProofSteps, begun, concluded, proof_of
from inkaccord.artwork.recolouring.recolour import RecolourOptions
from inkaccord.artwork.swaps import Swap
from inkaccord.errors import InkaccordError
from inkaccord.pdf.ink_questions import InkQuestion, answers_in_turn

ProofCase = tuple[bytes, bytes, Sequence[Swap], RecolourOptions]
"""A file, its recoloured copy, what was asked for, and how."""


def prove_together(cases: Sequence[ProofCase]) -> list[CopyProof | None]:
    """Return what :func:`prove` gives for many copies, whose pages are drawn together.

    None for a copy that can't be judged, such as one that can't be read.
    """
    proofs: dict[int, CopyProof] = {}
    steps: dict[int, ProofSteps] = {}

    def questions() -> Iterator[tuple[int, InkQuestion, int]]:
        for at, case in enumerate(cases):
            with contextlib.suppress(InkaccordError):
                steps[at] = proof_of(*case, drawn=True)
                asked = begun(steps[at])
                if isinstance(asked, CopyProof):
                    proofs[at] = asked
                else:
                    yield at, asked, len(case[0]) + len(case[1])

    for at, answer in answers_in_turn(questions()):
        with contextlib.suppress(InkaccordError):
            proofs[at] = concluded(steps.pop(at), answer)
    return [proofs.get(at) for at in range(len(cases))]
