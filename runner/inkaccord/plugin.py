"""All that a plugin imports: its names are our promise to authors (docs/plugins.md says how long).

What a plugin's tests need besides is in :mod:`inkaccord.testing`. Names whose modules are slow to
import come when they are first asked for, so that a plugin costs every command next to nothing.
"""

import importlib
from typing import TYPE_CHECKING, Any

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.conditions import Conditions
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, Place, Severity, error, note, warning
from inkaccord.engines import Connected, Executors
from inkaccord.errors import FileError, InkaccordError, OrderError
from inkaccord.files import read_bytes
from inkaccord.hooks import ArtworkSubject, hookimpl
from inkaccord.knowledge.values import (
    Evidence,
    ResolvedAim,
    Trade,
    Translation,
    Translations,
    Unknown,
)
from inkaccord.layout.model import Edge
from inkaccord.models import Frozen
from inkaccord.order.finishes import FinishesTaken, FinishKind, OverprintRule
from inkaccord.order.kinds import VendorKind
from inkaccord.order.model import Order
from inkaccord.order.pieces import Piece
from inkaccord.order.prices import Price, Prices, PricesField, PriceTable
from inkaccord.order.stocks import Stock, StockKind
from inkaccord.order.vendors import (
    ArtworkLimits,
    Delivers,
    Device,
    DriftTolerance,
    FilePer,
    Overs,
    PaperCutter,
    PdfRules,
    Spots,
    StaleAfterDays,
    Tints,
    Turning,
    Vendor,
    WhenDrifted,
)
from inkaccord.run.agreement import Acceptance, Agreement, Distance
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected, FoundAs, FoundColour, PieceArtwork
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery, Picture, Shown
from inkaccord.run.imposed import Imposed, SheetRun
from inkaccord.run.plan import Answer, Choice, NextStep, PlannedSheet, SamplePlan, StepKind
from inkaccord.run.recoloured import ProofSummary, Recoloured, RecolouredPiece
from inkaccord.run.record import PieceStatus, RecordedFile, RecordedPiece, Run
from inkaccord.sheets.model import Purpose, Reading, SampleSheet, SheetReadings, Swatch
from inkaccord.sheets.reading.formats import (
    BesideFormat,
    ColumnsFormat,
    PagesFormat,
    ReadingsFormat,
    ReadingsTaken,
)
from inkaccord.sizes import Size, SizeField
from inkaccord.units import Length, Percent, Points, inch, inches, millimetres, mm

if TYPE_CHECKING:
    from inkaccord.knowledge.pairs import PairKnowledge
    from inkaccord.pdf.program import program_here
    from inkaccord.sheets.drawing.sheet import draw_sheet
    from inkaccord.sheets.reading.sheet import match_readings
    from inkaccord.sheets.reading.tables import read_tables
    from inkaccord.sheets.scan.picture import is_picture, load_pictures
    from inkaccord.sheets.scan.reader import read_scan, read_scan_beside

_SLOW = {
    "PairKnowledge": "knowledge.pairs",
    "draw_sheet": "sheets.drawing.sheet",
    "is_picture": "sheets.scan.picture",
    "load_pictures": "sheets.scan.picture",
    "match_readings": "sheets.reading.sheet",
    "program_here": "pdf.program",
    "read_scan": "sheets.scan.reader",
    "read_scan_beside": "sheets.scan.reader",
    "read_tables": "sheets.reading.tables",
}

__all__ = [
    "Acceptance",
    "Agreement",
    "Answer",
    "ArtworkLimits",
    "ArtworkSubject",
    "Bench",
    "BesideFormat",
    "Build",
    "Choice",
    "Collected",
    "ColumnsFormat",
    "Conditions",
    "Connected",
    "Delivers",
    "Device",
    "Diagnostic",
    "Distance",
    "DriftTolerance",
    "Drive",
    "Edge",
    "Evidence",
    "Executors",
    "FileError",
    "FilePer",
    "FinishKind",
    "FinishesTaken",
    "FoundAs",
    "FoundColour",
    "Frozen",
    "Gallery",
    "Imposed",
    "InkaccordError",
    "Length",
    "NextStep",
    "Order",
    "OrderError",
    "OutFile",
    "OverprintRule",
    "Overs",
    "PagesFormat",
    "Paint",
    "PaintKind",
    "Pair",
    "PairKnowledge",
    "PaperCutter",
    "PdfRules",
    "Percent",
    "Picture",
    "Piece",
    "PieceArtwork",
    "PieceStatus",
    "Place",
    "PlannedSheet",
    "Points",
    "Price",
    "PriceTable",
    "Prices",
    "PricesField",
    "ProofSummary",
    "Purpose",
    "Reading",
    "ReadingsFormat",
    "ReadingsTaken",
    "Recoloured",
    "RecolouredPiece",
    "RecordedFile",
    "RecordedPiece",
    "ResolvedAim",
    "Run",
    "SamplePlan",
    "SampleSheet",
    "Severity",
    "SheetReadings",
    "SheetRun",
    "Shown",
    "Size",
    "SizeField",
    "Spots",
    "StaleAfterDays",
    "StepKind",
    "Stock",
    "StockKind",
    "Swatch",
    "Tints",
    "Trade",
    "Translation",
    "Translations",
    "Turning",
    "Unknown",
    "Vendor",
    "VendorKind",
    "Verdict",
    "WhenDrifted",
    "draw_sheet",
    "error",
    "hookimpl",
    "inch",
    "inches",
    "is_picture",
    "load_pictures",
    "match_readings",
    "millimetres",
    "mm",
    "note",
    "program_here",
    "read_bytes",
    "read_scan",
    "read_scan_beside",
    "read_tables",
    "warning",
]


def __getattr__(name: str) -> Any:
    """Return a name whose module is slow to import."""
    if name not in _SLOW:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"inkaccord.{_SLOW[name]}"), name)
