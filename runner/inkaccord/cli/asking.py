"""The shelf that questions without an order are put to."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from inkaccord.cli.shared import Settings
from inkaccord.cli.shelf_place import find_shelf, same_place, shelf_with

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inkaccord.artwork.swaps import Swap
    from inkaccord.diagnostics import Diagnostic
    from inkaccord.order.wanted import Wanted
    from inkaccord.recording.asked import AskedShelf


@contextmanager
def asked_shelf(settings: Settings, colours: "Sequence[Wanted]") -> Iterator["AskedShelf"]:
    """Open the shelf that some colours are asked of: where one is a swatch, that of its sheet."""
    from inkaccord.recording.asked import AskedShelf
    from inkaccord.shelf.store import Shelf

    sheets = [it.swatch.sheet for it in colours if it.swatch is not None]
    place = shelf_with(settings, sheets[0]) if sheets else find_shelf(settings)
    with Shelf.open(place) as shelf:
        yield AskedShelf(shelf, settings.named_order, same_place(settings))


def asked_swaps(
    settings: Settings, texts: "Sequence[str]"
) -> "tuple[list[Swap], list[Diagnostic]]":
    """Read swaps whose new colours may be asked of the shelf, and what to say of those.

    Raises OrderError as :func:`inkaccord.artwork.swaps.parse_swap` does, and for what the shelf
    can't answer.
    """
    from inkaccord.artwork.swaps import parse_swap
    from inkaccord.order.wanted import parse_new

    swaps: list[Swap] = []
    findings: list[Diagnostic] = []
    for text in texts:
        old, equals, new = text.partition(" = ")
        wanted = parse_new(new) if equals else None
        if wanted is None:
            swaps.append(parse_swap(text))
            continue
        from inkaccord.knowledge.asking import build_of_new  # loads all that knows of pairs

        with asked_shelf(settings, [wanted[0]]) as source:
            build, said = build_of_new(*wanted, source)
        swaps.append(parse_swap(f"{old} = {build}"))
        findings.append(said)
    return swaps, findings
