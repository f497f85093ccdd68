"""Sampled functions against ISO 32000-2:2020, 7.10.2, and the limit on their tables."""

from collections.abc import Callable

import pikepdf
import pytest
from pikepdf import Array

from inkaccord.pdf.colours.functions import BadFunctionError, read_function
from inkaccord.pdf.streams import StreamReader


def sampled(pdf: pikepdf.Pdf) -> pikepdf.Stream:
    """Return a function from 0 to 1 with three samples of one output: 0, 1 and 0.2."""
    return pdf.make_stream(
        bytes((0, 255, 51)), FunctionType=0, Domain=Array([0, 1]), Range=Array([0, 1]),
        Size=Array([3]), BitsPerSample=8,
    )  # fmt: skip


def test_between_samples_a_function_runs_straight(bound: Callable[..., None]) -> None:
    bound(function_samples=3)
    with pikepdf.new() as pdf:
        function = read_function(sampled(pdf), StreamReader())
        assert [function(x)[0] for x in (0, 0.25, 0.5, 0.75, 1)] == pytest.approx(
            [0, 0.5, 1, 0.6, 0.2]
        )


def test_a_table_is_looked_up_once_where_two_sections_meet() -> None:
    with pikepdf.new() as pdf:
        first, second = read_function(sampled(pdf), StreamReader()).cut()
    assert second.low == first.high == 0.5
    assert second(0.5) is first(0.5)
    assert first(0.5) == (1.0,)


def test_a_table_beyond_the_limit_is_refused_by_the_limits_name(bound: Callable[..., None]) -> None:
    bound(function_samples=2)
    with (
        pikepdf.new() as pdf,
        pytest.raises(BadFunctionError, match="3 numbers; the limit function_samples is 2"),
    ):
        read_function(sampled(pdf), StreamReader())


@pytest.mark.parametrize("key", ["/Encode", "/Decode"])
@pytest.mark.parametrize("pairs", [0, 2])
def test_a_table_with_other_pairs_than_its_inputs_and_outputs_is_refused(
    key: str, pairs: int
) -> None:
    """A missing pair would leave an output at 0, and of one more nobody knows what it means."""
    with pikepdf.new() as pdf:
        function = sampled(pdf)
        function[key] = Array([0, 1] * pairs)
        with pytest.raises(BadFunctionError, match="does not add up"):
            read_function(function, StreamReader())
