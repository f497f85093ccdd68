"""What ``inkaccord record`` does: a sheet's readings and picks, or a target of others."""

import datetime
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.cli.shared import Settings
from inkaccord.errors import FileError, OrderError

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.diagnostics import Diagnostic
    from inkaccord.hooks import ReadingsTaken
    from inkaccord.sheets.model import SampleSheet, SheetReadings
    from inkaccord.shelf.store import Shelf


@dataclass(frozen=True)
class RecordOptions:
    """What was asked for, as it stands on the command line."""

    sheet: str | None
    file: Path | None
    picks: tuple[str, ...]
    by: str
    light: str
    sure: float
    day: datetime.datetime | None
    beside: str | None
    pair: "Pair | None"
    name: str | None
    ink_limit: float | None
    order: Path | None
    shelf: str | None

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


def record_sheet(settings: Settings, store: "Shelf", options: RecordOptions) -> Recorded:
    """Keep the readings and picks of a sheet that is on the shelf."""
    from inkaccord.sheets.pick_text import parse_pick  # noqa: PLC0415 - after parsing

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
    taken = _read(settings, store, kept, options) if options.file is not None else None
    new_readings = False
    if taken is not None and options.file is not None:
        from inkaccord.files import sha256_of  # noqa: PLC0415 - only with a file

        new_readings = store.record_readings(
            taken.readings,
            source=options.file.name,
            source_sha256=sha256_of(options.file.read_bytes()),
        )
    return Recorded(
        sheet=kept,
        findings=taken.findings if taken is not None else (),
        readings=len(taken.readings.readings) if taken is not None else 0,
        new_readings=new_readings,
        new_picks=store.record_picks(made) if made else 0,
    )


def record_foreign(settings: Settings, store: "Shelf", options: RecordOptions) -> Recorded:
    """Keep a target that was not drawn here, together with its readings."""
    from inkaccord.diagnostics import Place, warning  # noqa: PLC0415 - after parsing
    from inkaccord.files import read_bytes, sha256_of  # noqa: PLC0415
    from inkaccord.sheets.foreign import take_foreign  # noqa: PLC0415
    from inkaccord.sheets.tables import read_tables  # noqa: PLC0415

    assert options.pair is not None  # noqa: S101 -- this way is taken for a pair only
    assert options.file is not None  # noqa: S101 -- checked with the options
    pair, ink_limit = options.pair, options.ink_limit
    drives = {it.sheet.drive for it in store.sheets(pair)}
    if options.order is not None:
        order = settings.load(options.order).order
        if any(pair.device in vendor.devices for vendor in order.vendors.values()):
            pair, device = order.pair(pair), order.device(pair.device)
            drives, ink_limit = {device.drive}, ink_limit or device.ink_limit
    data = read_bytes(options.file)
    if b"\0" in data[:4096] and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise OrderError.of(
            "unknown-readings",
            f"{options.file} is no table of builds and readings",
            hint="with --pair give CGATS text, CSV or JSON; a scan is recorded for its SHEET",
        )
    foreign = take_foreign(
        read_tables(data, file=str(options.file)),
        pair,
        date=options.date,
        name=options.name or options.file.stem,
        drive=next(iter(drives)) if len(drives) == 1 else None,
        ink_limit=ink_limit,
        known=lambda sheet: _known(store, sheet),
    )
    findings = list(foreign.findings)
    near = [str(it) for it in store.pairs() if it != pair and _alike(it, pair)]
    if near and pair not in store.pairs():
        findings.append(
            warning(
                "new-pair",
                f"the shelf has nothing else of {pair}; it has {', '.join(near)}, which is another "
                "pair",
                place=Place(file=str(options.file)),
                hint="name the pair with its driver setting, or give the --order that names it; "
                f"'inkaccord shelf retire {foreign.sheet.id}' undoes this",
            )
        )
    new = store.record_foreign(
        foreign.sheet,
        foreign.readings,
        source=options.file.name,
        source_sha256=sha256_of(data),
    )
    return Recorded(
        sheet=foreign.sheet,
        findings=tuple(findings),
        readings=len(foreign.readings.readings),
        new_readings=new,
    )


def _known(store: "Shelf", sheet: "SampleSheet") -> "tuple[SheetReadings, ...]":
    """Return what is known of a sheet's swatches today."""
    from inkaccord.order.vendors import Device  # noqa: PLC0415 - after parsing
    from inkaccord.shelf.course import known_today  # noqa: PLC0415

    # The shelf knows no device's own tolerance, so the usual one must do.
    return known_today(sheet, store.readings_of(sheet.pair), Device().drift_tolerance)


def _alike(one: "Pair", other: "Pair") -> bool:
    return (one.device, one.stock) == (other.device, other.stock)


def _read(
    settings: Settings, store: "Shelf", sheet: "SampleSheet", options: RecordOptions
) -> "ReadingsTaken":
    """Read a file with the first format that recognises it."""
    from inkaccord.hooks import BesideFormat, ReadingsFormat, ReadingsTaken  # noqa: PLC0415
    from inkaccord.shelf.evidence import known_for  # noqa: PLC0415 - after parsing

    file = options.file
    assert file is not None  # noqa: S101 -- only called with one
    head = _head(file)
    plugins = settings.loaded
    formats = plugins.each("inkaccord_readings_formats", None)
    for plugin, form in formats:
        if not isinstance(form, ReadingsFormat):
            continue
        with plugins.blaming(plugin, form.name):
            if not form.recognises(file, head):
                continue
            if options.beside is None:
                taken = form.read(file, sheet, _known(store, sheet))
            elif isinstance(form, BesideFormat):
                beside = store.sheet(options.beside)
                known = known_for(beside, store.readings_of_sheet(beside.id))
                taken = form.read_beside(file, sheet, beside, known)
            else:
                raise OrderError.of(
                    "no-scan",
                    f"{file} is no scan: --beside is for scans that show two sheets",
                    hint="leave --beside out; an instrument's file holds the controls anyway",
                )
            if not isinstance(taken, ReadingsTaken):
                raise TypeError(f"gave {type(taken).__name__}, not ReadingsTaken")
            return taken
    names = ", ".join(form.name for _, form in formats)
    raise OrderError.of(
        "unknown-readings",
        f"{file} is in no form that is known here ({names})",
        hint="save the readings as CGATS text or CSV with a column SAMPLE_ID",
    )


def _head(file: Path) -> bytes:
    try:
        with file.open("rb") as stream:
            return stream.read(4096)
    except OSError as problem:
        raise FileError.of(
            "cannot-read",
            f"cannot read {file}: {problem.strerror or problem}",
            hint="check that it exists and that you may read it",
        ) from problem
