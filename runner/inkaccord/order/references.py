"""Names in an order that point at other parts of it.

Checked on the plain data, so that a wrong name is reported beside a wrong number, in one go.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, error, warning
from inkaccord.order.finishes import FinishKind
from inkaccord.order.mistakes import suggest
from inkaccord.order.source import Path_, Source
from inkaccord.order.vendors import Vendor


def check_references(source: Source, vendors: Mapping[str, Vendor | None]) -> list[Diagnostic]:
    """Return every reference to something that is not there.

    ``vendors`` holds the profiles that could be made; None marks one that is itself wrong, whose
    devices are then taken from the file as far as they can be read.
    """
    return list(_check(source, vendors))


def _check(source: Source, vendors: Mapping[str, Vendor | None]) -> Iterator[Diagnostic]:
    owners = _owners(source, vendors)
    known = _Known(source, vendors, owners)
    yield from _owned_twice(source, owners)
    for vendor, profile in vendors.items():
        for device, described in (profile.devices if profile else {}).items():
            for number, stock in enumerate(described.stocks):
                at = ("vendors", vendor, "devices", device, "stocks", number)
                yield from known.stock(stock, at)
    used: set[str] = set()
    for name, piece in _mapping(source.data, "pieces").items():
        yield from _accepted(source, name, piece)
        device, stock = _get(piece, "device"), _get(piece, "stock")
        yield from known.device(device, ("pieces", name, "device"))
        yield from known.stock(stock, ("pieces", name, "stock"))
        if isinstance(stock, str):
            used.add(stock)
        if isinstance(device, str) and isinstance(stock, str) and stock in known.stocks:
            pair = Pair(device=device, stock=stock)
            yield from _taken(source, vendors, owners, pair, ("pieces", name, "stock"))
    for pair, path in _pairs_named(source.data):
        yield from known.device(pair.device, path)
        yield from known.stock(pair.stock, path)
        if pair.stock in known.stocks:
            yield from _taken(source, vendors, owners, pair, path)
        used.add(pair.stock)
    yield from _under(source)
    yield from _shared_paints(source)
    yield from _assembled(source)
    yield from _going(source)
    for stock in sorted(known.stocks - used):
        yield warning(
            "unused-stock",
            "no piece is printed on this stock",
            place=source.place(("stocks", stock)),
            hint="remove it, or print a piece on it",
        )


def _devices(source: Source, vendor: str, profile: Vendor | None) -> Mapping[str, Any]:
    """Return the devices of a vendor: by its profile, or as far as the file can be read."""
    written = _mapping(_mapping(source.data, "vendors").get(vendor), "devices")
    return profile.devices if profile else written


def _owners(source: Source, vendors: Mapping[str, Vendor | None]) -> Mapping[str, list[str]]:
    """Return every device with the vendors that have it."""
    owners: dict[str, list[str]] = {}
    for vendor, profile in vendors.items():
        for device in _devices(source, vendor, profile):
            owners.setdefault(device, []).append(vendor)
    return owners


def _owned_twice(source: Source, owners: Mapping[str, list[str]]) -> Iterator[Diagnostic]:
    for device, names in owners.items():
        if len(names) > 1:
            yield error(
                "device-twice",
                f"the device '{device}' belongs to {' and '.join(names)}",
                place=source.place(("vendors", names[1], "devices", device)),
                hint="give each device a name of its own, such as "
                f"'{names[1]}-{device}': colour knowledge is kept under it",
            )


def _pairs_named(data: Any) -> Iterator[tuple[Pair, Path_]]:
    """Yield each pair that an order speaks of apart from its pieces, and where."""
    said: list[tuple[Any, Path_]] = [
        (_get(_get(colour, "aim"), "on"), ("colours", name, "aim", "on"))
        for name, colour in _mapping(data, "colours").items()
    ]
    for on, path in (*said, (_get(data, "photographs_from"), ("photographs_from",))):
        if isinstance(on, str):
            try:
                pair = Pair.parse(on)
            except ValueError:
                continue  # the model says so
            yield pair, path


class _Known:
    """Tells of a device or a stock that is none of the order's."""

    def __init__(
        self, source: Source, vendors: Mapping[str, Vendor | None], owners: Mapping[str, list[str]]
    ) -> None:
        self._source = source
        self._devices = set(owners)
        self._complete = all(
            profile or _devices(source, vendor, profile) for vendor, profile in vendors.items()
        )
        self.stocks = set(_mapping(source.data, "stocks"))

    def device(self, name: Any, path: Path_) -> Iterator[Diagnostic]:
        """Tell whether there is such a device, if all are known."""
        if self._complete:
            yield from self._missing("unknown-device", "device", name, self._devices, path)

    def stock(self, name: Any, path: Path_) -> Iterator[Diagnostic]:
        """Tell whether there is such a stock."""
        yield from self._missing("unknown-stock", "stock", name, self.stocks, path)

    def _missing(
        self, code: str, kind: str, name: Any, names: set[str], path: Path_
    ) -> Iterator[Diagnostic]:
        if isinstance(name, str) and name not in names:
            yield error(
                code,
                f"there is no {kind} '{name}'",
                place=self._source.place(path),
                hint=suggest(name, names),
            )


def _taken(
    source: Source,
    vendors: Mapping[str, Vendor | None],
    owners: Mapping[str, list[str]],
    pair: Pair,
    path: Path_,
) -> Iterator[Diagnostic]:
    for vendor in owners.get(pair.device, ()):
        profile = vendors[vendor]
        takes = profile.devices[pair.device].stocks if profile else ()
        if takes and pair.stock not in takes:
            yield error(
                "stock-not-taken",
                f"{vendor}'s device '{pair.device}' does not take the stock '{pair.stock}'",
                place=source.place(path),
                hint=f"it takes {', '.join(takes)}; add '{pair.stock}' to the device's 'stocks' "
                "if it takes that too",
            )


def _accepted(source: Source, piece: str, written: Any) -> Iterator[Diagnostic]:
    colours = set(_mapping(source.data, "colours"))
    for colour in _mapping(written, "accept"):
        if colour not in colours:
            yield error(
                "no-such-colour",
                f"there is no colour '{colour}'",
                place=source.place(("pieces", piece, "accept", colour)),
                hint=suggest(colour, colours),
            )


def _under(source: Source) -> Iterator[Diagnostic]:
    """Yield each stock whose white is none of the order's finishes."""
    whites = {
        name
        for name, written in _mapping(source.data, "finishes").items()
        if str(_get(written, "finish")).lower() == FinishKind.WHITE
    }
    for name, stock in _mapping(source.data, "stocks").items():
        under = _get(stock, "under")
        if isinstance(under, str) and under not in whites:
            yield error(
                "unknown-finish",
                f"there is no white '{under}' among the order's finishes",
                place=source.place(("stocks", name, "under")),
                hint=suggest(under, whites),
            )


def _shared_paints(source: Source) -> Iterator[Diagnostic]:
    seen: dict[str, str] = {}
    named = [
        (part, name, _get(written, "in_artwork"))
        for part in ("colours", "finishes")
        for name, written in _mapping(source.data, part).items()
    ]
    for part, name, paints in named:
        for number, paint in enumerate(paints if isinstance(paints, list) else ()):
            text = " ".join(str(paint).lower().split())
            one = f"the {'colour' if part == 'colours' else 'finish'} '{name}'"
            if seen.get(text, one) != one:
                yield error(
                    "colour-shared",
                    f"'{paint}' already stands for {seen[text]}",
                    place=source.place((part, name, "in_artwork", number)),
                    hint="what artwork holds can stand for one colour or one finish only",
                )
            seen.setdefault(text, one)


def _assembled(source: Source) -> Iterator[Diagnostic]:
    pieces = _mapping(source.data, "pieces")
    named = _get(source.data, "assembly")
    seen: set[str] = set()
    for number, name in enumerate(named if isinstance(named, list) else ()):
        place = source.place(("assembly", number))
        if not isinstance(name, str):
            continue  # the model says so
        if name not in pieces:
            yield error(
                "unknown-piece",
                f"there is no piece '{name}'",
                place=place,
                hint=suggest(name, set(pieces)),
            )
        elif name in seen:
            yield error(
                "assembled-twice",
                f"'{name}' is named twice",
                place=place,
                hint="how many go into a suite is the piece's per_suite",
            )
        elif _get(pieces[name], "per_suite") == 0:
            yield error(
                "not-in-suite",
                f"'{name}' goes into no suite: its per_suite is 0",
                place=place,
                hint="leave it out here, or give it a per_suite",
            )
        seen.add(name)


def _going(source: Source) -> Iterator[Diagnostic]:
    """Yield pieces that go with one that is not there, or that goes with another itself."""
    pieces = _mapping(source.data, "pieces")
    others = {name: _goes_with(piece) for name, piece in pieces.items()}
    for name, other in others.items():
        place = source.place(("pieces", name, "goes"))
        if other is None:
            continue
        if other not in pieces or other == name:
            yield error(
                "unknown-piece",
                f"there is no other piece '{other}'",
                place=place,
                hint=suggest(other, set(pieces) - {name}),
            )
        elif others[other] is not None:
            yield error(
                "goes-with-another",
                f"'{other}' goes with '{others[other]}' itself",
                place=place,
                hint=f"let '{name}' go with '{others[other]}' too",
            )


def _goes_with(piece: Any) -> str | None:
    goes = _get(piece, "goes")
    word, _, other = goes.strip().partition(" ") if isinstance(goes, str) else ("", "", "")
    return other.strip() if word == "with" and other else None


def _get(value: Any, key: str) -> Any:
    return value.get(key) if isinstance(value, dict) else None


def _mapping(value: Any, key: str) -> dict[str, Any]:
    found = _get(value, key)
    return found if isinstance(found, dict) else {}
