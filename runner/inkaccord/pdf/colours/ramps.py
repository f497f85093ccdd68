"""Writing new functions: ramps from stop to stop, and tables of samples."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

import pikepdf

from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.spaces import write_number
from inkaccord.pdf.streams import deflate

Stop = tuple[float, Numbers]
"""A place and the colour that stands there."""
MOST_IN_A_ROW = 64
"""Stops in a row above which they become a table."""
FINEST = 4096


def write_ramp(pdf: pikepdf.Pdf, runs: Sequence[Sequence[Stop]]) -> pikepdf.Object:
    """Return a new function that runs straight from stop to stop and jumps from run to run.

    Each run begins where the one before ends. Two stops make an exponential function, more a
    stitching function of them, so that end colours stay exact and nothing is rounded to samples.
    More than 64 stops in a row make a sampled function of 16 bits.
    """
    parts: list[tuple[float, pikepdf.Object, tuple[float, float]]] = []
    for run in runs:
        if len(run) > MOST_IN_A_ROW:
            span = (run[0][0], run[-1][0])
            colours = _evenly(run)
            table = write_samples(pdf, (span,), (len(colours),), colours)
            parts.append((span[0], table, span))
        elif len(run) == 1:
            parts.append((run[0][0], _straight(run[0][1], run[0][1]), (0, 1)))
        else:
            parts += [(low, _straight(a, b), (0, 1)) for (low, a), (_, b) in pairwise(run)]
    low, high = runs[0][0][0], runs[-1][-1][0]
    if len(parts) == 1 and parts[0][2] == (low, high):
        return pdf.make_indirect(parts[0][1])
    return pdf.make_indirect(
        pikepdf.Dictionary(
            FunctionType=3,
            Domain=numbers_array((low, high)),
            Functions=pikepdf.Array([function for _, function, _ in parts]),
            Bounds=numbers_array([edge for edge, _, _ in parts[1:]]),
            Encode=numbers_array([edge for _, _, ends in parts for edge in ends]),
        )
    )


def _straight(a: Numbers, b: Numbers) -> pikepdf.Dictionary:
    return pikepdf.Dictionary(
        FunctionType=2, Domain=[0, 1], N=1, C0=numbers_array(a), C1=numbers_array(b)
    )


def write_samples(
    pdf: pikepdf.Pdf,
    domain: Sequence[tuple[float, float]],
    size: Sequence[int],
    colours: Sequence[Numbers],
) -> pikepdf.Object:
    """Return a new sampled function of 16 bits; first input varies fastest; outputs 0 to 1."""
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


def _evenly(run: Sequence[Stop]) -> list[Numbers]:
    """Return a run's colours at even places: its own stops, or many more where they are uneven."""
    low, high = run[0][0], run[-1][0]
    steps = len(run) - 1
    even = (low + (high - low) * i / steps for i in range(steps + 1))
    if all(
        abs(place - stop) < 1e-4 * (high - low) / steps
        for place, (stop, _) in zip(even, run, strict=True)
    ):
        return [colour for _, colour in run]
    result = []
    index = 0
    for i in range(FINEST):
        x = low + (high - low) * i / (FINEST - 1)
        while index < steps - 1 and x > run[index + 1][0]:
            index += 1
        (a, first), (b, last) = run[index], run[index + 1]
        share = min(max((x - a) / (b - a), 0.0), 1.0) if b > a else 0.0
        result.append(tuple(p + share * (q - p) for p, q in zip(first, last, strict=True)))
    return result


def numbers_array(values: Sequence[float]) -> pikepdf.Array:
    """Return numbers as an array as PDF writes them."""
    return pikepdf.Array([Decimal(write_number(value)) for value in values])
