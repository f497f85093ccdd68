"""Whether two content streams are the same but for colour.

They are read by pikepdf's parser, which shares nothing with the scanner that rewrote them; what it
can't read is compared byte by byte around the colour operators.
"""

from __future__ import annotations

import warnings
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import pikepdf

from inkaccord.artwork.content.operators import COLOUR_OPERATORS, COLOUR_WORDS, DEVICE_OPERATORS
from inkaccord.artwork.content.scan import operators
from inkaccord.artwork.proof.borrowed_names import ADDED
from inkaccord.artwork.proof.ink_pictures import leaves_its_inks
from inkaccord.pdf.entries import entry
from inkaccord.pdf.inline_images import inline_entries, inline_samples
from inkaccord.pdf.limits import MIB
from inkaccord.pdf.streams import ContentParser

PARSED_MIB = 2
PARSED_TOTAL_MIB = 16
"""Above these, one stream and all together, content is compared by its bytes: the second parser
makes objects of every operator, which takes long and fills the memory."""
_NUMBER_START = frozenset("0123456789.+-")
_UNREADABLE = (pikepdf.PdfError, RuntimeError, ValueError, TypeError, IndexError)
"""What pikepdf raises, at parsing or later, on instructions that make no sense."""

Resources = tuple[Any, Any]
"""Those of the old content and of the new."""


@dataclass(slots=True)
class ComparedContent:
    """What came out of two content streams; pairs are for others to judge."""

    differs: str = ""
    """What is not the same, in words."""
    drawn: list[tuple[Any, Any, str]] = field(default_factory=list)
    """Objects that are drawn under two names, and the old one."""
    leaving: list[tuple[Any, Any]] = field(default_factory=list)
    """Inline images that leave their inks, by their entries."""
    spaces: list[tuple[Any, Any]] = field(default_factory=list)
    """Colour spaces of inline images."""


class ContentSameness:
    """Compares content streams, and counts how."""

    def __init__(self) -> None:
        self._given_to_parser = 0
        self._parser = ContentParser()
        self.parsed = 0
        self.by_bytes = 0
        self.identical = 0

    def compare(self, old: bytes, new: bytes, resources: Resources) -> ComparedContent:
        """Return what is not the same about two content streams."""
        found = ComparedContent()
        if old == new:
            self.identical += 1
        elif (crowded := _crowded(new)) and crowded - _crowded(old):
            found.differs = "how many operands stand before a colour operator"
        elif not (self._may_parse(len(old)) and self._parse(old, new, resources, found)):
            self.by_bytes += 1
            if not self._same_rest(old, new, resources, found):
                found.differs = "something other than colour in its content"
        return found

    def _same_rest(
        self, old: bytes, new: bytes, resources: Resources, found: ComparedContent
    ) -> bool:
        """Compare by bytes around colours; inline images that differ by the second parser."""
        (rest, ones), (other_rest, others) = rest_of(old), rest_of(new)
        if rest != other_rest or len(ones) != len(others):
            return False
        for pair in zip(ones, others, strict=True):
            if pair[0] == pair[1]:
                continue
            try:
                (_, one), (_, other) = (it for data in pair for it in self._instructions(data))
                if not _same_instruction(one, other, resources, found):
                    return False
            except _UNREADABLE:
                return False
        return True

    def _may_parse(self, size: int) -> bool:
        if size > PARSED_MIB * MIB or self._given_to_parser + size > PARSED_TOTAL_MIB * MIB:
            return False
        self._given_to_parser += size
        return True

    def _parse(self, old: bytes, new: bytes, resources: Resources, found: ComparedContent) -> bool:
        """Compare by the second parser; False if it can't read a stream."""
        try:
            return self._parse_both(old, new, resources, found)
        except _UNREADABLE:
            return False

    def _parse_both(
        self, old: bytes, new: bytes, resources: Resources, found: ComparedContent
    ) -> bool:
        ones, others = self._instructions(old), self._instructions(new)
        if any(word[:1] in _NUMBER_START for word, _ in ones):
            return False  # an operator that runs into its operand, which renderers take apart
        self.parsed += 1
        left, right = (
            [one for word, one in side if not _is_colour(word, one, which)]
            for side, which in ((ones, None), (others, resources))
        )
        if len(left) != len(right):
            found.differs = "the number of operators"
            return True
        if _are_alike(left, right):
            return True
        for one, other in zip(left, right, strict=True):
            if not _same_instruction(one, other, resources, found):
                found.differs = f"the operator {one.operator}"
                return True
        return True

    def _instructions(self, data: bytes) -> list[tuple[str, Any]]:
        """Return the instructions of some content, each with its operator as text."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what is odd in both is no difference
            found = self._parser.instructions(data)
        return [(str(one.operator), one) for one in found]


def _is_colour(word: str, one: Any, resources: Resources | None) -> bool:
    if word in COLOUR_WORDS:
        return True
    if word != "gs" or resources is None or not one.operands:
        return False
    name = str(one.operands[0])
    if not name.startswith(ADDED) or entry(entry(resources[0], "/ExtGState"), name):
        return False
    state = entry(entry(resources[1], "/ExtGState"), name)
    return state is not None and set(state.keys()) <= {"/OP", "/op", "/OPM"}


def _same_instruction(one: Any, other: Any, resources: Resources, found: ComparedContent) -> bool:
    if isinstance(one, pikepdf.ContentStreamInlineImage):
        if not isinstance(other, pikepdf.ContentStreamInlineImage):
            return False
        return _same_inline(one.iimage, other.iimage, resources, found)
    if str(one.operator) != str(other.operator):
        return False
    if list(one.operands) == list(other.operands):
        return True
    if str(one.operator) != "Do":
        return False
    names = (str(one.operands[0]), str(other.operands[0]))
    targets = [
        entry(entry(res, "/XObject"), name) for res, name in zip(resources, names, strict=True)
    ]
    if any(target is None for target in targets):
        return False
    found.drawn.append((*targets, names[0]))
    return True


def _same_inline(one: Any, other: Any, resources: Resources, found: ComparedContent) -> bool:
    """Whether two inline images hold the same samples and differ at most in colour space."""
    old, new = dict(inline_entries(one)), dict(inline_entries(other))
    was = _named(old.pop("/ColorSpace", None), resources[0])
    now = _named(new.pop("/ColorSpace", None), resources[1])
    seen = {**old, "/ColorSpace": was}, {**new, "/ColorSpace": now}
    if leaves_its_inks(*seen):
        found.leaving.append(seen)
        old.pop("/Decode", None)
    found.spaces.append((was, now))
    return old == new and inline_samples(one) == inline_samples(other)


def _crowded(content: bytes) -> Counter[tuple[bytes, tuple[float, ...]]]:
    """Return the colours with more operands than they take: renderers differ on which count."""
    takes = {word: count for word, (_, count, _) in DEVICE_OPERATORS.items()} | {b"cs": 0, b"CS": 0}
    found = operators(content, frozenset(takes) | {b"BI"})
    return Counter(
        (one.word, one.numbers)
        for one in found
        if one.numbers and len(one.numbers) > takes.get(one.word, len(one.numbers))
    )


def _named(space: Any, resources: Any) -> Any:
    """Return the space that resources call so; the space itself where they have none such."""
    is_name = isinstance(space, pikepdf.Name)
    named = entry(entry(resources, "/ColorSpace"), str(space)) if is_name else None
    return space if named is None else named


def _are_alike(ones: Sequence[Any], others: Sequence[Any]) -> bool:
    """Whether instructions are the same as they are written, which is quick to see.

    Inline images have to be looked into: what their colour spaces are called may mean two things.
    """
    has_images = any(isinstance(one, pikepdf.ContentStreamInlineImage) for one in ones)
    written = pikepdf.unparse_content_stream
    return not has_images and written(ones) == written(others)


def rest_of(data: bytes) -> tuple[bytes, list[bytes]]:
    """Return a content stream without its colour operators and inline images, and those images.

    Blanks at their places are evened.
    """
    pieces, images = [], []
    last = 0
    for one in operators(data, COLOUR_OPERATORS | {b"BI"}):
        if one.word == b"BI":
            images.append(data[one.start : one.end])
        pieces += [data[last : one.start].strip(), b"BI" if one.word == b"BI" else b""]
        last = one.end
    pieces.append(data[last:].strip())
    return b" ".join(filter(None, pieces)), images
