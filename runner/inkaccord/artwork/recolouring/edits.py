"""Edits of content streams: made, and shared out where a page's content stands in several."""

from __future__ import annotations

from collections.abc import Sequence

Edit = tuple[int, int, bytes]


def applied(data: bytes, edits: Sequence[Edit]) -> bytes:
    """Return ``data`` with edits made that are sorted and do not overlap."""
    parts: list[bytes] = []
    last = 0
    for start, end, new in edits:
        parts += (data[last:start], new)
        last = end
    parts.append(data[last:])
    return b"".join(parts)


def split_edits(edits: Sequence[Edit], lengths: Sequence[int]) -> list[list[Edit]]:
    """Share the edits of joined chunks (one byte between any two) out to the chunks.

    An edit that reaches over an edge is made where it ends, in the chunk with the operator;
    what it replaces before that is taken out.
    """
    if len(lengths) == 1:
        return [list(edits)]
    bounds = []
    position = 0
    for length in lengths:
        bounds.append((position, position + length))
        position += length + 1
    shares: list[list[Edit]] = [[] for _ in lengths]
    chunk = 0
    for start, end, new in edits:
        while chunk < len(bounds) - 1 and start > bounds[chunk][1]:
            chunk += 1
        last = chunk
        while last < len(bounds) - 1 and end > bounds[last][1]:
            last += 1
        for index in range(chunk, last + 1):
            low, high = bounds[index]
            a, b = min(max(start, low), high), min(max(end, low), high)
            text = new if index == last else b""
            if a < b or text:
                shares[index].append((a - low, b - low, text))
    return shares
