"""More artwork, and more printers and papers, for an order that is there."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.files import read_bytes
from inkaccord.foresight.beginning import as_piece, distinct, named_artworks, plain_size
from inkaccord.order.amending import Written
from inkaccord.order.model import Order
from inkaccord.order.naming import Changes

_SPARE = 1000


def add_artwork(
    order: Order, folder: Path, artworks: Sequence[Path]
) -> tuple[dict[str, bytes], Changes]:
    """Return the files to put beside an order, and its new pieces, on the last one's pair.

    Their colours are the order's where it has them; the others are left to a person.

    Raises
    ------
    InkaccordError
        What is wrong with any of the files.
    """
    files: dict[str, bytes] = {}
    changes: Changes = {}
    last = list(order.pieces.values())[-1]
    for name, path in named_artworks(artworks, order.pieces).items():
        data = read_bytes(path)
        piece = as_piece(name, inventory(data, dpi=72, name=f"{name}.pdf"))
        file = _free(folder, piece.file)
        files[file] = data
        changes["pieces", name] = {
            "artwork": file,
            "trim": plain_size(piece.trim),
            "device": last.device,
            "stock": last.stock,
        }
    return files, changes


def _free(folder: Path, file: str) -> str:
    """Return a name that no file has yet."""
    plain = Path(file)
    others = (f"{plain.parent}/{plain.stem}-{number}{plain.suffix}" for number in range(2, _SPARE))
    return next(it for it in (file, *others) if not (folder / it).exists())


def add_pair(order: Order, vendor: str, pair: Pair, drive: Drive, stock: Written) -> Changes:
    """Return what an order needs for a pair: its vendor, device and stock, if it has not got them.

    Parameters
    ----------
    stock
        The fields of the stock.
    """
    changes: Changes = {}
    device = {} if drive is Drive.CMYK else {"drive": drive.value}
    device |= {"setting": pair.setting} if pair.setting else {}
    if vendor not in order.vendors:
        changes["vendors", vendor] = {"devices": {pair.device: device}}
    elif pair.device not in order.vendors[vendor].devices:
        changes["vendors", vendor, "devices", pair.device] = device
    if pair.stock not in order.stocks:
        changes["stocks", pair.stock] = stock
    return changes


def add_vendor(order: Order, other: Mapping[str, Written], name: str) -> Changes:
    """Return what an order needs for a vendor of another: its fields, and the stocks used there.

    Parameters
    ----------
    other
        That order, as it is written.
    """
    vendor = _part(_part(other, "vendors"), name)
    pieces = [it for it in _part(other, "pieces").values() if isinstance(it, Mapping)]
    used = {it.get("stock") for it in pieces if it.get("device") in _part(vendor, "devices")}
    changes: Changes = {("vendors", distinct([name], order.vendors)[0]): vendor}
    for stock, fields in _part(other, "stocks").items():
        if stock in used and stock not in order.stocks:
            changes["stocks", stock] = fields
    return changes


def _part(written: Mapping[str, Written], name: str) -> Mapping[str, Written]:
    found = written.get(name)
    return found if isinstance(found, Mapping) else {}
