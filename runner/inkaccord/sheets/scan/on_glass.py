"""Things on one glass with a sheet: which builds would look like them to the scanner."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.glass import Likeness, SwatchesSeen, assumed_lab, like_on_glass, press_as_seen
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.seeing import Seeing, seeing_of
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import OrderError
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Berth, SampleSheet, Swatch
from inkaccord.sheets.scan.beside import object_beside
from inkaccord.sheets.scan.pages import (
    MOTTLED,
    SOILED,
    LitPage,
    lit_pages,
    photographed_note,
    quality_of,
    refuse_bad_light,
)
from inkaccord.sheets.scan.picture import ScannedPicture
from inkaccord.sheets.scan.thing import Thing, thing_in
from inkaccord.words import counted

_FEWEST = 8
"""Swatches that a comparison needs."""
_BLOCKS = 8.0
"""How many independent looks there are at a swatch."""
PHOTOGRAPHED = 1.5
"""Root mean square ΔE00 that a photograph adds: its tone curve bends, and light comes from
everywhere (``tests/benchmarks/glass.py``)."""


@dataclass(frozen=True, eq=False)
class FoundOnGlass:
    """What one thing looks like to the scanner.

    Attributes
    ----------
    colour
        The brand colour that it is matched for.
    build, likeness
        The build whose print would look like it, and how sure that is.
    swatches
        Ids of the three swatches that look most like it, the nearest first.
    photographed
        Whether the picture is a photograph.
    """

    colour: str
    build: Build
    likeness: Likeness
    swatches: tuple[str, ...]
    photographed: bool


def things_on_glass(
    pictures: Sequence[ScannedPicture],
    sheet: SampleSheet,
    colours: Iterable[str],
    policy: InkPolicy,
) -> tuple[tuple[FoundOnGlass, ...], tuple[Diagnostic, ...]]:
    """Return what builds look like the things that lie with a sheet, and what is worth saying.

    Parameters
    ----------
    colours
        Whose things lie there: each in its berth, or one beside a page.
    policy
        The limits of the sheet's pair.

    Raises
    ------
    OrderError
        As :func:`~inkaccord.sheets.scan.scanned.scan_sheet`; ``no-thing``, ``thing-too-small``,
        ``thing-uneven``, ``glare``, ``burnt-out``, ``light-uneven``, ``shadow``,
        ``picture-too-small``, ``too-few-swatches``.
    """
    pages = lit_pages(pictures, sheet)
    refuse_bad_light(pages)
    findings = [finding for page in pages for finding in quality_of(page.squared, page.sampled)]
    swatches, seen = swatches_seen(sheet, pages, findings)
    photographed = any(page.photographed for page in pages)
    if photographed:
        # a telephone bends the tones of what it sees, and the controls then tell of that
        seen = replace(seen, seeing=None)
        findings.append(photographed_note(pages))
    model = press_as_seen(seen)
    found = []
    for colour in colours:
        _need_its_swatches(sheet, colour, pages)
        thing = _thing(sheet, colour, pages)
        noise = float(np.hypot(thing.noise, pages[0].lighting.noise))
        likeness = like_on_glass(model, seen, assumed_lab(thing.linear), policy, noise=noise)
        if photographed:
            likeness = replace(likeness, error=float(np.hypot(likeness.error, PHOTOGRAPHED)))
        found.append(
            FoundOnGlass(
                colour=colour,
                build=Build(drive=sheet.drive, values=tuple(likeness.build.tolist())),
                likeness=likeness,
                swatches=tuple(swatches[row].id for row in likeness.nearest),
                photographed=photographed,
            )
        )
    return tuple(found), tuple(findings)


def swatches_seen(
    sheet: SampleSheet, pages: Sequence[LitPage], findings: list[Diagnostic]
) -> tuple[tuple[Swatch, ...], SwatchesSeen]:
    """Return the swatches that can be compared by, and what was seen of them.

    Those that are soiled or covered are left out, and ``findings`` says so. Raises OrderError
    ``too-few-swatches``.
    """
    by_id = {swatch.id: swatch for swatch in sheet.swatches}
    rows = [
        (by_id[name], linear, float(uneven))
        for page in pages
        for name, linear, uneven, dropped in zip(
            page.sampled.ids,
            # each page under the first one's light
            page.under(pages[0]),
            page.sampled.uneven,
            page.sampled.dropped,
            strict=True,
        )
        if dropped <= SOILED and uneven <= MOTTLED
    ]
    kept = tuple(swatch for swatch, _, _ in rows)
    left_out = sum(len(page.sampled.ids) for page in pages) - len(kept)
    file = Place(file=pages[0].squared.picture.name)
    if len(kept) < _FEWEST:
        raise OrderError.of(
            "too-few-swatches",
            f"only {len(kept)} swatches of sheet {sheet.id} can be seen well; {_FEWEST} are needed",
            place=file,
            hint="lay nothing over the swatches, clean the glass, and scan again",
        )
    if left_out:
        findings.append(
            warning(
                "swatches-left-out",
                f"not compared by, since soiled, covered or uneven: {counted(left_out, 'swatch')}",
                place=file,
                hint="lay nothing over the swatches",
            )
        )
    linear = np.array([row for _, row, _ in rows])
    uneven = np.array([row for _, _, row in rows]) / np.sqrt(_BLOCKS)
    lab = assumed_lab(linear)
    own = delta_e_2000(assumed_lab(linear * (1.0 + uneven[:, None])), lab)
    shared = max(pages[0].lighting.noise, _repeat(kept, lab))
    return kept, SwatchesSeen(
        drive=sheet.drive,
        builds=np.array([swatch.build.values for swatch in kept]),
        linear=linear,
        noise=np.hypot(own, shared),
        seeing=_seeing(kept, linear),
    )


def _seeing(swatches: Sequence[Swatch], linear: Array) -> Seeing | None:
    """Return how the scanner sees, by the controls; None where they were not all seen.

    A driver that mixes the inks by its own rule does not print the inks alone, and then they tell
    nothing of them.
    """
    rows = {swatch.build: row for row, swatch in enumerate(swatches) if swatch.control}
    controls = control_builds(Drive.CMYK)
    if any(build not in rows for build in controls):
        return None
    return seeing_of(linear[[rows[build] for build in controls]])


def _repeat(swatches: Sequence[Swatch], lab: Array) -> float:
    """Return the root mean square ΔE00 of one swatch, by builds that stand there twice."""
    apart = [
        float(delta_e_2000(lab[one], lab[other]))
        for one, other in combinations(range(len(swatches)), 2)
        if swatches[one].build == swatches[other].build
    ]
    return float(np.sqrt(np.mean(np.square(apart)) / 2.0)) if apart else 0.0


def _thing(sheet: SampleSheet, colour: str, pages: Sequence[LitPage]) -> Thing:
    """Return the thing of a colour: in its berth, or where there is none beside a page.

    Its light is taken to the first page's. Raises OrderError as :func:`things_on_glass`.
    """
    berth = next((it for it in sheet.berths if it.colour == colour), None)
    page = pages[0] if berth is None else _page_of(berth, pages)
    thing = _beside(sheet, colour, pages) if berth is None else None
    if thing is None:
        if berth is None:
            raise _no_berth(sheet, colour, pages)
        thing = thing_in(berth, page.squared, page.lighting)
    linear = thing.linear / page.lighting.paper * pages[0].lighting.paper
    return replace(thing, linear=linear)


def _need_its_swatches(sheet: SampleSheet, colour: str, pages: Sequence[LitPage]) -> None:
    """Refuse a scan that lacks every page with swatches for a colour: ``pages-missing``."""
    wanted = {swatch.page for swatch in sheet.swatches if swatch.colour == colour}
    if wanted and not wanted & {page.squared.page for page in pages}:
        raise OrderError.of(
            "pages-missing",
            f"the swatches for {colour} are on page {min(wanted)}, which is not in the scan",
            hint="give the scans of all pages at once, made one after the other",
        )


def _page_of(berth: Berth, pages: Sequence[LitPage]) -> LitPage:
    """Return the page that a berth is on. Raises OrderError ``pages-missing``."""
    page = next((it for it in pages if it.squared.page == berth.page), None)
    if page is None:
        raise OrderError.of(
            "pages-missing",
            f"the field for {berth.colour} is on page {berth.page}, which is not in the scan",
            hint="give the scans of all pages at once",
        )
    return page


def _beside(sheet: SampleSheet, colour: str, pages: Sequence[LitPage]) -> Thing | None:
    """Return the thing that lies beside a page; None where nothing does."""
    for page in pages:
        beside = object_beside(sheet, page.squared) if page.squared.alone else None
        if beside is None:
            continue
        if not beside.one_colour:
            raise OrderError.of(
                "thing-uneven",
                f"what lies beside the sheet for {colour} is not of one colour",
                place=Place(file=page.squared.picture.name),
                hint="lay a part of one colour there, alone, at some distance from the sheet",
            )
        linear = page.lighting.even(beside.linear[None], beside.at_pt[None])[0]
        # Out there no paper shows how it is lit: the field is taken on from the page's edge.
        lit = assumed_lab(linear * np.sqrt(page.lighting.range))
        return Thing(linear, float(delta_e_2000(lit, assumed_lab(linear))), beside.area_mm2)
    return None


def _no_berth(sheet: SampleSheet, colour: str, pages: Sequence[LitPage]) -> OrderError:
    fields = [berth.colour for berth in sheet.berths]
    place = Place(file=pages[0].squared.picture.name)
    if not any(page.squared.alone for page in pages):
        return OrderError.of(
            "no-thing",
            f"sheet {sheet.id} has no field for {colour}, and beside pages that lie on one scan "
            "together no thing is looked for",
            place=place,
            hint="scan each page by itself, one of them with the thing a finger's breadth beside "
            "it, and give all scans at once",
        )
    return OrderError.of(
        "no-thing",
        f"sheet {sheet.id} has no field for {colour}, and nothing lies beside it on the glass",
        place=place,
        hint=f"its fields are for {', '.join(fields)}"
        if fields
        else "lay the thing beside the sheet, a finger's breadth away, both on the glass; or say "
        f"'on_glass: true' in the aim of {colour}, so that its next sheet has a field for it",
    )
