"""The checks of many artworks, whose pages are drawn together."""

import contextlib
from collections.abc import Iterator, Sequence

from inkaccord.artwork.preflight.case import PreflightContext
from inkaccord.artwork.preflight.inks import ink_question
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import Checking, checking, ended
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import FileError
from inkaccord.pdf.ink_questions import InkQuestion, answers_in_turn

CheckCase = tuple[bytes, ArtworkRules, PreflightContext | None, str | None]
"""What :func:`~inkaccord.artwork.preflight.run.preflight` is given."""
_MOST_PIXELS = 30_000_000
"""Of one artwork, all its pages: more are drawn one after the other as they are looked at."""


def preflight_together(cases: Sequence[CheckCase]) -> list[tuple[Diagnostic, ...] | None]:
    """Return what ``preflight`` gives for many artworks, whose pages are drawn together.

    None for one that has to be checked alone, where what goes wrong is heard.
    """
    found: dict[int, tuple[Diagnostic, ...]] = {}
    steps: dict[int, Checking] = {}

    def questions() -> Iterator[tuple[int, InkQuestion, int]]:
        for at, (data, rules, context, name) in enumerate(cases):
            with contextlib.suppress(Exception):
                steps[at] = checking(data, rules, context, name)
                artwork = next(steps[at])
                asked = ink_question(artwork, rules)
                if asked is None or not asked.pages:
                    found[at] = ended(steps.pop(at), None if asked is None else {})
                elif len(asked.pages) * artwork.ink_pixels > _MOST_PIXELS or not _is_plain(data):
                    found[at] = ended(steps.pop(at), None)
                else:
                    yield at, asked, len(data)

    for at, answer in answers_in_turn(questions()):
        drawn = None if isinstance(answer, FileError) else {it.page: it for (it,) in answer}
        with contextlib.suppress(Exception):
            found[at] = ended(steps.pop(at), drawn)
    return [found.get(at) for at in range(len(cases))]


def _is_plain(data: bytes) -> bool:
    """Whether Ghostscript takes a file for a PDF: a program would run on into the next file."""
    return data.startswith(b"%PDF-")
