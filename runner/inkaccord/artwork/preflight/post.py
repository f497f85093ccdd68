"""The post: can machines read the address, and does the size go through as a letter.

A check before asking, not a release: local postal rules come first.
"""

from collections.abc import Iterator

from inkaccord.artwork.preflight.case import AddressInk, OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.colour.legibility import (
    Measure,
    Shortfall,
    royal_mail_shortfalls,
    usps_shortfalls,
)
from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.units import inch

USPS_LETTER_IN = ((5.0, 11.5), (3.5, 6.125))
"""Least and greatest length and height of a letter (USPS Domestic Mail Manual 202/101)."""
USPS_ASPECT = (1.3, 2.5)
"""Length over height of a machinable letter, same source."""


def check_address(
    artwork: OpenArtwork, _: ArtworkRules, context: PreflightContext
) -> Iterator[Diagnostic]:
    """``address-contrast``: reflectance difference, and contrast where the post asks for it.

    The limits and where they come from: :mod:`inkaccord.colour.legibility`.
    """
    if not context.addressed:
        return
    if not context.address_inks:
        yield note(
            "address-contrast-unknown",
            "the piece is addressed, but no reading says how the address stands on its stock",
            place=artwork.place_of_page(1),
            hint="read the paper and the address's ink on this pair",
        )
    for ink in context.address_inks:
        troubles = [_in_words(short) for short in _shortfalls(ink, context)]
        if troubles:
            yield warning(
                "address-contrast",
                f"an address in {ink.name} may not be read by machines: {'; '.join(troubles)} "
                "(estimated, not read)",
                place=artwork.place_of_page(1),
                hint="or take a lighter paper, or a white label",
            )


def _shortfalls(ink: AddressInk, context: PreflightContext) -> Iterator[Shortfall]:
    """Yield what falls short for the post that the order names; for both where it names none."""
    if context.post != "royal-mail":
        yield from usps_shortfalls(ink.ground, ink.ink)
    if context.post != "usps":
        yield from royal_mail_shortfalls(ink.ground, ink.ink)


def _in_words(short: Shortfall) -> str:
    asked = f"at least {short.least:.0%} asked"
    if short.measure is Measure.PAPER:
        return f"the paper reflects {short.reached:.0%} {short.band}, {asked}"
    if short.measure is Measure.CONTRAST:
        return f"contrast {short.reached:.0%}, {asked}"
    return f"reflectance difference {short.reached:.0%} {short.band}, {asked}"


def check_mail_size(
    artwork: OpenArtwork, rules: ArtworkRules, context: PreflightContext
) -> Iterator[Diagnostic]:
    """``mail-size``, ``mail-aspect``: a letter for the USPS by size, machinable by shape."""
    if not context.mailed or context.post == "royal-mail":
        return
    size = rules.trim or next((boxes.trim_size for _, boxes in artwork.pages()), None)
    if size is None:
        return
    length, height = sorted((inch(size.width_pt), inch(size.height_pt)), reverse=True)
    (short, long), (low, high) = USPS_LETTER_IN
    slack = 0.005
    if not (short - slack <= length <= long + slack and low - slack <= height <= high + slack):
        yield warning(
            "mail-size",
            f"{size} is outside the letter sizes of the USPS, 3½ × 5 to 6⅛ × 11½ in",
            place=artwork.place_of_page(1),
            hint="choose another size, or reckon with another rate; ask the post first",
        )
    elif not USPS_ASPECT[0] <= length / height <= USPS_ASPECT[1]:
        yield warning(
            "mail-aspect",
            f"length over height is {length / height:.2f}; machines of the USPS take 1.3 to 2.5",
            place=artwork.place_of_page(1),
            hint="choose another shape, or reckon with a surcharge; ask the post first",
        )
