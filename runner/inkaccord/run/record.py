"""The record of a run: what ``out/run.json`` holds, and what every list and report is made from.

Its form is frozen and numbered (docs/run-record.md): a change of it takes a new ``FORMAT``, or
``docs/generate.py`` does not write its schema.
"""

import datetime
import json
from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from pydantic import Field

from inkaccord.colour.pairs import OnPair
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import ExitCode
from inkaccord.files import sha256_of
from inkaccord.knowledge.values import Steadiness, Trade, Translation
from inkaccord.models import Frozen
from inkaccord.order.approving import ApprovalNow
from inkaccord.order.book import FromBook
from inkaccord.order.job import Job
from inkaccord.order.pricing import Charge
from inkaccord.order.sending import SentNow
from inkaccord.run.agreement import Acceptance, Distance
from inkaccord.run.collected import PieceArtwork
from inkaccord.run.files import OutFile
from inkaccord.run.imposed import PrintRun, SheetRun, WeighedWays
from inkaccord.run.plan import Away, NextStep, PlannedSheet
from inkaccord.run.sampling import Sampling, SheetDates
from inkaccord.sheets.savings import Cost

FORMAT = 2
"""Number of the record's form. What each was changed by stands in docs/run-record.md."""


class PieceStatus(StrEnum):
    """Where a piece stands."""

    READY = "ready"
    """Its files lie in the vendor's folder."""
    WAITING = "waiting"
    """Its own pair lacks evidence."""
    HELD = "held"
    """Its files could be made, but a colour that it shares does not agree, or is not known yet."""
    FAILED = "failed"
    """A check or the proof failed."""


class Standing(Frozen):
    """Where a piece stands, and why."""

    status: PieceStatus
    why: str = ""


class RecordedPiece(OnPair):
    """One piece in the record, on the pair that it is printed on."""

    name: str
    status: PieceStatus
    why: str = ""
    vendor: str
    quantity: int
    overs: int
    sides: int
    records: int | None = None
    """How many copies have a page of their own; None where all are alike."""
    trim_mm: tuple[float, float]
    colours: tuple[str, ...]
    proof: tuple[str, ...] = ()
    waived: dict[str, str] = Field(default_factory=dict)
    inks_known: bool = True
    """Whether it is known in what it prints; else its page is converted to another kind of colour
    before, and nothing is said of how far its colours lie from others."""

    @classmethod
    def of(
        cls,
        job: Job,
        standing: Standing,
        *,
        sides: int | None,
        colours: tuple[str, ...],
        proof: tuple[str, ...],
        inks_known: bool,
    ) -> "RecordedPiece":
        """Record a job. ``sides`` are those of its artwork, None where that can't be read."""
        return cls(
            name=job.name,
            status=standing.status,
            why=standing.why,
            vendor=job.vendor_name,
            **job.pair.parts,
            quantity=job.quantity,
            overs=job.overs,
            sides=sides or job.piece.sides or 1,
            records=job.quantity if job.piece.records else None,
            trim_mm=tuple(round(side, 3) for side in job.piece.trim.in_mm),
            colours=colours,
            proof=proof,
            waived=job.piece.waive,
            inks_known=inks_known,
        )


class RecordedSheet(OnPair):
    """A sample sheet that waits, of a pair."""

    id: str
    purpose: str
    swatches: int
    pages: int
    why: str
    printed: bool
    """Whether it is on paper already, as far as anyone said."""
    away: Away | None
    """To whom it was sent to be printed, while it is not back."""
    path: str
    """The PDF to print it from, in the form that its vendor takes."""
    table: str
    """To be filled in with its readings."""
    dates: SheetDates | None
    """By when it is needed; None where the order has no due date."""

    @classmethod
    def of(
        cls, planned: PlannedSheet, *, path: str, table: str, dates: SheetDates | None
    ) -> "RecordedSheet":
        """Record a sheet of a plan, and where its files stand."""
        sheet = planned.sheet
        return cls(
            id=sheet.id,
            **sheet.pair.parts,
            purpose=sheet.purpose,
            swatches=len(sheet.swatches),
            pages=sheet.pages,
            why=planned.why,
            printed=planned.printed,
            away=planned.away,
            path=path,
            table=table,
            dates=dates,
        )


class RecordedFile(Frozen):
    """A file that the run wrote, or found unchanged."""

    path: str
    sha256: str
    size: int
    what: str
    pieces: tuple[str, ...] = ()
    """The pieces that it shows, in order."""
    vendor: str | None = None
    pages: int | None = None
    """Of a print file."""

    @classmethod
    def of_all(cls, files: Iterable[OutFile]) -> tuple["RecordedFile", ...]:
        """Record files, in the order of their paths."""
        return tuple(
            cls(
                path=file.path,
                sha256=sha256_of(file.data),
                size=len(file.data),
                what=file.what,
                pieces=file.pieces,
                vendor=file.vendor,
                pages=file.pages,
            )
            for file in sorted(files, key=lambda file: file.path)
        )


class Run(Frozen):
    """All that a run knows at its end."""

    format: int = FORMAT
    inkaccord: str
    order: str
    title: str
    date: datetime.date
    due: datetime.date | None
    suites: int
    exit_code: ExitCode
    order_sha256: str
    """Of the order file."""
    book: tuple[FromBook, ...] = ()
    """What the studio's book said of the order's colours when it was first run."""
    shown: str = ""
    """Digest of what the client's page shows to be signed for."""
    approval: ApprovalNow | None = None
    """The client's last approval, and what of it no longer holds."""
    sent: tuple[SentNow, ...] = ()
    """What each vendor was sent last, and what of it is otherwise now."""
    pieces: tuple[RecordedPiece, ...]
    artworks: tuple[PieceArtwork, ...]
    translations: tuple[Translation, ...]
    agreement: tuple[Distance, ...]
    accepted: tuple[Acceptance, ...] = ()
    """Colours that the order accepts on a piece, also those that no longer hold."""
    trades: tuple[Trade, ...] = ()
    steadiness: tuple[Steadiness, ...] = ()
    """Of every pair whose controls were read more than once."""
    samples: tuple[RecordedSheet, ...]
    sampling: tuple[Sampling, ...] = ()
    """What each vendor is to print of them, and what that costs."""
    charges: tuple[Charge, ...] = ()
    """What is to be paid, line by line, sample sheets too; nothing where no prices are stated."""
    saved: Cost
    runs: tuple[PrintRun, ...] = ()
    """What each vendor prints of which page."""
    sheets: tuple[SheetRun, ...]
    bounds: tuple[str, ...] = ()
    ways: tuple[WeighedWays, ...] = ()
    """Where there is more than one way to print pieces that are laid together."""
    notes: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    """By vendor: how to feed what is fed singly."""
    findings: tuple[Diagnostic, ...]
    next: tuple[NextStep, ...]
    files: tuple[RecordedFile, ...]
    plugins: dict[str, str]
    """Plugin name → version."""

    def as_json(self) -> bytes:
        """Return the record as it is written to ``run.json``."""
        data = self.model_dump(mode="json")
        return (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode()


def run_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of ``run.json``."""
    schema = Run.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = f"inkaccord run record, form {FORMAT}"
    schema["properties"]["format"]["const"] = FORMAT
    return schema
