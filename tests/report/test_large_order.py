"""A large order stays usable: 60 pieces on 30 pairs in 20 colours, each piece in every colour."""

import pytest

from large_order_kit import LARGE_COLOURS, LARGE_PAIRS, LARGE_PIECES, large_desk


@pytest.mark.slow
def test_a_large_report_is_under_ten_megabytes_and_shows_everything() -> None:
    desk = large_desk()
    assert len(desk.run.pieces) == LARGE_PIECES
    assert len(desk.order.pairs()) == LARGE_PAIRS
    assert len(desk.run.agreement) == LARGE_COLOURS * (
        LARGE_PIECES + LARGE_PIECES * (LARGE_PIECES - 1) // 2
    )
    html = desk.html
    assert len(html.encode()) < 10_000_000
    for piece in desk.run.pieces:
        assert f"{piece.name}, page 1, original builds" in html
        assert f"{piece.name}, page 1, matched builds" in html
    assert html.count('class="matrix"') == LARGE_COLOURS
    assert html.count("in a* and b*: what it reaches") == LARGE_PAIRS
