"""What ``inkaccord record`` does: a sheet's readings and picks, or a target of others."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.cli.readings_file import known_of, read_files
from inkaccord.cli.shared import Settings
from inkaccord.cli.shelf_place import same_place
from inkaccord.errors import OrderError

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.diagnostics import Diagnostic
    from inkaccord.knowledge.course import Compared
    from inkaccord.order.model import Order
    from inkaccord.order.vendors import Device
    from inkaccord.sheets.model import Pick, SampleSheet
    from inkaccord.shelf.store import Shelf


@dataclass(frozen=True)
class RecordOptions:
    """What was asked for, as it stands on the command line."""

    sheet: str | None
    files: tuple[Path, ...]
    picks: tuple[str, ...]
    by: str
    light: str
    sure: float
    day: datetime.datetime | None
    beside: str | None
    pair: "Pair | None"
    name: str | None
    ink_limit: float | None

    @property
    def source(self) -> str:
        """What the files are called."""
        return ", ".join(file.name for file in self.files)

    @property
    def date(self) -> datetime.date:
        """The day that was given, or today."""
        return (self.day or datetime.datetime.now().astimezone()).date()


@dataclass(frozen=True)
class Recorded:
    """What was kept."""

    sheet: "SampleSheet"
    findings: "tuple[Diagnostic, ...]" = ()
    readings: int = 0
    new_readings: bool = False
    new_picks: int = 0
    drift: "Compared | None" = None
    """What its controls tell of the pair, where they were read before."""


def record_sheet(settings: Settings, store: "Shelf", options: RecordOptions) -> Recorded:
    """Keep the readings and picks of a sheet that is on the shelf."""
    from inkaccord.sheets.reading.pick_text import parse_pick  # noqa: PLC0415 - after parsing

    kept = store.sheet(options.sheet or "")
    made = [
        parse_pick(
            text,
            kept,
            by=options.by,
            light=options.light,
            sure=options.sure,
            picked_on=options.date,
        )
        for text in options.picks
    ]
    order = settings.load(settings.order).order if settings.order is not None else None
    findings = _colours_known(order, kept, made)
    tolerance = _tolerance(order, kept.pair)
    taken = (
        read_files(settings, store, kept, options.files, options.beside, tolerance)
        if options.files
        else None
    )
    new_readings = False
    if taken is not None:
        from inkaccord.files import sha256_of  # noqa: PLC0415 - only with a file

        new_readings = store.record_readings(
            taken.readings,
            source=options.source,
            source_sha256=sha256_of(b"".join(file.read_bytes() for file in options.files)),
        )
    return Recorded(
        sheet=kept,
        findings=(*findings, *(taken.findings if taken is not None else ())),
        readings=len(taken.readings.readings) if taken is not None else 0,
        new_readings=new_readings,
        new_picks=store.record_picks(made) if made else 0,
        drift=_drift(store, kept, tolerance) if new_readings else None,
    )


def _tolerance(order: "Order | None", pair: "Pair") -> float:
    """Return the drift that the pair's device allows; the usual one where no order names it."""
    from inkaccord.order.vendors import Device  # noqa: PLC0415 - after parsing

    device = _device(order, pair) or Device()
    return device.drift_tolerance


def _device(order: "Order | None", pair: "Pair") -> "Device | None":
    vendors = order.vendors.values() if order is not None else ()
    return next((v.devices[pair.device] for v in vendors if pair.device in v.devices), None)


def _drift(store: "Shelf", sheet: "SampleSheet", tolerance: float) -> "Compared | None":
    """Return how the controls that were just read compare with earlier ones."""
    from inkaccord.knowledge.course import follow  # noqa: PLC0415 - after parsing

    compared = follow(store.readings_of(sheet.pair), tolerance).compared
    return next((it for it in reversed(compared) if it.sheet == sheet.id), None)


def _colours_known(
    order: "Order | None", sheet: "SampleSheet", picks: "Sequence[Pick]"
) -> "list[Diagnostic]":
    """Look whether picks name colours that exist: in the order, or else on the sheet.

    Raises OrderError for a colour that the order lacks.
    """
    from inkaccord.diagnostics import error, warning  # noqa: PLC0415 - after parsing
    from inkaccord.order.mistakes import suggest  # noqa: PLC0415

    if order is not None:
        colours = order.colours
        unknown = [it.colour for it in picks if it.colour not in colours]
        if unknown:
            raise OrderError(
                error(
                    "unknown-colour",
                    f"the order has no colour '{name}'",
                    hint=suggest(name, colours),
                )
                for name in unknown
            )
        return []
    named = {swatch.colour for swatch in sheet.swatches if swatch.colour}
    return [
        warning(
            "unknown-colour",
            f"sheet {sheet.id} has no swatches for a colour '{it.colour}'",
            hint=f"{suggest(it.colour, named)} If it is meant so, all is well.",
        )
        for it in picks
        if named and it.colour not in named
    ]


def record_foreign(settings: Settings, store: "Shelf", options: RecordOptions) -> Recorded:
    """Keep a target that was not drawn here, together with its readings."""
    from inkaccord.diagnostics import Place, warning  # noqa: PLC0415 - after parsing
    from inkaccord.files import read_bytes, sha256_of  # noqa: PLC0415
    from inkaccord.sheets.reading.foreign import take_foreign  # noqa: PLC0415
    from inkaccord.sheets.reading.tables import read_tables  # noqa: PLC0415

    assert options.pair is not None  # noqa: S101 -- this way is taken for a pair only
    pair, ink_limit = options.pair, options.ink_limit
    drives = {it.sheet.drive for it in store.sheets(pair)}
    order = settings.load(settings.order).order if settings.order is not None else None
    device = _device(order, pair)
    if order is not None and device is not None:
        pair = order.pair(pair)
        drives, ink_limit = {device.drive}, ink_limit or device.ink_limit
    tolerance = _tolerance(order, pair)
    data = {file: read_bytes(file) for file in options.files}
    for file, content in data.items():
        if b"\0" in content[:4096] and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
            raise OrderError.of(
                "unknown-readings",
                f"{file} is no table of builds and readings",
                hint="with --pair give CGATS text, CSV or JSON; a scan is recorded for its SHEET",
            )
    foreign = take_foreign(
        [it for file, content in data.items() for it in read_tables(content, file=str(file))],
        pair,
        date=options.date,
        name=options.name or options.files[0].stem,
        drive=next(iter(drives)) if len(drives) == 1 else None,
        ink_limit=ink_limit,
        known=lambda sheet: known_of(store, sheet, tolerance),
    )
    findings = list(foreign.findings)
    near = [str(it) for it in store.pairs() if it != pair and _alike(it, pair)]
    if near and pair not in store.pairs():
        findings.append(
            warning(
                "new-pair",
                f"the shelf has nothing else of {pair}; it has {', '.join(near)}, which is another "
                "pair",
                place=Place(file=str(options.files[0])),
                hint="name the pair with its driver setting, or give the --order that names it; "
                f"'inkaccord shelf retire {foreign.sheet.id}{same_place(settings)}' undoes this",
            )
        )
    new = store.record_foreign(
        foreign.sheet,
        foreign.readings,
        source=options.source,
        source_sha256=sha256_of(b"".join(data.values())),
    )
    return Recorded(
        sheet=foreign.sheet,
        findings=tuple(findings),
        readings=len(foreign.readings.readings),
        new_readings=new,
        drift=_drift(store, foreign.sheet, tolerance) if new else None,
    )


def _alike(one: "Pair", other: "Pair") -> bool:
    return (one.device, one.stock) == (other.device, other.stock)
