"""What content streams become, in each of the settings in which they are used."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pikepdf

from inkaccord.pdf.entries import objgen
from inkaccord.pdf.streams import StreamReader, deflate


@dataclass(slots=True)
class _Variants:
    """Those of one stream."""

    stream: Any
    contents: list[bytes | None]
    """Packed, None for unchanged; the first takes the place of the original."""
    copies: list[Any]


class Variants:
    """Those of all content streams of one document, each kept once."""

    def __init__(self, pdf: pikepdf.Pdf, streams: StreamReader) -> None:
        self._pdf, self._streams = pdf, streams
        self._known: dict[object, _Variants] = {}

    def __contains__(self, stream: Any) -> bool:
        """Whether any setting of a stream was met."""
        return _identity(stream) in self._known

    def add(self, stream: Any, new: bytes | None) -> int:
        """Keep what a stream becomes in one setting, None for unchanged; return its place."""
        known = self._known.setdefault(_identity(stream), _Variants(stream, [], []))
        packed = deflate(new) if new is not None else None
        if packed in known.contents:
            return known.contents.index(packed)
        known.contents.append(packed)
        first = len(known.contents) == 1
        known.copies.append(stream if first else self._pdf.make_stream(b""))
        return len(known.contents) - 1

    def stream(self, stream: Any, place: int) -> Any:
        """Return the stream that stands for another in one of its settings."""
        return self._known[_identity(stream)].copies[place]

    def write(self) -> None:
        """Write all of them, once every stream has been read as it was."""
        for known in self._known.values():
            original = known.stream
            # Forks first: they copy the original's entries and, if unchanged, its bytes.
            for copy, new in list(zip(known.copies, known.contents, strict=True))[1:]:
                for key, value in original.items():
                    if key not in ("/Length", "/Filter", "/DecodeParms"):
                        copy[key] = value
                packed = new if new is not None else deflate(self._streams.read(original))
                copy.write(packed, filter=pikepdf.Name.FlateDecode)
            first = known.contents[0]
            if first is not None:
                original.write(first, filter=pikepdf.Name.FlateDecode)


def _identity(stream: Any) -> object:
    number = objgen(stream)
    return number if number != (0, 0) else id(stream)
