"""Things laid on a scanner's glass with a sheet: what is found becomes picks of their colours."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import OrderError
from inkaccord.order.model import Order
from inkaccord.recording.intake import device_of, policy_of
from inkaccord.sheets.model import Pick, SampleSheet
from inkaccord.sheets.scan.on_glass import FoundOnGlass, things_on_glass
from inkaccord.sheets.scan.picture import is_picture, load_pictures

_FAR_OFF = 8.0
"""ΔE00 to the nearest swatch from which on a sheet round the build would tell much more."""
_SHORT = 1.0
"""ΔE00 by which a pair falls short of a thing that is worth a word."""


def second_opinion(photographed: bool) -> str:
    """Return in words what tells more of a thing than another picture of the same kind."""
    other = "scan both" if photographed else "photograph both by a window, lamps off,"
    return (
        f"Surer still, if not done yet: {other} and record that too. A scanner and a telephone err "
        "each in its own way; both together come nearer than either."
    )


@dataclass(frozen=True)
class ThingsSeen:
    """What a scan told of things, and the picks that it makes."""

    found: tuple[FoundOnGlass, ...] = ()
    picks: tuple[Pick, ...] = ()
    findings: tuple[Diagnostic, ...] = ()


def see_things(
    sheet: SampleSheet,
    files: Sequence[Path],
    colours: Sequence[str],
    *,
    today: datetime.date,
    order: Order | None,
    by: str,
) -> ThingsSeen:
    """Return what a scan of a sheet tells of the things that lie with it.

    Raises InkaccordError: ``no-scan`` for a file that is no picture, else as
    :func:`~inkaccord.sheets.scan.on_glass.things_on_glass`.
    """
    for path in files:
        if not path.is_file() or not is_picture(path.read_bytes()[:16]):
            raise OrderError.of(
                "no-scan",
                f"{path} is no scan, and --thing needs one",
                hint="scan the sheet with the thing on the glass, as PNG, TIFF or JPEG",
            )
    pictures = [picture for path in files for picture in load_pictures(path)]
    policy = policy_of(device_of(sheet.pair, order))
    found, findings = things_on_glass(pictures, sheet, dict.fromkeys(colours), policy)
    place = Place(file=pictures[0].name)
    return ThingsSeen(
        found=found,
        picks=tuple(
            Pick(
                sheet=sheet.id,
                colour=one.colour,
                swatch=one.swatches[0],
                among=one.swatches,
                by=by,
                light="the light of a photograph" if one.photographed else "a scanner's lamp",
                picked_on=today,
                build=one.build.values,
                error=round(one.likeness.error, 2),
            )
            for one in found
        ),
        findings=(*findings, *(it for one in found for it in _doubts(sheet, one, place))),
    )


def _doubts(sheet: SampleSheet, one: FoundOnGlass, place: Place) -> Iterator[Diagnostic]:
    likeness = one.likeness
    if likeness.short > _SHORT:
        yield warning(
            "out-of-reach",
            f"{sheet.pair} prints nothing nearer to the thing for {one.colour} than "
            f"{likeness.short:.1f} ΔE00, to the scanner",
            place=place,
        )
    elif likeness.distances[0] > _FAR_OFF:
        yield warning(
            "far-from-swatches",
            f"the thing for {one.colour} lies {likeness.distances[0]:.0f} ΔE00 from the nearest "
            f"swatch, {one.swatches[0]}, so that what is found is rough",
            place=place,
            hint="run the order again: the next sheet has swatches round it",
        )
