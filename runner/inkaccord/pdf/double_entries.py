"""Dictionaries that say one entry twice: which one counts, readers do not agree upon.

ISO 32000-2, 7.3.7 leaves it open. Ghostscript 10.00 takes the first, qpdf, poppler and PDFium the
last (tried), so that no copy or proof by one of them can vouch for another.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pikepdf

from inkaccord.pdf.entries import BAD_OBJECT
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
_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")
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


def double_entry(said: str, pdf: pikepdf.Pdf, source: Path | bytes) -> DoubleEntry | None:
    """Return what one of qpdf's warnings about an open file says of a double entry that matters.

    None for other warnings, for entries that nothing is painted with, and for values that are the
    same.
    """
    told = _TOLD.search(said)
    if told is None or told["key"] in _SAYS_NOTHING_OF_INK:
        return None
    where = told["where"].removesuffix(" 0")
    values = _values(told, pdf, source)
    if len(values) > 1 and len(set(values)) == 1:
        return None
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


def _values(told: re.Match[str], pdf: pikepdf.Pdf, source: Path | bytes) -> list[bytes]:
    start = int(told["offset"])
    try:
        if told["packed"] is not None:
            data = pdf.get_object(int(told["packed"]), 0).read_bytes()
        else:
            data = source.read_bytes() if isinstance(source, Path) else source
    except (OSError, *BAD_OBJECT):
        return []
    if data[max(start - 2, 0) : start] != b"<<":
        return []
    return entries(data, start).get(told["key"], [])


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
    plain = _ESCAPE.sub(lambda code: bytes([int(code[1], 16)]), token)
    return plain.decode("latin-1")
