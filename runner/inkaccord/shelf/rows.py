"""Values to rows and back. Numbers come back exactly as they went in."""

import datetime
import hashlib
import json
import re
import struct
from collections.abc import Iterable, Sequence
from typing import Any

import sqlalchemy as sa

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.conditions import Conditions
from inkaccord.colour.direction import Direction
from inkaccord.colour.pairs import Pair
from inkaccord.models import Frozen
from inkaccord.sheets.model import Pick, Purpose, Reading, SampleSheet, SheetReadings, Swatch
from inkaccord.sizes import Box

Row = dict[str, Any]
_COLUMNS = {"id", "pair", "drive", "purpose", "swatches", "order", "date"}
"""The fields of a sheet that have columns of their own; the others describe its layout."""
_MINUS_ZERO = re.compile(r"-0\.0(?=[],}])")
_BUILD = ("v1", "v2", "v3", "v4")
_ASKED_FOR = {"order": "", "date": datetime.date.min, "purpose": Purpose.IMPORTED}


def digest_of(value: Frozen) -> str:
    """Return the SHA-256 of a value's content.

    Fields that are None are left out, so an optional field that a later version adds does not
    change the digest of what is already kept. Defaults are in it, since they may change. Values
    that are equal have one digest: instruments write -0.00, and SQLite keeps no sign of a zero.
    """
    content = value.model_dump(mode="json", exclude_none=True)
    text = json.dumps(content, sort_keys=True, separators=(",", ":"))
    text = _MINUS_ZERO.sub("0.0", text)
    return hashlib.sha256(text.encode()).hexdigest()


def same_print(one: SampleSheet, other: SampleSheet) -> bool:
    """Tell whether two sheets are the same on paper, whichever order asked for them and when.

    Until version 5 a shelf did not know which swatches are for the eye, and which ways they lead.
    """
    return _on_paper(one) == _on_paper(other)


def _on_paper(sheet: SampleSheet) -> SampleSheet:
    unsaid = {"for_eye": False, "ways": ()}
    swatches = tuple(swatch.model_copy(update=unsaid) for swatch in sheet.swatches)
    return sheet.model_copy(update={**_ASKED_FOR, "swatches": swatches})


def sheet_row(sheet: SampleSheet) -> Row:
    """Return the row of a sheet, without its swatches."""
    return {
        "id": sheet.id,
        "pair": str(sheet.pair),
        "drive": sheet.drive.value,
        "purpose": sheet.purpose.value,
        "layout": sheet.model_dump_json(exclude=_COLUMNS),
        "order_name": sheet.order,
        "date": sheet.date.isoformat(),
    }


def swatch_rows(sheet: SampleSheet) -> list[Row]:
    """Return the rows of a sheet's swatches, in its order."""
    rows: list[Row] = []
    for position, swatch in enumerate(sheet.swatches):
        v1, v2, v3, v4 = (*swatch.build.values, None)[:4]
        left, bottom, right, top = swatch.box_pt or (None,) * 4
        rows.append(
            {
                "sheet_id": sheet.id,
                "id": swatch.id,
                "position": position,
                "v1": v1,
                "v2": v2,
                "v3": v3,
                "v4": v4,
                "control": swatch.control,
                "colour": swatch.colour,
                "for_eye": swatch.for_eye,
                "ways": " ".join(swatch.ways) or None,
                "page": swatch.page,
                "left_pt": left,
                "bottom_pt": bottom,
                "right_pt": right,
                "top_pt": top,
            }
        )
    return rows


def sheet_value(row: sa.Row[Any], swatches: Iterable[sa.Row[Any]]) -> SampleSheet:
    """Return the sheet of its row and its swatches' rows."""
    drive = Drive(row.drive)
    return SampleSheet(
        id=row.id,
        pair=Pair.parse(row.pair),
        drive=drive,
        purpose=row.purpose,
        swatches=tuple(_swatch(drive, swatch) for swatch in swatches),
        order=row.order_name,
        date=datetime.date.fromisoformat(row.date),
        **json.loads(row.layout),
    )


def _swatch(drive: Drive, row: sa.Row[Any]) -> Swatch:
    values = (row.v1, row.v2, row.v3, row.v4) if drive is Drive.CMYK else (row.v1, row.v2, row.v3)
    placed = row.left_pt is not None
    return Swatch(
        id=row.id,
        build=Build(drive=drive, values=values),
        control=row.control,
        colour=row.colour,
        for_eye=bool(row.for_eye),
        ways=tuple(map(Direction, (row.ways or "").split())),
        page=row.page,
        box_pt=Box(row.left_pt, row.bottom_pt, row.right_pt, row.top_pt) if placed else None,
    )


def record_row(readings: SheetReadings) -> Row:
    """Return the row of one reading of a sheet, without the swatches' readings."""
    conditions, wavelengths = readings.conditions, readings.wavelengths_nm
    return {
        "digest": digest_of(readings),
        "sheet_id": readings.sheet,
        "illuminant": conditions.illuminant,
        "observer": conditions.observer,
        "mode": conditions.mode,
        "backing": conditions.backing,
        "wavelengths_nm": None if wavelengths is None else json.dumps(wavelengths),
        "noise": readings.noise,
        "device": readings.device,
        "read_on": readings.read_on.isoformat() if readings.read_on else None,
    }


def reading_rows(readings: SheetReadings, record: str) -> list[Row]:
    """Return the rows of the swatches' readings."""
    return [
        {
            "record": record,
            "position": position,
            "sheet_id": readings.sheet,
            "swatch_id": reading.swatch,
            "lab_l": reading.lab[0],
            "lab_a": reading.lab[1],
            "lab_b": reading.lab[2],
            "spectrum": _packed(reading.spectrum),
        }
        for position, reading in enumerate(readings.readings)
    ]


def readings_value(row: sa.Row[Any], readings: Iterable[sa.Row[Any]]) -> SheetReadings:
    """Return one reading of a sheet of its row and its swatches' rows."""
    return SheetReadings(
        sheet=row.sheet_id,
        readings=tuple(
            Reading(
                swatch=r.swatch_id,
                lab=(r.lab_l, r.lab_a, r.lab_b),
                spectrum=_unpacked(r.spectrum),
            )
            for r in readings
        ),
        conditions=conditions_value(row),
        wavelengths_nm=tuple(json.loads(row.wavelengths_nm)) if row.wavelengths_nm else None,
        noise=row.noise,
        device=row.device,
        read_on=_date(row.read_on),
    )


def conditions_value(row: sa.Row[Any]) -> Conditions:
    """Return the conditions that a record's row states."""
    return Conditions(
        illuminant=row.illuminant, observer=row.observer, mode=row.mode, backing=row.backing
    )


def pick_row(pick: Pick) -> Row:
    """Return the row of a pick."""
    return {
        "digest": digest_of(pick),
        "sheet_id": pick.sheet,
        "swatch_id": pick.swatch,
        "between_id": pick.between,
        "then_id": pick.then,
        "among": None if pick.among is None else " ".join(pick.among),
        "turn": pick.turn,
        "colour": pick.colour,
        "nudge": pick.nudge.value if pick.nudge else None,
        "picked_by": pick.by,
        "light": pick.light,
        "sure": pick.sure,
        "picked_on": pick.picked_on.isoformat() if pick.picked_on else None,
        "error": pick.error,
        **dict(zip(_BUILD, (*(pick.build or ()), *(None,) * 4), strict=False)),
    }


def pick_value(row: sa.Row[Any]) -> Pick:
    """Return the pick of its row."""
    build = tuple(value for name in _BUILD if (value := getattr(row, name)) is not None)
    return Pick(
        sheet=row.sheet_id,
        colour=row.colour,
        swatch=row.swatch_id,
        between=row.between_id,
        then=row.then_id,
        among=None if row.among is None else tuple(row.among.split()),
        turn=row.turn,
        nudge=row.nudge,
        by=row.picked_by,
        light=row.light,
        sure=row.sure,
        picked_on=_date(row.picked_on),
        build=build or None,
        error=row.error,
    )


def _date(text: str | None) -> datetime.date | None:
    return datetime.date.fromisoformat(text) if text else None


def _packed(spectrum: Sequence[float] | None) -> bytes | None:
    return None if spectrum is None else struct.pack(f"<{len(spectrum)}d", *spectrum)


def _unpacked(data: bytes | None) -> tuple[float, ...] | None:
    return None if data is None else struct.unpack(f"<{len(data) // 8}d", data)
