"""What an order makes of the colours of a piece, beside its brand colours."""

from types import SimpleNamespace

from inkaccord.artwork.swaps import parse_swap
from inkaccord.colour.paints import Paint
from inkaccord.prepress.copies import kept_though_rewritten


def test_a_colour_that_is_kept_stays_though_a_formula_gives_it_for_one_that_changes():
    keep = [Paint.parse(it) for it in ("rgb 0 127.5 25.5", "rgb 1 2 3", "cmyk 0 0 0 100")]
    order = SimpleNamespace(keep=keep)
    (kept,) = kept_though_rewritten(order, [parse_swap("cmyk 85 20 60 30 = cmyk 1 2 3 4")])
    assert kept.old == kept.new == keep[0]
    stays = [parse_swap("cmyk 85 20 60 30 = cmyk 85 20 60 30")]
    assert kept_though_rewritten(order, stays) == ()
