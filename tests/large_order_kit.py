"""A large order in mid-flight, for the tests of how reports and screens take many pieces.

It is made of the example's artwork, and the example's invented printers stand in for every pair.
"""

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from example_pairs_kit import SECOND_DAY, knowledge, printers
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.lab import as_lab
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Evidence, Translation
from inkaccord.order.model import Order
from inkaccord.run.collected import PieceArtwork
from inkaccord.run.record import PieceStatus, RecordedPiece
from report_kit import (
    ORDER,
    Desk,
    Known,
    apart,
    brand_found,
    distances,
    example_order,
    mid_flight,
)

LARGE_PIECES, LARGE_PAIRS, LARGE_COLOURS = 60, 30, 20


@cache
def large_desk() -> Desk:
    """Build, once, an order of 60 pieces on 30 pairs in 20 colours, all on every piece."""
    shop = printers()
    shelves = [(device, stock) for stock in shop.STOCKS for device in shop.DEVICES]
    base = example_order()
    data: dict[str, Any] = base.model_dump(mode="json")
    dice = np.random.default_rng(11)
    names = [*data["colours"], *(f"colour-{at:02}" for at in range(3, LARGE_COLOURS))]
    for at, name in enumerate(names[3:]):
        data["colours"][name] = {
            "aim": {"lab": [20 + 3.5 * at, 30 - 3 * at, -30 + 4 * at]},
            "in_artwork": [f"cmyk {5 * at} 33 {100 - 5 * at} 1"],
        }
    data["vendors"] = {
        f"vendor-{at:02}": {"devices": {f"device-{at:02}": {"drive": _drive(at, shelves)}}}
        for at in range(LARGE_PAIRS)
    }
    data["colours"]["kelp"]["aim"] = {"lab": [33.7, -23.4, 3.9]}
    artworks = [piece["artwork"] for piece in data["pieces"].values()]
    trims = [piece["trim"] for piece in data["pieces"].values()]
    data["pieces"] = {
        f"piece-{at:02}": {
            "artwork": artworks[at % len(artworks)],
            "trim": trims[at % len(trims)],
            "device": f"device-{at % LARGE_PAIRS:02}",
            "stock": shelves[at % LARGE_PAIRS % len(shelves)][1],
        }
        for at in range(LARGE_PIECES)
    }
    order = Order.model_validate(data)
    known: dict[Pair, PairKnowledge] = {}
    translations: list[Translation] = []
    for at, pair in enumerate(order.pairs()):
        device, stock = shelves[at % len(shelves)]
        stand_in = knowledge(base, Pair(device=device, stock=stock))
        facts = replace(stand_in, pair=pair)
        facts.__dict__["model"] = stand_in.model
        known[pair] = facts
        top = 100 if facts.drive is Drive.CMYK else 255
        builds = np.round(
            dice.random((LARGE_COLOURS, 4 if facts.drive is Drive.CMYK else 3)) * top / 2
        )
        labs = np.asarray(stand_in.model.predict_lab(builds))
        translations += [
            Translation(
                colour=name,
                **pair.parts,
                build=Build(drive=facts.drive, values=tuple(row)),
                evidence=Evidence.READ,
                aim_lab=(50.0, 10.0, 10.0),
                predicted_lab=as_lab(lab),
                delta_e_00=round(apart(as_lab(lab), (50.0, 10.0, 10.0)), 3),
                uncertainty=1.0,
                sheets=("D7Q-XM3",),
                known_since=SECOND_DAY,
            )
            for name, row, lab in zip(names, builds.tolist(), labs, strict=True)
        ]
    artworks_found = tuple(
        PieceArtwork(
            piece=name,
            path=piece.artwork,
            sha256="0" * 64,
            pages=1,
            photographs=0,
            colours=tuple(
                brand_found(str(order.colours[colour].in_artwork[0]), colour, 100.0)
                for colour in names
            ),
        )
        for name, piece in order.pieces.items()
    )
    small = mid_flight().run
    pieces = tuple(
        RecordedPiece(
            name=name,
            status=PieceStatus.READY,
            vendor=job.vendor_name,
            **job.pair.parts,
            quantity=job.quantity,
            overs=0,
            sides=1,
            trim_mm=(round(job.piece.trim.in_mm[0], 3), round(job.piece.trim.in_mm[1], 3)),
            colours=tuple(names),
        )
        for name, job in order.jobs.items()
    )
    run = small.model_copy(
        update={
            "pieces": pieces,
            "artworks": artworks_found,
            "translations": tuple(translations),
            "agreement": distances(order, artworks_found, tuple(translations)),
            "sheets": (),
            "files": (),
            "next": (),
        }
    )
    return Desk(order, run, Known(ORDER.parent, order, known), {})


def _drive(at: int, shelves: list[tuple[str, str]]) -> str:
    return str(printers().DEVICES[shelves[at % len(shelves)][0]].drive)
