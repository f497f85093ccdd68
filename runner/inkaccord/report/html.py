"""The report: one HTML file that opens without a network and shows the order as it will print."""

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING
from urllib.parse import quote

from inkaccord import cautions
from inkaccord.diagnostics import Diagnostic, Severity, with_mends
from inkaccord.files import safe_name
from inkaccord.hooks import hookimpl
from inkaccord.layout.cutplan import LIES
from inkaccord.order.approving import is_held_for_approval
from inkaccord.order.model import Order
from inkaccord.report import wording
from inkaccord.report.cost_list import cost_list
from inkaccord.report.glance import glance
from inkaccord.report.graphics import svg
from inkaccord.report.view_colours import colour_views
from inkaccord.report.view_pairs import pair_views
from inkaccord.report.view_sheets import ink_views, sheet_views
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import REPORT_PX, Gallery, Shown
from inkaccord.run.record import PieceStatus, RecordedPiece, Run
from inkaccord.run.verdicts import Sign, judged_by_eye, not_sure, told
from inkaccord.words import counted, day, joined, thousands

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

LEAST_PX = 100
"""Smaller pictures than this are left out, and the page says so."""
MOST_PICTURES = 3_500_000
"""Bytes of all pictures together, before they are written as text."""
LONGEST_CSS_PX, LEAST_CSS_PX = 340, 180
"""How large the largest piece is shown, in an order of few pieces and of many; the others keep its
scale."""
FEW_PIECES = 12
SMALLEST_CSS_PX = 56
MOST_OPEN = 8
"""Colours, and pairs, that lie open on the page; more of them are closed until asked for."""


@dataclass(frozen=True)
class PieceView:
    """One piece, before and after translation."""

    recorded: RecordedPiece
    pair: str
    before: Shown
    after: Shown
    width_px: int
    """Width on the page, at the scale that all pieces share."""
    height_px: int


def report(order: Order, run: Run, known: Bench, gallery: Gallery) -> OutFile:
    """Return ``report.html``."""
    return OutFile("report.html", report_html(order, run, known, gallery).encode(), "report")


def report_html(order: Order, run: Run, known: Bench, gallery: Gallery) -> str:
    """Return the report's HTML: the same text for the same record, order and evidence."""
    pieces = piece_views(run, gallery)
    pairs = pair_views(run, order, known)
    colours = colour_views(run, order, known)
    return (
        environment()
        .get_template("report.html")
        .render(
            run=run,
            order=order,
            pieces=pieces,
            standing=_standing(run),
            more={it.name: wording.more_than_ordered(run, it) for it in run.pieces},
            glance=svg(glance(run, order, known), shrinks=False),
            colours=colours,
            pairs=pairs,
            pair_place={it.pair: f"#pair-{at}" for at, it in enumerate(pairs, start=1)},
            piece_place={
                view.recorded.name: f"#piece-{at}" for at, view in enumerate(pieces, start=1)
            },
            sheets=sheet_views(run),
            numbered=any(sheet.cuts for sheet in run.sheets),
            lies=LIES,
            inks=ink_views(run, order),
            cost=cost_list(run.charges),
            findings=_findings(run),
            waivers=[
                (piece.name, code, why)
                for piece in run.pieces
                for code, why in piece.waived.items()
            ],
            unsure=not_sure(run, but_by_eye=order.accept_by_eye),
            by_eye=judged_by_eye(run, order),
            vendors=_vendors(run),
            zipped=not is_held_for_approval(order, run.approval),
            asks=any(step.choices for step in run.next),
            to_mend=wording.to_mend(run),
            most_open=MOST_OPEN,
            stage_px=max((piece.height_px for piece in pieces), default=0),
            Status=PieceStatus,
            Sign=Sign,
            told=told,
            inks_unknown=wording.inks_unknown,
        )
    )


@cache
def environment() -> "Environment":
    """Return what fills the templates of the report and of the client's page.

    One for all orders of a batch: to compile the templates takes a sixth of a small order's time.
    """
    from jinja2 import (  # noqa: PLC0415 - slow to load
        Environment,
        PackageLoader,
        StrictUndefined,
        select_autoescape,
    )

    made = Environment(
        loader=PackageLoader("inkaccord.report"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    give_words(made)
    return made


def give_words(templates: "Environment") -> None:
    """Give templates the filters and functions by which we speak, here and in the browser."""
    templates.filters |= {
        "day": day,
        "thousands": thousands,
        "together": joined,
        "with_mends": with_mends,
        "some": wording.some,
        "data_address": _address,
        "joints": _joints,
        "lab": lambda lab: ", ".join(f"{value:.1f}".replace("-", "−") for value in lab),
        "de": lambda value: f"{value:.1f}",
    }
    templates.globals |= {
        "away": wording.away,
        "sampling_cost": wording.sampling_cost,
        "sampling_dates": wording.sampling_dates,
        "cautions": cautions,
        "counted": counted,
        "vendor_title": wording.vendor_title,
        "stock_title": wording.stock_title,
        "trim_size": wording.trim_size,
        "status_icon": _STATUS_ICON.__getitem__,
        "sign_icon": _SIGN_ICON.__getitem__,
    }


_STATUS_ICON = {
    PieceStatus.READY: "inside",
    PieceStatus.WAITING: "waiting",
    PieceStatus.HELD: "held",
    PieceStatus.FAILED: "outside",
}
_SIGN_ICON = {
    Sign.INSIDE: "inside",
    Sign.BY_EYE: "eye",
    Sign.UNCERTAIN: "uncertain",
    Sign.OUTSIDE: "outside",
    Sign.UNKNOWN: "unknown",
    Sign.INKS_UNKNOWN: "unknown",
}


def _joints(name: object) -> "Markup":
    """Let a name such as ``device@stock/setting`` break at its joints first."""
    from markupsafe import Markup, escape  # noqa: PLC0415 - with the rest of the templates

    text = str(escape(name)).replace("@", "<wbr>@").replace("/", "/<wbr>")
    return Markup(text)  # noqa: S704 - escaped above


def _address(png: bytes) -> str:
    return f"data:image/png;base64,{base64.b64encode(png).decode()}"


def piece_views(run: Run, gallery: Gallery) -> list[PieceView]:
    """Return every piece with its pictures, all at one scale, as large as fits one file."""
    shown = _within_budget(run, gallery)
    longest = max((max(it.trim_mm) for it in run.pieces), default=1.0)
    shrink = max(1.0, (len(run.pieces) / FEW_PIECES) ** 0.5)
    scale = max(LEAST_CSS_PX, LONGEST_CSS_PX / shrink) / longest
    views = []
    for piece in run.pieces:
        width, height = (side * scale for side in piece.trim_mm)
        small = max(1.0, SMALLEST_CSS_PX / max(width, height))
        before, after = shown[piece.name]
        views.append(
            PieceView(
                recorded=piece,
                pair=str(piece.pair),
                before=before,
                after=after,
                width_px=round(width * small),
                height_px=round(height * small),
            )
        )
    return views


def _within_budget(run: Run, gallery: Gallery) -> dict[str, tuple[Shown, Shown]]:
    """Return all pictures, as large as they may be for all of them to fit one file."""
    longest_px = REPORT_PX
    while longest_px >= LEAST_PX:
        shown: dict[str, tuple[Shown, Shown]] = {}
        size = 0
        for piece in run.pieces:
            shown[piece.name] = (
                gallery.original(piece.name, longest_px),
                gallery.translated(piece.name, longest_px),
            )
            size += sum(len(page.png) for part in shown[piece.name] for page in part.pages)
            if size > MOST_PICTURES:
                break
        else:
            return shown
        # A picture's bytes grow about as the 1.5th power of its side; aim a little low.
        expected = size * len(run.pieces) / len(shown)
        longest_px = int(longest_px * min(0.9, 0.9 * (MOST_PICTURES / expected) ** (1 / 1.5)))
    return {it.name: (_TOO_MUCH, _TOO_MUCH) for it in run.pieces}


_TOO_MUCH = Shown(why="left out: the pictures of this order would make the file too large")


@dataclass(frozen=True)
class StatusCount:
    """How many pieces stand where."""

    status: PieceStatus
    number: int


def _standing(run: Run) -> list[StatusCount]:
    return [
        StatusCount(status, number)
        for status in PieceStatus
        if (number := sum(it.status is status for it in run.pieces))
    ]


@dataclass(frozen=True)
class VendorView:
    """A vendor's folder in the out folder."""

    vendor: str
    address: str
    """Relative to the report."""
    pieces: tuple[str, ...]
    """Whose print files lie there."""


def _vendors(run: Run) -> list[VendorView]:
    found: dict[str, dict[str, None]] = {}
    for file in run.files:
        if file.what == "print" and file.vendor:
            found.setdefault(file.vendor, {}).update(dict.fromkeys(file.pieces))
    return [
        VendorView(vendor, f"./{quote(safe_name(vendor))}/", tuple(pieces))
        for vendor, pieces in found.items()
    ]


def _findings(run: Run) -> list[Diagnostic]:
    rank = [Severity.ERROR, Severity.WARNING, Severity.NOTE]
    return sorted(run.findings, key=lambda it: rank.index(it.severity))


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``report.html``."""
    bench.progress("writing the report")
    return [report(order, run, bench, gallery)]
