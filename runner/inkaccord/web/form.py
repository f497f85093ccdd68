"""The fields of an order that the page has a form for, as they stand or as they were typed."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from itertools import chain
from typing import Any

from inkaccord.colour.builds import Drive
from inkaccord.order.amending import FieldPath, written_at
from inkaccord.order.annotations import at, choices, members, models_in
from inkaccord.order.model import Order
from inkaccord.order.stocks import StockKind
from inkaccord.sizes import mostly_metric
from inkaccord.units import Points, spoken_length
from inkaccord.web.draft import AIM, CALL, FIELD, as_typed_in
from inkaccord.web.price_table import is_price_table
from inkaccord.web.studio import OrderOnPage

_USUAL = 26
"""Characters that a field shows at once on a telephone and on a wide screen alike."""
_ORDER = {
    "title": ("What it is", ""),
    "suites": ("Complete sets", "50"),
    "date": ("Date of the order", "2026-11-28"),
    "due": ("Due", "2026-12-18"),
    "deliver_to": ("Deliver to", ""),
    "post": ("Goes by post", ""),
    "currency": ("Currency of prices", "EUR"),
}
_PIECE = {
    "trim": ("Trim", "5in x 7in"),
    "device": ("Printer", ""),
    "stock": ("Paper", ""),
    "per_suite": ("In each set", "1"),
    "extra": ("Extra", "0"),
    "fold": ("Fold", "vertical, or 4in"),
    "bleed": ("Bleed of its own", ""),
    "bleed_repair": ("Where bleed is missing", ""),
    "addressed": ("Bears an address", ""),
    "waive": ("Findings accepted, and why", "no-bleed: its edge is torn"),
}
_VENDOR = {
    "title": ("Full name", ""),
    "delivers": ("Takes", ""),
    "bleed": ("Bleed", ""),
    "lead_days": ("Working days it needs", "0"),
    "marks": ("Crop marks", ""),
    "gutter": ("Gutter on whole sheets", ""),
    "frame": ("Frame on whole sheets", "what whole marks need"),
}
_DEVICE = {
    "drive": ("Mixes", ""),
    "sheets": ("Sheet sizes", "letter, 12x18"),
    "setting": ("Driver setting", ""),
}
_STOCK = {
    "kind": ("Comes as", ""),
    "size": ("Size", "letter"),
    "weight": ("Weight", "300 g/m2"),
}
_TABLE = ("Price of one", "0.72 up to 100; 0.55 up to 250; 0.46")
_TABLE_ALONE = {"table": _TABLE, "setup": ("Set-up, each time", "35")}
_PRICES = {
    **_TABLE_ALONE,
    "delivery": ("Delivery of one parcel", "11.90"),
    "parcels": ("Parcels", "1"),
    "overs": ("Overs are", ""),
    "currency": ("Currency, if another", "EUR"),
}
_SAMPLES = {
    "table": ("Price of one page", "4"),
    "setup": ("Set-up for each pair", "0"),
    "delivery": ("Delivery", "0"),
}
_OWN = {
    "by_piece": "The piece {} costs otherwise",
    "by_stock": "What is printed on {} costs otherwise",
}
"""Where a vendor has tables of their own for its pieces and stocks, and what the form calls one."""
_IN_MM = {
    "5in x 7in": "120mm x 170mm",
    "vertical, or 4in": "vertical, or 100mm",
    "letter": "a4",
    "letter, 12x18": "a4, sra3",
}
"""Examples for an order in inches, and what stands in their place for one in millimetres."""
_WORDS = {
    "sheets": "whole sheets, laid by us",
    "pieces": "single pieces",
    "cmyk": "CMYK",
    "rgb": "RGB",
    "report": "it is a finding",
    "mirror": "the rim is mirrored",
    "scale": "the page is enlarged",
    "usps": "United States Postal Service",
    "royal-mail": "Royal Mail",
    "true": "yes",
    "false": "no",
    "charged": "paid too",
    "free": "free",
}


@dataclass(frozen=True)
class Field:
    """One field of a form.

    Attributes
    ----------
    name
        What the form calls it.
    path
        Where it stands in the order.
    options
        The words that may be chosen, with what they mean; empty where one types.
    """

    name: str
    path: FieldPath
    label: str
    value: str
    example: str = ""
    options: tuple[tuple[str, str], ...] = ()

    @property
    def has_lines(self) -> bool:
        """Whether it goes on in further lines, and is as wide as there is room."""
        return is_price_table(self.path) or len(self.value) > _USUAL


@dataclass(frozen=True)
class FieldGroup:
    """Fields that belong together, and what the order calls them."""

    name: str
    path: FieldPath
    fields: tuple[Field, ...]
    call: Field | None = None
    groups: tuple["FieldGroup", ...] = ()

    @property
    def is_filled_in(self) -> bool:
        """Whether anything stands in it."""
        return any(it.value for it in self.every())

    def every(self) -> Iterator[Field]:
        """Yield its fields, and those of its parts."""
        yield from self.fields
        if self.call is not None:
            yield self.call
        yield from chain.from_iterable(it.every() for it in self.groups)


class Form:
    """The form of an order: its fields with what stands in the file, or what was typed instead."""

    def __init__(self, order: OrderOnPage, typed: Mapping[str, str]) -> None:
        self._text, self._typed = order.text, typed
        self._metric = mostly_metric(it.trim for it in order.loaded.order.pieces.values())
        vendors = order.loaded.order.vendors.values()
        self.devices = tuple(device for vendor in vendors for device in vendor.devices)
        self.stock_kinds = tuple(it.value for it in StockKind)
        self.drives = tuple((it.value, _WORDS[it]) for it in Drive)
        self.order = FieldGroup("order", (), self._fields((), _ORDER))
        self.pieces = [self._piece(it, order.loaded.order) for it in self._names("pieces")]
        self.vendors = [self._vendor(name) for name in self._names("vendors")]
        self.stocks = [self._named(("stocks", name), _STOCK) for name in self._names("stocks")]
        self.unused = _unused(order.loaded.order)
        self.prices = {it.name: self._prices(it.path, order.loaded.order) for it in self.vendors}

    def value(self, name: str, stands: str = "") -> str:
        """Return what was typed into a field, else what stands there."""
        return self._typed.get(name, stands)

    def fields(self) -> Iterator[Field]:
        """Yield every field."""
        yield from self.order.fields
        yield from chain.from_iterable(it.every() for it in self.groups())
        yield from chain.from_iterable(it.every() for it in self.prices.values())

    def groups(self) -> Iterator[FieldGroup]:
        """Yield every piece, vendor and stock."""
        yield from chain(self.pieces, self.vendors, self.stocks)

    def aim(self, colour: str, part: str, stands: str) -> str:
        """Return a part of a colour's aim."""
        return self.value(f"{AIM}{colour}/{part}", stands)

    def _names(self, *path: str) -> tuple[str, ...]:
        found = written_at(self._text, path)
        return tuple(found) if isinstance(found, Mapping) else ()

    def _piece(self, name: str, order: Order) -> FieldGroup:
        """Return the fields of a piece; where it has no bleed of its own, its vendor's counts."""
        fields = dict(_PIECE)
        if name in order.jobs:
            bleed_pt = order.jobs[name].bleed_pt
            fields["bleed"] = (_PIECE["bleed"][0], spoken_length(bleed_pt, metric=self._metric))
        return self._named(("pieces", name), fields)

    def _vendor(self, name: str) -> FieldGroup:
        path = ("vendors", name)
        if written_at(self._text, (*path, "kind")) is not None:
            return FieldGroup(name, path, (), self._call(path))
        devices = (("vendors", name, "devices", it) for it in self._names(*path, "devices"))
        groups = tuple(self._named(it, _DEVICE) for it in devices)
        return FieldGroup(name, path, self._fields(path, _VENDOR), self._call(path), groups)

    def _prices(self, vendor: FieldPath, order: Order) -> FieldGroup:
        """Return what a vendor asks, with the tables of its sample sheets, pieces and stocks."""
        path = (*vendor, "prices")
        whole = self._table("What it asks", path, _PRICES)
        if len(whole.fields) == 1:
            return whole  # lines alone: there is no place for more beside them
        jobs = order.jobs_of(vendor[-1]) if vendor[-1] in order.vendors else ()
        own = {"by_piece": [it.name for it in jobs], "by_stock": [it.pair.stock for it in jobs]}
        groups = [self._table("Sample sheets", (*path, "samples"), _SAMPLES)]
        for part, words in _OWN.items():
            for name in dict.fromkeys([*self._names(*path, part), *own[part]]):
                group = (*path, part, name)
                groups.append(self._table(words.format(name), group, _TABLE_ALONE))
        return replace(whole, groups=tuple(groups))

    def _table(
        self, name: str, path: FieldPath, fields: Mapping[str, tuple[str, str]]
    ) -> FieldGroup:
        """Return the fields of a price table, or its lines alone where the file has only those."""
        if isinstance(written_at(self._text, path), Mapping | None):
            return FieldGroup(name, path, self._fields(path, fields))
        return FieldGroup(name, path, (self._field(path, *fields["table"]),))

    def _named(self, path: FieldPath, fields: Mapping[str, tuple[str, str]]) -> FieldGroup:
        return FieldGroup(path[-1], path, self._fields(path, fields), self._call(path))

    def _call(self, path: FieldPath) -> Field:
        name = CALL + "/".join(path)
        return Field(name, path, "Called", self.value(name, path[-1]))

    def _fields(self, above: FieldPath, fields: Mapping[str, tuple[str, str]]) -> tuple[Field, ...]:
        return tuple(self._field((*above, it), *told) for it, told in fields.items())

    def _field(self, path: FieldPath, label: str, example: str) -> Field:
        name = FIELD + "/".join(path)
        value = self.value(name, as_typed_in(self._text, path))
        options = self._options(path)
        if options and value not in dict(options):
            options = (*options, (value, value))
        usual = _default(path)
        if isinstance(usual, Points):
            example = spoken_length(usual, metric=self._metric)
        return Field(name, path, label, value, self.as_measured(example), options)

    def as_measured(self, example: str) -> str:
        """Return an example in the units that most pieces have."""
        return _IN_MM.get(example, example) if self._metric else example

    def _options(self, path: FieldPath) -> tuple[tuple[str, str], ...]:
        if path[0] == "pieces" and path[-1] == "stock":
            return tuple((it, it) for it in self._names("stocks"))
        if path[0] == "pieces" and path[-1] == "device":
            return tuple((it, it) for it in self.devices)
        field = at(Order, path)
        words = ("true", "false") if bool in members(field) else tuple(choices(field))
        return (("", _usual(path)), *((it, _WORDS.get(it, it)) for it in words)) if words else ()


def _unused(order: Order) -> set[FieldPath]:
    """Return the vendors, devices and stocks that no piece is printed by, or on."""
    stocks = {it.pair.stock for it in order.jobs.values()}
    devices = {it.device for it in order.pairs_needed()}
    return {
        *(("vendors", it) for it in order.vendors if it not in order.printing),
        *(
            ("vendors", vendor, "devices", device)
            for vendor in order.printing
            for device in order.vendors[vendor].devices
            if device not in devices
        ),
        *(("stocks", it) for it in order.stocks if it not in stocks),
    }


def _usual(path: FieldPath) -> str:
    """Return in words what a field is when it is left out."""
    default = _default(path)
    if isinstance(default, bool):
        word = "true" if default else "false"
    else:
        word = default.value if isinstance(default, Enum) else default or ""
    return f"{_WORDS.get(word, word)} (as usual)" if word else "not said"


def _default(path: FieldPath) -> Any:
    """Return what a field is when it is left out."""
    (above,) = models_in(at(Order, path[:-1])) if len(path) > 1 else [Order]
    return above.model_fields[path[-1]].default
