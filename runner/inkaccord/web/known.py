"""Printers and papers to choose from: those the shelf knows, and vendors of the other orders."""

from collections.abc import Mapping
from dataclasses import dataclass

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.foresight.adding import add_pair, add_vendor
from inkaccord.foresight.beginning import plain_size
from inkaccord.order.amending import Written, written_at
from inkaccord.order.names import as_name
from inkaccord.order.naming import Changes
from inkaccord.shelf.place import is_there
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from inkaccord.web.studio import OrderOnPage, Studio

NEW = "new/"
"""What the names of the fields for a new printer begin with."""
ON_SHELF, SAVED = "shelf:", "saved:"


@dataclass(frozen=True)
class KnownPrinters:
    """What may be chosen, by the word that the form sends for each."""

    on_shelf: Mapping[str, Pair]
    saved: Mapping[str, str]
    """Vendors of other orders, each with its order's name in words."""


def known_printers(studio: Studio, order: OrderOnPage) -> KnownPrinters:
    """Return what an order could be printed on that is not in it yet."""
    there = order.loaded.order
    pairs: tuple[Pair, ...] = ()
    if is_there(order.shelf):
        with Shelf.open(order.shelf) as shelf:
            pairs = shelf.pairs()
    devices = {device for vendor in there.vendors.values() for device in vendor.devices}
    new = (it for it in pairs if it.device not in devices or it.stock not in there.stocks)
    return KnownPrinters(
        {ON_SHELF + str(pair): pair for pair in new},
        {
            f"{SAVED}{other.key}/{name}": f"{name}, as in {other.title}"
            for other in studio.orders()
            if other.key != order.key and other.trouble is None
            for name in other.loaded.order.vendors
            if name not in there.vendors
        },
    )


def asks_for_printer(typed: Mapping[str, str]) -> bool:
    """Tell whether another printer was chosen or filled in."""
    words = (typed.get(NEW + it, "") for it in _ASKED if it not in _CHOSEN)
    return bool(typed.get("printer")) or any(it.strip() for it in words)


def printer_changes(studio: Studio, order: OrderOnPage, typed: Mapping[str, str]) -> Changes:
    """Return what changes in an order for the printer that was asked for.

    What a person calls it becomes a name that an order may give; a vendor keeps the words as title.
    Raises OrderError where something is left out.
    """
    chosen = typed.get("printer", "")
    if chosen.startswith(SAVED):
        key, _, vendor = chosen.removeprefix(SAVED).partition("/")
        other = studio.order(key)
        parts: dict[str, Written] = {}
        for part in ("vendors", "stocks", "pieces"):
            if (found := written_at(other.text, (part,))) is not None:
                parts[part] = found
        return add_vendor(order.loaded.order, parts, vendor)
    said = {it: typed.get(NEW + it, "").strip() for it in _ASKED}
    if chosen.startswith(ON_SHELF):
        pair = Pair.parse(chosen.removeprefix(ON_SHELF))
        drive, size = _on_shelf(order, pair)
        stock: Written = {"size": said["size"] or plain_size(size)}
        vendor = said["vendor"] or next(iter(order.loaded.order.vendors))
        return add_pair(order.loaded.order, vendor, pair, drive, stock)
    missing = [words for it, words in _ASKED.items() if words and not said[it]]
    if missing:
        raise OrderError.of(
            "printer-unnamed",
            f"a new printer needs {' and '.join(missing)}",
            hint="write it beside, or choose one that is known",
        )
    drive = Drive(said["drive"]) if said["drive"] in set(Drive) else Drive.CMYK
    fields = {it: said[it] for it in ("kind", "size", "weight") if said[it]}
    vendor, device, stock = (as_name(said[it]) or said[it] for it in ("vendor", "device", "stock"))
    there = order.loaded.order
    changes = add_pair(there, vendor, Pair(device=device, stock=stock), drive, fields)
    if vendor != said["vendor"] and vendor not in there.vendors:
        changes["vendors", vendor, "title"] = said["vendor"]
    return changes


_ASKED = {
    "vendor": "a vendor",
    "device": "a printer",
    "stock": "a paper",
    "size": "the paper's size",
    "drive": "",
    "kind": "",
    "weight": "",
}
"""The fields of a new printer; in words those that it can't do without."""
_CHOSEN = {"drive", "kind"}
"""Those of them that say something as they stand."""


def _on_shelf(order: OrderOnPage, pair: Pair) -> tuple[Drive, Size]:
    """Return what the shelf has of a pair: how it is driven, and the size of its sheets."""
    with Shelf.open(order.shelf) as shelf:
        sheets = shelf.sheets(pair)
    if not sheets:
        raise OrderError.of(
            "no-such-pair", f"the shelf has no sheet of {pair} any more", hint="write it beside"
        )
    return sheets[-1].sheet.drive, sheets[-1].sheet.size
