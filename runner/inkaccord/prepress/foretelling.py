"""What will be said of a piece's copy, whatever its builds: before any of them is known."""

from collections.abc import Iterable

from inkaccord.artwork.advice import advised
from inkaccord.artwork.finishing.groups import mend_groups
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.programs import ProgramKind
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour
from inkaccord.artwork.swaps import Swap
from inkaccord.artwork.taking_up import OrderSays
from inkaccord.colour.builds import Build, Drive
from inkaccord.diagnostics import Diagnostic
from inkaccord.knowledge.values import Evidence, Translation
from inkaccord.order.job import Job
from inkaccord.order.model import Order, Photographs
from inkaccord.order.vendors import Vendor
from inkaccord.prepress.artwork_rules import order_says, rules_for
from inkaccord.prepress.copies import all_swaps_for, options_for, said_of_recolouring
from inkaccord.prepress.finishing import without_layers_and_type
from inkaccord.run.bench import Bench
from inkaccord.run.collected import PieceArtwork

_STAND_INS = {Drive.CMYK: Build.cmyk(60, 40, 40, 10), Drive.RGB: Build.rgb(90, 100, 110)}
"""In the place of builds that are not known yet, where the artwork has none for the device."""


def foretell(order: Order, artwork: PieceArtwork, bench: Bench) -> tuple[Diagnostic, ...]:
    """Return what recolouring and the checks will say of a piece, as far as no build matters.

    A copy is made with stand-ins for the builds, and looked at as the real one will be; how much
    ink it takes is left to that, unless nothing of it is matched: then it is the real one. Raises
    InkaccordError when no copy can be made.
    """
    job = order.jobs[artwork.piece]
    rules = rules_for(order, job)
    if is_matched(order, artwork):
        rules = rules.model_copy(update={"max_total_ink": None, "tell_ink": False})
    if order.photographs is Photographs.MATCHED:
        rules = rules.model_copy(update={"colour_kinds": None})
    said = bench.recall(
        said_of_copy,
        bench.artwork(artwork.piece),
        _stand_in_swaps(order, artwork, bench),
        options_for(job.vendor, order.profiled_of(job.name)),
        rules,
        job.vendor,
        job.name,
    )
    return (*said, *told_of_groups(order, artwork, bench))


def is_matched(order: Order, artwork: PieceArtwork) -> bool:
    """Tell whether anything of a piece's copy follows from what its pair prints."""
    pictures = order.photographs is Photographs.MATCHED and artwork.photographs
    return bool(artwork.brand_colours or pictures)


def told_of_groups(order: Order, artwork: PieceArtwork, bench: Bench) -> tuple[Diagnostic, ...]:
    """Return what will be said of pages that mix their colours in another kind than the device's.

    Nothing where that rests on pictures, which are translated first. Raises InkaccordError when no
    copy can be made.
    """
    job = order.jobs[artwork.piece]
    if not artwork.mixes_elsewhere(job.device.drive):
        return ()
    if order.photographs is Photographs.MATCHED and artwork.photographs:
        return ()
    return bench.recall(
        said_of_groups,
        bench.artwork(artwork.piece),
        _stand_in_swaps(order, artwork, bench),
        options_for(job.vendor, order.profiled_of(job.name)),
        job.device.drive,
        order_says(order, job),
        artwork.program,
    )


def said_of_groups(
    artwork: bytes,
    swaps: Iterable[Swap],
    options: RecolourOptions,
    drive: Drive,
    says: OrderSays,
    program: ProgramKind,
) -> tuple[Diagnostic, ...]:
    """Return what is said of the groups of a copy that is made with these swaps."""
    copy = recolour(artwork, tuple(swaps), options=options)
    _, said = mend_groups(copy.data, drive, says=says)
    return tuple(advised(said, program))


def said_of_copy(
    artwork: bytes,
    swaps: Iterable[Swap],
    options: RecolourOptions,
    rules: ArtworkRules,
    vendor: Vendor,
    name: str,
) -> tuple[Diagnostic, ...]:
    """Return what is said of a copy that is made with these swaps, each once."""
    copy = recolour(artwork, tuple(swaps), options=options)
    data, said = without_layers_and_type(vendor, copy.data, name)
    checked = preflight(data, rules, name=name)
    made = advised([*said_of_recolouring(copy), *said], copy.program)
    return tuple(dict.fromkeys([*made, *checked]))


def _stand_in_swaps(order: Order, artwork: PieceArtwork, bench: Bench) -> tuple[Swap, ...]:
    job = order.jobs[artwork.piece]
    known = [_stand_in(order, colour, job) for colour in artwork.brand_colours]
    return all_swaps_for(order, bench, artwork, known)


def _stand_in(order: Order, colour: str, job: Job) -> Translation:
    """Return a brand colour as the artwork's own build for the device, or as any."""
    drive = job.device.drive
    own = (Build(drive=drive, values=paint.values)
           for paint in order.colours[colour].in_artwork if paint.kind == drive.value)  # fmt: skip
    return Translation(
        **job.pair.parts,
        colour=colour,
        build=next(own, _STAND_INS[drive]),
        evidence=Evidence.ESTIMATED,
        aim_lab=None,
        predicted_lab=(50.0, 0.0, 0.0),
        delta_e_00=None,
        uncertainty=100.0,
    )
