"""Findings, and how they are told of together."""

from inkaccord.diagnostics import error, note, with_mends


def test_of_findings_in_a_row_that_are_mended_alike_the_last_says_how() -> None:
    left, right = (error("no-bleed", f"{side} of the page", hint="draw on") for side in "lr")
    small = note("type-small", "type of 4 pt", hint="set it larger")
    told = list(with_mends([left, right, small, left]))
    assert [it for it, _ in told] == [left, right, small, left]
    assert [mends for _, mends in told] == [(), ("draw on",), ("set it larger",), ("draw on",)]
    assert [it.is_to_mend for it in (left, small)] == [True, False]
