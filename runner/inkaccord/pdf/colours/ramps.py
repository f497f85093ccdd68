"""Writing new functions: ramps from stop to stop, and tables of samples."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

import pikepdf

from inkaccord.pdf.colours.functions import Numbers
from inkaccord.pdf.colours.spaces import write_number
from inkaccord.pdf.streams import deflate


def write_ramp(
    pdf: pikepdf.Pdf, stops: Sequence[float], colours: Sequence[Numbers]
) -> pikepdf.Object:
    """Return a new function that runs straight from stop to stop.

    Two stops make an exponential function, more a stitching function of them, so that end
    colours stay exact and nothing is rounded to samples. Many evenly spaced stops make a
    sampled function of 16 bits.
    """

    def piece(a: Numbers, b: Numbers) -> pikepdf.Dictionary:
        return pikepdf.Dictionary(
            FunctionType=2, Domain=[0, 1], N=1, C0=numbers_array(a), C1=numbers_array(b)
        )

    if len(stops) == 2 and (stops[0], stops[1]) == (0, 1):
        return pdf.make_indirect(piece(colours[0], colours[1]))
    if len(stops) > 64:
        return write_samples(
            pdf, ((stops[0], stops[-1]),), (len(stops),), list(colours), even_stops=stops
        )
    pieces = [piece(a, b) for a, b in pairwise(colours)]
    return pdf.make_indirect(
        pikepdf.Dictionary(
            FunctionType=3,
            Domain=numbers_array((stops[0], stops[-1])),
            Functions=pikepdf.Array(pieces),
            Bounds=numbers_array(stops[1:-1]),
            Encode=pikepdf.Array([0, 1] * len(pieces)),
        )
    )


def write_samples(
    pdf: pikepdf.Pdf,
    domain: Sequence[tuple[float, float]],
    size: Sequence[int],
    colours: Sequence[Numbers],
    even_stops: Sequence[float] | None = None,
) -> pikepdf.Object:
    """Return a new sampled function of 16 bits; first input varies fastest; outputs 0 to 1."""
    if even_stops is not None:
        colours = _evenly(even_stops, colours)
        size = (len(colours),)
    data = b"".join(
        round(min(max(value, 0.0), 1.0) * 65535).to_bytes(2, "big")
        for colour in colours
        for value in colour
    )
    outputs = len(colours[0])
    stream = pdf.make_stream(deflate(data))
    stream["/Filter"] = pikepdf.Name.FlateDecode
    stream["/FunctionType"] = 0
    stream["/Domain"] = numbers_array([edge for pair in domain for edge in pair])
    stream["/Range"] = pikepdf.Array([0, 1] * outputs)
    stream["/Size"] = pikepdf.Array(list(size))
    stream["/BitsPerSample"] = 16
    return stream


def _evenly(stops: Sequence[float], colours: Sequence[Numbers]) -> list[Numbers]:
    """Return the ramp sampled evenly, at least as fine as its stops."""
    count = min(max(len(stops), 256), 4096)
    low, high = stops[0], stops[-1]
    result = []
    index = 0
    for i in range(count):
        x = low + (high - low) * i / (count - 1)
        while index < len(stops) - 2 and x > stops[index + 1]:
            index += 1
        width = stops[index + 1] - stops[index]
        share = min(max((x - stops[index]) / width, 0.0), 1.0) if width else 0.0
        result.append(
            tuple(
                a + share * (b - a) for a, b in zip(colours[index], colours[index + 1], strict=True)
            )
        )
    return result


def numbers_array(values: Sequence[float]) -> pikepdf.Array:
    """Return numbers as an array as PDF writes them."""
    return pikepdf.Array([Decimal(write_number(value)) for value in values])
