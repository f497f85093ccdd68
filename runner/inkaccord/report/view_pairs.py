"""The report's fourth part: every pair, what it can reach, how old and how steady it is."""

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup

from inkaccord.colour.lab import Lab
from inkaccord.colour.spaces import lab_to_lch, xyz_to_lab
from inkaccord.knowledge.course import Course
from inkaccord.knowledge.values import Translation
from inkaccord.order.model import Order
from inkaccord.report.charts import MOST_NAMED, Spot, ab_chart, drift_chart, lc_chart
from inkaccord.report.gamut import gamut_of
from inkaccord.report.graphics import svg
from inkaccord.report.screen import ScreenColour, screen_colour, screen_colours
from inkaccord.run.bench import Bench
from inkaccord.run.record import Run
from inkaccord.shelf.whereabouts import whereabouts

if TYPE_CHECKING:
    from inkaccord.knowledge.pairs import PairKnowledge

MOST_READINGS = 300
"""Readings drawn of one pair; more are thinned out evenly, so that large shelves stay small."""
NEAR_HUE_DEG = 12.0


@dataclass(frozen=True)
class Slice:
    """One colour's plot of lightness and chroma."""

    colour: str
    chart: Markup


@dataclass(frozen=True)
class PairView:
    """One pair."""

    pair: str
    vendor: str
    pieces: tuple[str, ...]
    paper: ScreenColour
    paper_lab: Lab
    readings: int
    sheets: tuple[str, ...]
    on_paper: tuple[tuple[str, str], ...]
    """Its printed sheets whose place somebody has said, each with where to find it."""
    picks: int
    last_read: datetime.date | None
    age_days: int | None
    stale: str
    steadiness: str
    """What became of it, where its controls were compared."""
    reach: Markup
    numbered: tuple[str, ...]
    """The colours in ``reach``, where these are so many that they are numbered."""
    slices: tuple[Slice, ...]
    drift: Markup | None
    """None where the controls have been read once at most."""


def pair_views(run: Run, order: Order, known: Bench) -> tuple[PairView, ...]:
    """Return every pair that the order needs."""
    return tuple(_pair_view(run, order, known.pair(pair)) for pair in order.pairs_needed())


def _pair_view(run: Run, order: Order, facts: "PairKnowledge") -> PairView:
    pair = facts.pair
    name = str(pair)
    own = [it for it in run.translations if it.pair == pair]
    gamut = gamut_of(facts.model, facts.drive)
    labs = _readings(facts)
    fills = [colour.hex for colour in screen_colours(labs)]
    read = facts.last_read
    paper = facts.model.paper_lab
    drifts = control_drift(facts.course)
    printing = order.on(pair)
    tolerance = printing.device.drift_tolerance
    return PairView(
        pair=name,
        vendor=printing.vendor_name,
        pieces=tuple(job.name for job in order.jobs_on(pair)),
        paper=screen_colour(paper),
        paper_lab=(float(paper[0]), float(paper[1]), float(paper[2])),
        readings=0 if facts.readings is None else len(facts.readings),
        sheets=tuple(dict.fromkeys(it.sheet.id for it in facts.kept)),
        on_paper=tuple(
            (sheet, told)
            for sheet, moves in facts.moves.items()
            if (told := whereabouts(moves).told)
        ),
        picks=len(facts.picks),
        last_read=read,
        age_days=None if read is None else (run.date - read).days,
        stale=facts.stale,
        steadiness=next(
            (it.state for it in run.steadiness if it.pair == pair),
            "",
        ),
        reach=svg(
            ab_chart(
                name,
                gamut.outline_ab(),
                [
                    ((float(lab[1]), float(lab[2])), fill)
                    for lab, fill in zip(labs, fills, strict=True)
                ],
                [_spot(it, (1, 2)) for it in own],
            )
        ),
        numbered=tuple(it.colour for it in own) if len(own) > MOST_NAMED else (),
        slices=tuple(
            Slice(
                translation.colour,
                _slice(name, translation, gamut.slice(_hue(translation)), labs, fills),
            )
            for translation in own
        ),
        drift=svg(drift_chart(name, drifts, tolerance)) if len(drifts) > 1 else None,
    )


def _readings(facts: "PairKnowledge") -> np.ndarray:
    if facts.readings is None:
        return np.empty((0, 3))
    labs = xyz_to_lab(facts.readings.xyz)
    return labs[:: -(-len(labs) // MOST_READINGS)]


def _spot(translation: Translation, axes: tuple[int, int]) -> Spot:
    one, two = axes
    aim = translation.aim_lab
    return Spot(
        translation.colour,
        None if aim is None else (aim[one], aim[two]),
        (translation.predicted_lab[one], translation.predicted_lab[two]),
        screen_colour(translation.predicted_lab).hex,
    )


def _hue(translation: Translation) -> float:
    return float(lab_to_lch(np.array(translation.aim_lab or translation.predicted_lab))[2])


def _slice(
    pair: str,
    translation: Translation,
    outline: tuple[tuple[float, float], ...],
    labs: np.ndarray,
    fills: list[str],
) -> Markup:
    lch = lab_to_lch(labs)
    off = np.abs((lch[:, 2] - _hue(translation) + 180) % 360 - 180)
    near = [
        ((float(chroma), float(light)), fill)
        for (light, chroma, _), fill, away in zip(lch, fills, off, strict=True)
        if away <= NEAR_HUE_DEG
    ]
    aim = None if translation.aim_lab is None else lab_to_lch(np.array(translation.aim_lab))
    printed = lab_to_lch(np.array(translation.predicted_lab))
    spot = Spot(
        translation.colour,
        None if aim is None else (float(aim[1]), float(aim[0])),
        (float(printed[1]), float(printed[0])),
        screen_colour(translation.predicted_lab).hex,
    )
    return svg(lc_chart(pair, translation.colour, outline, near, spot))


def control_drift(course: Course) -> tuple[tuple[datetime.date, float], ...]:
    """Return the ΔE00 of the controls by day: 0 where a state of the pair began.

    A print that shows a drift is measured from the state before it; what follows, from itself.
    """
    seen = course.compared
    if not seen:
        return ()
    return ((seen[0].since, 0.0), *((it.day, it.apart.typical) for it in seen))
