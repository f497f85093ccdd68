"""Stage 4: what has to be printed to know more, and nothing that is known."""

import numpy as np

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.matching.match import match
from inkaccord.colour.pairs import Pair
from inkaccord.colour.press.model import fit
from inkaccord.colour.sampling.eye_set import eye_set
from inkaccord.colour.sampling.planning import closing_set, scouting_set
from inkaccord.diagnostics import Diagnostic
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.placing import Group
from inkaccord.sheets.planning.plan import plan_sheet, scouting_count
from inkaccord.sheets.savings import Cost, savings
from inkaccord.sheets.settings import paper_findings
from inkaccord.stages.agree import trusted
from inkaccord.stages.aims import artwork_look, resolve_aim
from inkaccord.stages.bench import Bench
from inkaccord.stages.knowledge import PairKnowledge, paper_readings
from inkaccord.stages.picking import offered_before
from inkaccord.stages.results import (
    EYE_DECIDES_WITHIN,
    Agreement,
    Collected,
    Evidence,
    NextStep,
    PlannedSheet,
    SamplePlan,
    Translations,
)
from inkaccord.stages.sample_pages import laid_path, sample_pages, sample_settings
from inkaccord.stages.translate import colours_on_pairs

CLOSING = 5
"""Swatches round one predicted build."""


@hookimpl
def inkaccord_plan_samples(
    order: Order,
    collected: Collected,
    translations: Translations,
    agreement: Agreement,
    bench: Bench,
) -> SamplePlan:
    """Plan what is missing, pair by pair."""
    needed = colours_on_pairs(order, collected)
    sheets: list[PlannedSheet] = []
    steps: list[NextStep] = []
    findings: list[Diagnostic] = []
    lacking: dict[Pair, list[str]] = {}
    without: list[SampleSheet | None] = []
    printed: list[SampleSheet | None] = []
    for pair in order.pairs_needed():
        known = bench.pair(pair)
        colours = needed.get(pair, ()) or _aims_on(order, pair)
        missing = [it.colour for it in translations.unknown if it.pair == pair]
        if not known.is_read:
            # An aim that is a build on this pair is known to no other pair until it is read.
            missing += [it for it in _aims_on(order, pair) if it not in missing]
        unsure = _unsure(order, pair, agreement, translations)
        # What an empty shelf would have cost; it is printed only at first contact.
        first = _first(order, known, colours, bench) if colours else None
        without.append(first)
        planned, why = _wanted(order, known, missing, unsure, first, translations)
        if planned is None and unsure and known.picks:
            steps.append(_read_step(order, known, unsure))
        if planned is None and known.is_read and known.aged:
            # Any sheet carries the controls; they alone are printed where nothing else is.
            planned = _controls(order, known)
            why = "the controls alone, as its readings are old"
        if planned is not None:
            bench.shelf.add_sheet(planned)
            sheets.append(_planned(order, planned, why))
            dark = paper_findings(pair.stock, known.paper_lightness)
            steps.append(_print_step(order, planned, why, on_dark=bool(dark)))
            printed.append(planned)
            findings += dark
        lacking[pair] = missing
    steps += _pick_steps(order, lacking, bench)
    return SamplePlan(
        sheets=tuple(sheets),
        steps=tuple(steps),
        saved=_saved(printed, without),
        findings=tuple(findings),
    )


def _wanted(
    order: Order,
    known: PairKnowledge,
    missing: list[str],
    unsure: list[str],
    first: SampleSheet | None,
    translations: Translations,
) -> tuple[SampleSheet | None, str]:
    """Return the sheet that would tell what is missing of a pair, and why; None for nothing.

    What was printed before and waits to be recorded is asked for first.
    """
    waiting = next(iter(known.waiting()), None)
    if missing and not known.is_read and not _only_picks_lack(known, missing, order):
        why = "it has drifted and is read anew" if known.waits_for_new_sheet else "first contact"
        return waiting or first, f"{why}, for {_and(missing)}"
    if unsure:
        closing = waiting or _closing(order, known, unsure, translations)
        return closing, f"closing in on {_and(unsure)}"
    if order.proof and known.is_read and not missing:
        proof, proved = _proof(order, known, translations)
        if proof is not None:
            return waiting or proof, f"a proof swatch of {_and(proved)}"
    return None, ""


def _controls(order: Order, known: PairKnowledge) -> SampleSheet | None:
    waiting = known.waiting_controls()
    return waiting[0] if waiting else _sheet(order, known, Purpose.CONTROLS, [])


def _aims_on(order: Order, pair: Pair) -> tuple[str, ...]:
    """Return the colours whose aim is a build on a pair."""
    return tuple(
        name
        for name, it in order.colours.items()
        if it.aim.on is not None and order.pair(it.aim.on) == pair
    )


def _unsure(
    order: Order, pair: Pair, agreement: Agreement, translations: Translations
) -> list[str]:
    """Return the colours that must be known better on a pair before anyone can say they agree.

    Where two pieces' distance is too uncertain, the pair that is known worse is asked.
    """
    unsure: list[str] = []
    for it in agreement.distances:
        if it.verdict is not Verdict.UNCERTAIN or trusted(order, it):
            continue
        pairs = [order.pair_of(piece) for piece in (it.piece, it.other) if piece]
        found = [t for p in pairs if (t := translations.of(it.colour, p)) is not None]
        worst = max(found, key=lambda t: t.uncertainty, default=None)
        if worst is not None and worst.pair == pair and it.colour not in unsure:
            unsure.append(it.colour)
    return unsure


def _only_picks_lack(known: PairKnowledge, missing: list[str], order: Order) -> bool:
    """Tell whether a printed sheet is at hand and only judgement by eye is missing."""
    if known.waits_for_new_sheet:
        return False
    by_eye = all(order.colours[colour].aim.by_eye is not None for colour in missing)
    return by_eye and bool(known.read_sheets or known.picks)


def _first(
    order: Order, known: PairKnowledge, colours: tuple[str, ...], bench: Bench
) -> SampleSheet | None:
    """Return the sheet for first contact; for a pair that is read, the one that once served.

    To choose its swatches anew would take longer than to find all builds of the pair.
    """
    served = (it.sheet for it in known.kept if it.sheet.purpose is Purpose.SCOUTING)
    first = next(served, None) if known.is_read else None
    return first or _scouting(order, known, colours, bench)


def _scouting(
    order: Order, known: PairKnowledge, colours: tuple[str, ...], bench: Bench
) -> SampleSheet | None:
    """Plan the first sheet for a pair, shared by all of its colours."""
    drive = known.drive
    controls = np.array([build.values for build in control_builds(drive)])
    aims = [resolve_aim(order, colour, bench).lab for colour in colours]
    focus = [lab for lab in aims if lab is not None] or None
    count = scouting_count(sample_pages(order, known), sample_settings(known), drive)
    found = scouting_set(
        drive, known.policy, count, paper_lab=known.paper, focus_lab=focus, beside=controls
    )
    groups = [Group(builds=_builds(drive, found))]
    groups += [
        Group(colour=colour, builds=_round_artwork(order, known, colour, bench), for_eye=True)
        for colour, lab in zip(colours, aims, strict=True)
        if lab is None and order.colours[colour].aim.by_eye is not None
    ]
    return _sheet(order, known, Purpose.SCOUTING, groups)


def _sheet(
    order: Order, known: PairKnowledge, purpose: Purpose, groups: list[Group]
) -> SampleSheet | None:
    """Lay out a sheet of what is missing; None when nothing is."""
    scouting = purpose is Purpose.SCOUTING
    return plan_sheet(
        known.pair,
        purpose,
        groups,
        sample_pages(order, known),
        drive=known.drive,
        date=order.date,
        order=order.order,
        known=() if scouting else known.known_builds(),
        settings=sample_settings(known),
        ink_limit=known.policy.total_ink_limit if known.drive is Drive.CMYK else None,
        look=known.model if scouting else None,
    )


def _closing(
    order: Order, known: PairKnowledge, colours: list[str], translations: Translations
) -> SampleSheet | None:
    """Plan a few swatches round each build: to be read, or to pick from where the eye judges."""
    found = [it for colour in colours if (it := translations.of(colour, known.pair)) is not None]
    groups: list[Group] = []
    to_read = [it for it in found if it.evidence is Evidence.READ and known.is_read]
    if to_read:
        builds = np.array([it.build.values for it in to_read])
        sets = closing_set(known.model, builds, CLOSING, known.policy)
        groups += [
            Group(colour=it.colour, builds=_builds(known.drive, rows))
            for it, rows in zip(to_read, sets, strict=True)
        ]
    for it in found:
        picked = known.picked(it.colour) if it.evidence is Evidence.PICKED else None
        if picked is not None and not picked.settled:
            rows = eye_set(known.model, picked.build.values, known.policy)
            offered = _builds(known.drive, rows)
            if not offered_before(known, it.colour, offered):
                groups.append(Group(colour=it.colour, builds=offered, for_eye=True))
    return _sheet(order, known, Purpose.CLOSING_IN, groups) if groups else None


def _proof(
    order: Order, known: PairKnowledge, translations: Translations
) -> tuple[SampleSheet | None, list[str]]:
    """Plan one swatch of each build that was found by readings and not yet seen in print."""
    seen = {
        swatch.colour
        for it in known.course.now
        if it.sheet.purpose is Purpose.PROOF
        for swatch in it.sheet.swatches
    }
    builds = known.known_builds()
    found = [
        it
        for it in translations.known
        if it.pair == known.pair
        and it.colour not in seen
        and it.evidence is Evidence.READ
        and it.build not in builds
    ]
    if not found:
        return None, []
    groups = [Group(colour=it.colour, builds=(it.build,)) for it in found]
    return _sheet(order, known, Purpose.PROOF, groups), [it.colour for it in found]


def _round_artwork(
    order: Order, known: PairKnowledge, colour: str, bench: Bench
) -> tuple[Build, ...]:
    """Return builds to pick from by eye: round what the artwork itself says."""
    start = artwork_look(order, colour, bench)
    if start is None:
        guess = match(known.model, np.array([[50.0, 0.0, 0.0]]), known.policy).builds
    elif start.drive is known.drive:
        guess = np.array([start.values])
    else:
        elsewhere = fit(paper_readings(start.drive, known.paper))
        look = elsewhere.predict_lab(np.array([start.values]))
        guess = match(known.model, look, known.policy).builds
    return _builds(known.drive, eye_set(known.model, guess[0], known.policy))


def _builds(drive: Drive, rows: np.ndarray) -> tuple[Build, ...]:
    return tuple(Build(drive=drive, values=tuple(row)) for row in np.asarray(rows).tolist())


def _planned(order: Order, sheet: SampleSheet, why: str) -> PlannedSheet:
    return PlannedSheet(
        sheet=sheet,
        why=why,
        path=f"samples/{sheet.id}.pdf",
        table=f"samples/{sheet.id}.txt",
        laid=laid_path(order, sheet),
    )


def _print_step(order: Order, sheet: SampleSheet, why: str, *, on_dark: bool) -> NextStep:
    vendor = order.vendors[order.vendor_of(sheet.pair.device)]
    title = vendor.title or order.vendor_of(sheet.pair.device)
    told = " On this dark stock, read its ids under a strong light." if on_dark else ""
    pages = f"{sheet.pages} page{'s' if sheet.pages > 1 else ''}"
    return NextStep(
        text=f"Print sheet {sheet.id} on {sheet.pair} ({title}; {pages}, "
        f"{len(sheet.swatches)} swatches): {why}.{told}",
        command=f"inkaccord record {sheet.id} READINGS-FILE",
        sheet=sheet.id,
        pair=sheet.pair,
    )


def _read_step(order: Order, known: PairKnowledge, colours: list[str]) -> NextStep:
    sheet = known.picked_sheets[-1]
    or_else = (
        f"or pick once more: the eye decides from ±{EYE_DECIDES_WITHIN:g} ΔE00 on"
        if order.accept_by_eye
        else "or let the eye decide with 'accept_by_eye: true' in the order"
    )
    return NextStep(
        text=f"{_and(colours)} on {known.pair} was only judged by eye. Read sheet {sheet} with an "
        f"instrument, {or_else}.",
        command=f"inkaccord record {sheet} READINGS-FILE",
        sheet=sheet,
        pair=known.pair,
    )


def _pick_steps(order: Order, missing: dict[Pair, list[str]], bench: Bench) -> list[NextStep]:
    """Ask for picks of colours that only the eye can judge, on sheets that are printed already.

    One pick on a sheet that was read settles the aim for every pair that is read.
    """
    steps = []
    for colour, it in order.colours.items():
        if it.aim.by_eye is None:
            continue
        sheets = [
            sheet
            for pair, colours in missing.items()
            if colour in colours
            for sheet in (bench.pair(pair).read_sheets or bench.pair(pair).picked_sheets)[-1:]
        ]
        if sheets:
            others = (
                f" (or beside {_and(sheets[1:])}; each pick makes it surer)" if sheets[1:] else ""
            )
            steps.append(
                NextStep(
                    text=f"Lay {it.aim.by_eye} beside sheet {sheets[0]}{others} and pick the "
                    f"swatch that matches {colour} best.",
                    command=f"inkaccord record {sheets[0]} --pick {colour}=SWATCH",
                    sheet=sheets[0],
                )
            )
    return steps


def _saved(printed: list[SampleSheet | None], without: list[SampleSheet | None]) -> Cost:
    saved = savings(printed, without).saved
    return Cost(
        swatches=max(0, saved.swatches),
        pages=max(0, saved.pages),
        area_cm2=max(0.0, round(saved.area_cm2, 1)),
        ink_cm2=max(0.0, round(saved.ink_cm2, 1)),
    )


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
