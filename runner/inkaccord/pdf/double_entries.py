"""Dictionaries that say one entry twice: which one counts, readers do not agree upon.

ISO 32000-2, 7.3.7 leaves it open. Ghostscript 10.00 takes the first, qpdf, poppler and PDFium the
last (tried), so that no copy or proof by one of them can vouch for another.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pikepdf

from inkaccord.pdf.entries import BAD_OBJECT, unescaped
from inkaccord.pdf.inline_images import INLINE_KEYS

_TOLD = re.compile(
    r"(?:object stream (?P<packed>\d+) )?\((?P<where>[^()]*), offset (?P<offset>\d+)\): "
    r"dictionary has duplicated key (?P<key>/.*);"
)
"""What qpdf says of it; the offset is the place behind the opening brackets (qpdf 11)."""
_TOKEN = re.compile(
    rb"(?:[\x00\t\n\f\r ]|%[^\r\n]*+)*+"
    rb"(<<|>>|/?[^\x00\t\n\f\r ()<>\[\]{}/%]++|<[^<>]*+>|(\()|.)",
    re.S,
)
_STRING_PART = re.compile(rb"\\.|[()]", re.S)
_OPENING, _CLOSING = {b"<<", b"["}, {b">>", b"]"}
_SAYS_NOTHING_OF_INK = frozenset(
    {
        "/Author", "/CreationDate", "/Creator", "/Keywords", "/Lang", "/LastModified", "/Length",
        "/M", "/MarkInfo", "/Metadata", "/ModDate", "/NM", "/Name", "/PageLayout", "/PageMode",
        "/Producer", "/StructParent", "/StructParents", "/Subject", "/Title", "/Type",
        "/ViewerPreferences",
    }
)  # fmt: skip
_SHOWN = 40
"""Characters of a value that are repeated in a message."""


@dataclass(frozen=True, slots=True)
class DoubleEntry:
    """An entry that a dictionary says more than once, with different values."""

    key: str
    where: str
    values: tuple[str, ...]
    """As they stand in the file, shortened; none where the place was not found again."""

    @property
    def spoken(self) -> str:
        """The same in words."""
        ways = f" ({' and '.join(self.values)})" if self.values else ""
        return (
            f"{self.where} says {self.key} twice, in two ways{ways}: readers differ in which of "
            "them counts, so that no copy can be right for each"
        )


def double_entries(
    said: Iterable[str], pdf: pikepdf.Pdf, source: Path | bytes
) -> dict[str, DoubleEntry | None]:
    """Return what each of qpdf's warnings about an open file says of a double entry that matters.

    None for other warnings, for entries that nothing is painted with, and for values that are the
    same.
    """

    @cache  # there may be thousands, all in one place
    def text_of(packed: str | None) -> bytes:
        try:
            if packed is not None:
                return pdf.get_object(int(packed), 0).read_bytes()
            return source.read_bytes() if isinstance(source, Path) else source
        except (OSError, *BAD_OBJECT):
            return b""

    return {one: _double_entry(one, text_of) for one in said}


def _double_entry(said: str, text_of: Callable[[str | None], bytes]) -> DoubleEntry | None:
    told = _TOLD.search(said)
    if told is None or told["key"] in _SAYS_NOTHING_OF_INK:
        return None
    data, start = text_of(told["packed"]), int(told["offset"])
    begins = data[max(start - 2, 0) : start] == b"<<"
    values = entries(data, start).get(told["key"], []) if begins else []
    if len(values) > 1 and len(set(values)) == 1:
        return None
    where = told["where"].removesuffix(" 0")
    return DoubleEntry(told["key"], where, tuple(_short(one) for one in dict.fromkeys(values)))


def doubles_in_line(header: bytes) -> Iterator[DoubleEntry]:
    """Yield what the entries of a picture in the content itself say twice, by any of its names."""
    found: dict[str, dict[str, None]] = {}
    for key, values in entries(header).items():
        said = (_short(value) for value in values)
        found.setdefault(INLINE_KEYS.get(key, key), {}).update(dict.fromkeys(said))
    for key, ways in found.items():
        if len(ways) > 1:
            yield DoubleEntry(key, "a picture in the content itself", tuple(ways))


def _short(value: bytes) -> str:
    text = value.decode("latin-1")
    return text if len(text) <= _SHOWN else text[:_SHOWN].rstrip() + " …"


def entries(data: bytes, start: int = 0) -> Mapping[str, list[bytes]]:
    """Return the entries of a dictionary whose first key stands at ``start``, each value in order.

    Values are given by their tokens with one blank between them. It ends at its closing brackets,
    or with the data.
    """
    found: dict[str, list[bytes]] = {}
    key: str | None = None
    value: list[bytes] = []
    depth = 0
    for token in _tokens(data, start):
        if depth == 0 and token == b">>":
            break
        if depth == 0 and token[:1] == b"/" and (key is None or value):
            if key is not None:
                found.setdefault(key, []).append(b" ".join(value))
            key, value = _name(token), []
            continue
        depth += (token in _OPENING) - (token in _CLOSING)
        value.append(_name(token).encode("latin-1") if token[:1] == b"/" else token)
    if key is not None:
        found.setdefault(key, []).append(b" ".join(value))
    return found


def _tokens(data: bytes, start: int) -> Iterator[bytes]:
    while (token := _TOKEN.match(data, start)) is not None:
        start = token.end()
        if token[2] is None:
            yield token[1]
            continue
        depth = 1
        while depth and (part := _STRING_PART.search(data, start)) is not None:
            start = part.end()
            depth += (part[0] == b"(") - (part[0] == b")")
        if depth:
            return
        yield data[token.start(2) : start]


def _name(token: bytes) -> str:
    return unescaped(token).decode("latin-1")
