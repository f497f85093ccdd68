"""An order in mid-flight for the tests of lists and reports, written by hand where it matters.

The order is the example's; four of its five pairs are read, one of them twice, months apart; slate
was picked by eye on the press; the laser's sheet waits. The distances show all three verdicts.
"""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import numpy as np

from example_pairs_kit import EXAMPLE, SECOND_DAY, knowledge, model_of
from inkaccord import __version__
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import as_lab
from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, Place, Severity
from inkaccord.errors import ExitCode
from inkaccord.files import sha256_of
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Evidence, TintBuild, Translation
from inkaccord.layout.model import Axis, Duplex, Edge
from inkaccord.order.loading import load_order
from inkaccord.order.model import Order
from inkaccord.pdf.colours.alternates import spot_alternates
from inkaccord.plugins import load_plugins
from inkaccord.recall.recall import Recall, computed
from inkaccord.report.gallery import OrderGallery
from inkaccord.report.html import report_html
from inkaccord.run.agreement import Acceptance, Distance
from inkaccord.run.collected import FoundAs, FoundColour, PieceArtwork
from inkaccord.run.imposed import LaidTrim, PrintedSide, PrintRun, SheetRun
from inkaccord.run.plan import NextStep
from inkaccord.run.record import (
    PieceStatus,
    RecordedFile,
    RecordedPiece,
    RecordedSheet,
    Run,
)
from inkaccord.sheets.model import (
    Purpose,
)
from inkaccord.sheets.savings import Cost

ORDER = EXAMPLE / "members_evening" / "order.yaml"
WAITING = "N53-B4R"
"""The sheet that waits, of the laser."""

TRANSLATIONS = (
    # colour, pair, build, evidence, aim known, uncertainty
    ("kelp", "north-quay-press@natural-cotton", "cmyk 85 20 60 30", "read", True, 0.6),
    ("lantern", "north-quay-press@natural-cotton", "cmyk 5 27 85 0", "read", True, 0.5),
    ("slate", "north-quay-press@natural-cotton", "cmyk 62 33 29 8", "picked", False, 2.4),
    ("kelp", "millrace-press@smooth-ivory", "cmyk 98 41 72 0", "read", True, 0.7),
    ("lantern", "millrace-press@smooth-ivory", "cmyk 6 30 73 0", "read", True, 0.6),
    ("slate", "millrace-press@smooth-ivory", "cmyk 60 32 30 6", "read", True, 1.1),
    ("kelp", "north-quay-envelopes@grey-felt", "cmyk 100 21 60 16", "read", True, 0.9),
    ("lantern", "north-quay-envelopes@grey-felt", "cmyk 0 23 67 0", "read", True, 0.6),
    ("slate", "north-quay-envelopes@grey-felt", "cmyk 56 22 24 0", "read", True, 0.8),
    ("kelp", "inkjet@smooth-ivory/matte-best", "rgb 42 110 58", "read", True, 3.1),
    ("lantern", "inkjet@smooth-ivory/matte-best", "rgb 210 166 76", "read", True, 1.2),
    ("slate", "inkjet@smooth-ivory/matte-best", "rgb 96 126 122", "read", True, 1.4),
)
AIMS = {"lantern": (71.0, 17.0, 60.0)}
STATUS = {
    "envelope": (
        PieceStatus.HELD,
        "slate lies surely outside the tolerance with invitation",
    ),
    "programme": (PieceStatus.HELD, "kelp is too uncertain to say with invitation"),
    "lantern-tag": (
        PieceStatus.WAITING,
        "kelp on laser@kraft/heavy-card: no sample sheet of this pair has been read",
    ),
}


@dataclass(frozen=True)
class Desk:
    """What a delivery is asked with."""

    order: Order
    run: Run
    bench: "Known"
    files: dict[str, bytes]

    @cached_property
    def gallery(self) -> OrderGallery:
        return OrderGallery(self.order, self.run, self.bench)

    @property
    def html(self) -> str:
        """The report."""
        return report_html(self.order, self.run, self.bench, self.gallery)

    def but(self, order: Order | None = None, run: Run | None = None) -> "Desk":
        """The same with another order or record."""
        return Desk(order or self.order, run or self.run, self.bench, self.files)


@dataclass(frozen=True)
class Known:
    """The part of the bench that lists and reports use."""

    folder: Path
    order: Order
    pairs: Mapping[Pair, PairKnowledge]

    def artwork(self, piece: str) -> bytes:
        return (self.folder / self.order.pieces[piece].artwork).read_bytes()

    def alternates(self, piece: str) -> dict[str, Paint]:
        return spot_alternates(self.artwork(piece))

    def pair(self, pair: Pair) -> PairKnowledge:
        return self.pairs[pair]

    @property
    def recall(self) -> Recall:
        return computed

    @property
    def accepted_before(self) -> tuple[Acceptance, ...]:
        return ()


def example_order() -> Order:
    """Return the example's order, with a waiver so that its line is seen."""
    order = load_order(ORDER, load_plugins().vendor_kinds()).order
    data: dict[str, Any] = order.model_dump(mode="json")
    data["pieces"]["invitation"]["waive"] = {"hairline": "the waterline is meant to be this fine"}
    return Order.model_validate(data)


@cache
def mid_flight() -> Desk:
    """Build, once, the order, what is known of its pairs, and its record."""
    order = example_order()
    bench = Known(
        ORDER.parent, order, {pair: knowledge(order, pair) for pair in order.pairs_needed()}
    )
    translations = _translations(order)
    files = _files(order)
    artworks = _artworks(order)
    run = Run(
        inkaccord=__version__,
        order=order.order,
        title=order.title,
        date=order.date,
        due=order.due,
        suites=order.suites,
        exit_code=ExitCode.WAITING,
        order_sha256="0" * 64,
        pieces=_pieces(order, artworks),
        artworks=artworks,
        translations=translations,
        agreement=distances(order, artworks, translations),
        samples=(_waiting(order),),
        saved=Cost(swatches=160, pages=4, area_cm2=410.0, ink_cm2=655.0),
        runs=_print_runs(order),
        sheets=_sheets(order),
        bounds=("north-quay-press@natural-cotton: 33 sheets, and no layout needs fewer",),
        findings=_findings(),
        next=(
            NextStep(
                text=f"Print sheet {WAITING} (1 page, 52 swatches) on laser@kraft/heavy-card, by "
                "studio-laser, at 100 % and without colour conversion. Let it dry, read it with "
                "an instrument or judge it by eye, then record it.",
                command=f"inkaccord record {WAITING} READINGS-FILE",
                sheet=WAITING,
                pair=Pair.parse("laser@kraft/heavy-card"),
            ),
        ),
        files=tuple(
            RecordedFile(
                path=path,
                sha256=sha256_of(data),
                size=len(data),
                what="print",
                pieces=(path.rpartition("-evening-")[2].removesuffix(".pdf"),),
                vendor=path.partition("/")[0],
                pages=2 if path.endswith("reply-card.pdf") else 1,
            )
            for path, data in files.items()
        ),
        plugins={"collect": __version__},
    )
    return Desk(order, run, bench, files)


def brand_found(text: str, colour: str, area: float, tint: float = 100.0) -> FoundColour:
    return FoundColour(
        text=text,
        paint=text,
        found_as=FoundAs.BRAND,
        colour=colour,
        tint=tint,
        area_mm2=area,
        pages=(1,),
        roles=("fill",),
    )


def _artworks(order: Order) -> tuple[PieceArtwork, ...]:
    """Return what the example's artwork contains, as its README says; areas as measured."""
    solid = {"kelp": "cmyk 85 20 60 30", "lantern": "cmyk 0 38 88 2", "slate": "spot Slate"}
    areas = {
        "invitation": (2556.0, 35.3, 1644.5),
        "reply-card": (958.1, 51.5, 292.1),
        "envelope": (187.4, 3.3, 29.7),
        "programme": (31790.7, 891.0, 5619.6),
        "lantern-tag": (826.7, 178.6, 203.0),
    }
    made = []
    for name, piece in order.pieces.items():
        data = (ORDER.parent / piece.artwork).read_bytes()
        written = {**solid, "kelp": "rgb 20 92 78"} if name == "lantern-tag" else solid
        colours = [
            brand_found(written[colour], colour, area)
            for colour, area in zip(solid, areas[name], strict=True)
        ]
        if name not in {"envelope", "lantern-tag"}:
            colours += [
                brand_found("cmyk 34 8 24 12", "kelp", areas[name][0] / 4, 40.0),
                brand_found("spot Slate 35%", "slate", areas[name][2] / 3, 35.0),
                brand_found("cmyk 0 11.4 26.4 0.6", "lantern", areas[name][1] / 2, 30.0),
            ]
        colours.append(
            FoundColour(
                text="cmyk 0 0 0 100",
                paint="cmyk 0 0 0 100",
                found_as=FoundAs.KEPT,
                area_mm2=245.7,
                pages=(1,),
                roles=("text",),
            )
        )
        made.append(
            PieceArtwork(
                piece=name,
                path=piece.artwork,
                sha256=sha256_of(data),
                pages=2 if name in {"reply-card", "programme"} else 1,
                photographs=0,
                colours=tuple(colours),
            )
        )
    return tuple(made)


def _translations(order: Order) -> tuple[Translation, ...]:
    made = []
    for colour, where, written, evidence, has_aim, uncertainty in TRANSLATIONS:
        pair, build = Pair.parse(where), Build.parse(written)
        model = model_of(pair)
        lab = as_lab(model.predict_lab(np.array([build.values]))[0])
        reference = order.jobs["invitation"].pair
        aim = AIMS.get(colour) or as_lab(
            model_of(reference).predict_lab(np.array([Build.parse(_of(colour, reference)).values]))[
                0
            ]
        )
        white = 0.0 if build.drive is Drive.CMYK else 255.0
        made.append(
            Translation(
                colour=colour,
                **pair.parts,
                build=build,
                evidence=Evidence(evidence),
                aim_lab=aim if has_aim else None,
                predicted_lab=lab,
                delta_e_00=round(apart(lab, aim), 3) if has_aim else None,
                uncertainty=uncertainty,
                reachable=not (colour == "slate" and "envelopes" in where),
                lost="4 weaker, 3 lighter" if colour == "slate" and "envelopes" in where else "",
                tints=tuple(
                    TintBuild(
                        tint=float(tint),
                        build=Build(
                            drive=build.drive,
                            values=tuple(
                                round(white + tint / 100 * (value - white), 1)
                                for value in build.values
                            ),
                        ),
                    )
                    for tint in range(10, 100, 10)
                ),
                sheets=("D7Q-XM3",),
                known_since=SECOND_DAY,
                note="picked by eye" if evidence == "picked" else "",
            )
        )
    return tuple(made)


def _of(colour: str, pair: Pair) -> str:
    return next(
        build
        for name, where, build, *_ in TRANSLATIONS
        if name == colour and Pair.parse(where) == pair
    )


def apart(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    return float(delta_e_2000(np.array(one), np.array(other)))


def distances(
    order: Order, artworks: tuple[PieceArtwork, ...], known: tuple[Translation, ...]
) -> tuple[Distance, ...]:
    """Compare every two pieces, and each with the aim, by the plain rule."""
    by_pair = {(it.colour, it.pair): it for it in known}
    made = []
    for colour in order.colours:
        carrying = [
            (it.piece, by_pair[colour, order.jobs[it.piece].pair])
            for it in artworks
            if colour in it.brand_colours and (colour, order.jobs[it.piece].pair) in by_pair
        ]
        for piece, it in carrying:
            if it.delta_e_00 is not None:
                made.append(
                    _distance(
                        (colour, piece, None),
                        it.delta_e_00,
                        it.uncertainty,
                        order.tolerances.to_aim,
                        by_eye=False,
                    )
                )
        for (piece, a), (other, b) in itertools.combinations(carrying, 2):
            made.append(
                _distance(
                    (colour, piece, other),
                    round(apart(a.predicted_lab, b.predicted_lab), 3),
                    round(float(np.hypot(a.uncertainty, b.uncertainty)), 3),
                    order.tolerances.between_pieces,
                    by_eye=Evidence.PICKED in {a.evidence, b.evidence},
                )
            )
    return tuple(made)


def _distance(
    whom: tuple[str, str, str | None],
    apart: float,
    uncertainty: float,
    tolerance: float,
    *,
    by_eye: bool,
) -> Distance:
    verdict = Verdict.UNCERTAIN
    if apart + uncertainty <= tolerance:
        verdict = Verdict.INSIDE
    elif apart - uncertainty > tolerance:
        verdict = Verdict.OUTSIDE
    colour, piece, other = whom
    return Distance(
        colour=colour,
        piece=piece,
        other=other,
        delta_e_00=apart,
        paper_relative=round(apart * 0.9, 3),
        paper_uncertainty=round(uncertainty * 1.1, 3),
        uncertainty=uncertainty,
        tolerance=tolerance,
        verdict=verdict,
        by_eye=by_eye,
    )


def _pieces(order: Order, artworks: tuple[PieceArtwork, ...]) -> tuple[RecordedPiece, ...]:
    made = []
    for artwork, (name, job) in zip(artworks, order.jobs.items(), strict=True):
        piece = job.piece
        status, why = STATUS.get(name, (PieceStatus.READY, ""))
        made.append(
            RecordedPiece(
                name=name,
                status=status,
                why=why,
                vendor=job.vendor_name,
                **job.pair.parts,
                quantity=job.quantity,
                overs=job.overs,
                sides=artwork.pages,
                trim_mm=(round(piece.trim.in_mm[0], 3), round(piece.trim.in_mm[1], 3)),
                colours=artwork.brand_colours,
                proof=("colours: pass", "all else: pass", "rendering: pass")
                if status is not PieceStatus.WAITING
                else (),
                waived=piece.waive,
            )
        )
    return tuple(made)


def _waiting(order: Order) -> RecordedSheet:
    return RecordedSheet(
        id=WAITING,
        device="laser",
        stock="kraft",
        setting="heavy-card",
        purpose=Purpose.SCOUTING,
        swatches=52,
        pages=1,
        why="the first look at this pair",
        printed=False,
        away=None,
        path=f"samples/studio-laser/{WAITING}.pdf",
        table=f"samples/{WAITING}.txt",
        dates=None,
    )


def _files(order: Order) -> dict[str, bytes]:
    """Stand in for the imposed files: the artwork itself under the names they would have."""
    names = {"invitation": "north-quay", "reply-card": "millrace"}
    return {
        f"{vendor}/{order.order}-{piece}.pdf": (EXAMPLE / "artwork" / f"{piece}.pdf").read_bytes()
        for piece, vendor in names.items()
    }


def _print_runs(order: Order) -> tuple[PrintRun, ...]:
    path = f"millrace/{order.order}-reply-card.pdf"
    return (
        PrintRun(
            number=1,
            vendor="north-quay",
            device="north-quay-press",
            stock="natural-cotton",
            pieces={"invitation": 4},
            times=33,
            pages=1,
            width_mm=330.2,
            height_mm=482.6,
            bleed_mm=3.175,
            turning=Duplex.WORK_AND_TURN,
            gripper=Edge.BOTTOM,
            gripper_mm=10,
            side_lay=Edge.LEFT,
            grain=Axis.UPRIGHT,
            imposed=True,
            sides=(
                PrintedSide(
                    side="front and back",
                    path=f"north-quay/{order.order}-invitation.pdf",
                    inks=("Cyan", "Black"),
                    separations=("Gold foil", "White"),
                    mark_inks=("Magenta", "Yellow"),
                ),
            ),
        ),
        PrintRun(
            number=1,
            vendor="millrace",
            device="millrace-press",
            stock="smooth-ivory",
            pieces={"reply-card": 1},
            times=126,
            pages=2,
            width_mm=146.05,
            height_mm=114.3,
            bleed_mm=3.175,
            sides=(
                PrintedSide(side="front", path=path, inks=("Cyan", "Magenta", "Yellow", "Black")),
                PrintedSide(side="back", path=path, page=2, inks=("Black",)),
            ),
        ),
    )


def _sheets(order: Order) -> tuple[SheetRun, ...]:
    return (
        SheetRun(
            number=1,
            vendor="north-quay",
            device="north-quay-press",
            stock="natural-cotton",
            pieces={"invitation": 4},
            run=33,
            width_mm=330.2,
            height_mm=482.6,
            printable_mm=(4, 4, 326.2, 478.6),
            used=0.567,
            path=f"north-quay/{order.order}-invitation.pdf",
            cut_plan=(
                "1. set 455.6 mm, cut across: takes the head off",
                "2. set 277.8 mm, cut across: between row 1 and row 2",
                "3. turn; set 165.1 mm, cut: between column 1 and column 2",
            ),
            trims=tuple(
                LaidTrim(
                    piece="invitation",
                    box_mm=(left, bottom, left + 127, bottom + 177.8),
                    bleed_mm=(left - 3, bottom - 3, left + 130, bottom + 180.8),
                )
                for bottom in (40, 245)
                for left in (28, 168)
            ),
        ),
    )


def _findings() -> tuple[Diagnostic, ...]:
    return (
        Diagnostic(
            code="hairline",
            severity=Severity.NOTE,
            message="a line is 0.2 pt wide; North Quay Print asks for 0.25 pt at least",
            place=Place(page=1, box_mm=(12.0, 20.5, 98.0, 20.6), field="invitation"),
            hint="waived: the waterline is meant to be this fine",
            source="artwork-checks",
        ),
        Diagnostic(
            code="small-bleed",
            severity=Severity.WARNING,
            message="the artwork has 2.0 mm of bleed on the left; 3.2 mm are wanted",
            place=Place(page=2, field="programme"),
            hint="extend the background, or set 'bleed_repair: mirror'",
            source="artwork-checks",
        ),
    )
