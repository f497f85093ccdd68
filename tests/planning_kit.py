"""A small order on three pairs, and the values that plans are made from, written by hand."""

import datetime
from types import SimpleNamespace

from inkaccord.colour.agreement.differences import differences
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.values import Evidence, Translation
from inkaccord.order.model import Order
from inkaccord.planning.doubts import Doubt
from inkaccord.recall.recall import computed
from inkaccord.run.agreement import Distance
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sizes import Size

DATE = datetime.date(2026, 11, 28)
ORDER = {
    "order": "tags",
    "date": DATE.isoformat(),
    "suites": 10,
    "colours": {
        "butter": {"aim": {"lab": [90, 0, 30]}, "in_artwork": ["cmyk 3 8 45 0"]},
        "slate": {"aim": {"by_eye": "the roof"}, "in_artwork": ["cmyk 60 30 20 10"]},
    },
    "stocks": {
        "card": {"size": "letter", "colour": [95, 0, 0]},
        "kraft": {"size": "letter", "colour": [64, 10, 24]},
    },
    "vendors": {
        "studio": {"devices": {"laser": {}, "inkjet": {}}},
        "shop": {"devices": {"press": {}}, "lead_days": 5},
    },
    "pieces": {
        "card": {"artwork": "a.pdf", "trim": "5in x 7in", "device": "laser", "stock": "card"},
        "menu": {"artwork": "a.pdf", "trim": "5in x 7in", "device": "press", "stock": "card"},
        "tag": {"artwork": "b.pdf", "trim": "2in x 3.5in", "device": "laser", "stock": "kraft"},
        "label": {"artwork": "b.pdf", "trim": "2in x 3.5in", "device": "laser", "stock": "kraft"},
        "note": {"artwork": "a.pdf", "trim": "5in x 7in", "device": "inkjet", "stock": "card"},
    },
    "tolerances": {"between_pieces": 2.0, "to_aim": 3.0},
}
LASER, PRESS, KRAFT, INKJET = (
    Pair.parse(name) for name in ("laser@card", "press@card", "laser@kraft", "inkjet@card")
)


def order_of(**changes) -> Order:
    """Return the order, with some of its parts changed: ``pieces__tag={...}`` adds to the tag."""
    data = {part: dict(it) if isinstance(it, dict) else it for part, it in ORDER.items()}
    for name, value in changes.items():
        part, _, inner = name.partition("__")
        if inner:
            data[part][inner] = {**data[part][inner], **value}
        else:
            data[part] = value
    return Order.model_validate(data)


def translation(colour, pair, uncertainty, *, off=0.2, evidence=Evidence.READ) -> Translation:
    """Return a translation; one that is off by 1 or more is out of reach."""
    return Translation(
        colour=colour,
        **pair.parts,
        build=Build.cmyk(3, 8, 45, 0),
        evidence=evidence,
        aim_lab=(90.0, 0.0, 30.0),
        predicted_lab=(90.0 - off, 0.0, 30.0),
        delta_e_00=None if evidence is Evidence.PICKED else off,
        uncertainty=uncertainty,
        reachable=off < 1.0,
        lost="" if off < 1.0 else "8 darker",
    )


def distance(piece, other, apart, uncertainty, limit=2.0, *, colour="butter", **more) -> Distance:
    """Return a distance with the verdict that follows."""
    return Distance(
        colour=colour,
        piece=piece,
        other=other,
        delta_e_00=apart,
        uncertainty=uncertainty,
        tolerance=limit,
        verdict=differences([apart], [uncertainty], limit).verdicts[0],
        **more,
    )


def doubt(it: Distance, *sides: Translation) -> Doubt:
    """Return a doubt between sides."""
    return Doubt(it, sides)


def sheet_of(pair, colours=(), *, name="K7Q-XM3", order="tags", date=DATE) -> SampleSheet:
    """Return a sheet with two swatches for each colour."""
    swatches = [
        Swatch(id=f"{'ABCDE'[row]}{at}", build=Build.cmyk(3 + at, 8, 45, 0), colour=colour)
        for row, colour in enumerate(colours or (None,))
        for at in (1, 2)
    ]
    return SampleSheet(
        id=name,
        pair=pair,
        drive=Drive.CMYK,
        purpose=Purpose.CLOSING_IN,
        swatches=tuple(swatches),
        size=Size.parse("a6"),
        order=order,
        date=date,
    )


def bench_of(order: Order, pairs=None) -> SimpleNamespace:
    """Return as much of a bench as plans ask for; no field of the order stands in a file."""
    known = pairs or {}
    return SimpleNamespace(
        order=order,
        pair=lambda pair: known[pair],
        line_of=lambda path: None,
        place=lambda *path: None,
        alternates=lambda piece: {},
        recall=computed,
        accepted_before=(),
    )
