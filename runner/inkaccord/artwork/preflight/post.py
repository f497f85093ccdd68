"""The post: can machines read the address, and does the size go through as a letter.

A check before asking, not a release: local postal rules come first.
"""

from collections.abc import Iterator

from inkaccord.artwork.preflight.case import AddressInk, Artwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.colour.legibility import (
    LEAST_CONTRAST,
    LEAST_DIFFERENCE,
    LEAST_PAPER,
    Known,
    reflectance_contrast,
)
from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.units import inch

USPS_LETTER_IN = ((5.0, 11.5), (3.5, 6.125))
"""Least and greatest length and height of a letter (USPS Domestic Mail Manual 202/101)."""
USPS_ASPECT = (1.3, 2.5)
"""Length over height of a machinable letter, same source."""


def check_address(
    artwork: Artwork, _: ArtworkRules, context: PreflightContext
) -> Iterator[Diagnostic]:
    """``address-contrast``: reflectance difference, and contrast where the post asks for it.

    USPS Publication 25, §10-3: background less ink at least 30 % in red and in green. Royal Mail's
    guidance for machine-read mail: paper at least 35 % at 600 nm, difference at least 30 %,
    contrast at least 50 %.
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
        troubles = list(_usps(ink)) if context.post != "royal-mail" else []
        if context.post != "usps" and ink.at_600_nm is not None:
            troubles += _royal_mail(*ink.at_600_nm)
        if troubles:
            yield warning(
                "address-contrast",
                f"an address in {ink.name} may not be read by machines: {'; '.join(troubles)}"
                + ("" if ink.contrast.known is Known.READ else " (estimated, not read)"),
                place=artwork.place_of_page(1),
                hint="set the address in black, or on a lighter paper or a white label",
            )


def _usps(ink: AddressInk) -> Iterator[str]:
    for light, difference in (
        ("red", ink.contrast.difference_red),
        ("green", ink.contrast.difference_green),
    ):
        if difference < LEAST_DIFFERENCE - 1e-9:
            yield f"reflectance difference {difference:.0%} in {light}, at least 30% asked"


def _royal_mail(ground: float, ink: float) -> list[str]:
    found = []
    if ground < LEAST_PAPER - 1e-9:
        found.append(f"the paper reflects {ground:.0%} at 600 nm, at least 35% asked")
    if ground - ink < LEAST_DIFFERENCE - 1e-9:
        found.append(f"reflectance difference {ground - ink:.0%} at 600 nm, at least 30% asked")
    contrast = reflectance_contrast(ground, ink)
    if contrast < LEAST_CONTRAST - 1e-9:
        found.append(f"contrast {contrast:.0%}, at least 50% asked")
    return found


def check_mail_size(
    artwork: Artwork, rules: ArtworkRules, context: PreflightContext
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
