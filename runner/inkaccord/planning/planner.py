"""The plan of an order: paper where paper can tell, and a question where only a person can."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Translations
from inkaccord.order.model import Order, Release
from inkaccord.planning.causes import Cause, causes_of
from inkaccord.planning.doubts import Doubt, doubts_of
from inkaccord.planning.eye import EyeDoubts, eye_doubts, worth_beside
from inkaccord.planning.eye_questions import eye_questions
from inkaccord.planning.paper import LIKELY, Asked, Chosen, Paper, choose
from inkaccord.planning.printed import record_steps, still_to_read
from inkaccord.planning.questions import Asker
from inkaccord.planning.sheets import (
    closing_sheet,
    controls_sheet,
    first_sheet,
    ladder,
    middle,
    proof_sheet,
)
from inkaccord.planning.unknowns import Unknowns, colours_wanted, unknowns_of
from inkaccord.planning.waiting import (
    first_that_waits,
    that_offers,
    that_proves,
    withdrawals,
    withdrawn,
)
from inkaccord.planning.where_to_look import for_the_eye, told_of_others
from inkaccord.planning.wording import price, thing, to_tell
from inkaccord.run.agreement import Agreement
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.plan import Away, NextStep, PlannedSheet, SamplePlan, StepKind
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.savings import Cost, savings
from inkaccord.sheets.settings import paper_findings
from inkaccord.shelf.whereabouts import sent_of
from inkaccord.words import joined, quoted


def plan_samples(
    order: Order,
    collected: Collected,
    translations: Translations,
    agreement: Agreement,
    bench: Bench,
) -> SamplePlan:
    """Plan what is missing, weigh paper for what is in doubt, and ask about the rest."""
    desk = _Desk(order, collected, translations, bench)
    unknowns = unknowns_of(order, translations, bench)
    for pair in order.pairs_needed():
        desk.first_contact(pair, unknowns)
    questions: list[NextStep] = []
    if order.release is not Release.REGARDLESS:
        doubts = doubts_of(order, translations, agreement)
        eye = eye_doubts(order, doubts, translations, bench)
        chosen = desk.weigh(eye, unknowns)
        asker = Asker(order, translations, agreement, bench)
        questions += eye_questions(order, eye, bench, asker.accepting(eye.beyond))
        causes = causes_of(order, translations, _left(order, eye, chosen))
        questions += _questions(asker, causes, chosen)
    knowns = [bench.pair(pair) for pair in order.pairs_needed()]
    gone = withdrawn(order, knowns, [it.sheet for it in desk.planned])
    others = (*record_steps(order, unknowns, translations, bench), *questions)
    return SamplePlan(
        sheets=(*desk.planned, *still_to_read(others, knowns, desk.planned)),
        withdrawn=gone,
        steps=(*desk.print_steps(), *others),
        saved=desk.saved(),
        findings=(*desk.findings(), *withdrawals(gone)),
    )


def _questions(
    asker: Asker, causes: Mapping[Pair, Sequence[Cause]], chosen: Chosen
) -> Iterator[NextStep]:
    """Yield one question about all that agrees most likely, and one for each pair's others."""
    likely = [cause for them in causes.values() for cause in them if cause.chance >= LIKELY]
    if likely:
        yield asker.about_likely(likely, chosen.spared)
    for pair, them in causes.items():
        if others := [cause for cause in them if cause not in likely]:
            yield asker.about(pair, others)


def _left(order: Order, eye: EyeDoubts, chosen: Chosen) -> list[Doubt]:
    """Return the doubts to ask about: neither paper nor the eye will settle them.

    A colour whose aim still moves, or whose pair is asked for more swatches of it, waits for that;
    while it is asked whether the eye may decide, all that hangs on the answer waits too.
    """
    left = [doubt for doubt in eye.paper if doubt not in chosen.settled]
    if order.accept_by_eye:
        left += eye.unread
    asked_first = bool(eye.unread) and not order.accept_by_eye
    return [
        doubt
        for doubt in left
        if not eye.waits_for_eye(doubt.distance.colour)
        and not any(doubt.distance.colour in chosen.asked.get(pair, ()) for pair in doubt.pairs)
        and not (asked_first and doubt.picked)
    ]


@dataclass
class _Desk:
    """Collects the sheets of a plan, pair by pair."""

    order: Order
    collected: Collected
    translations: Translations
    bench: Bench
    planned: list[PlannedSheet] = field(default_factory=list)
    _without: list[SampleSheet | None] = field(default_factory=list)

    def first_contact(self, pair: Pair, unknowns: Unknowns) -> None:
        """Ask for a pair's first sheet, and note what an empty shelf would have cost."""
        known = self.bench.pair(pair)
        colours = colours_wanted(self.order, self.collected, pair)
        if pair not in unknowns.first or not colours:
            # What this order itself had printed first is no paper saved.
            served = (
                record.sheet
                for record in known.kept
                if record.sheet.purpose is Purpose.SCOUTING
                and record.sheet.order != self.order.order
            )
            self._without.append(next(served, None))
            return
        by_eye = for_the_eye(self.order, pair, colours, self.translations, self.bench)
        middles = {it: middle(self.order, known, it, self.bench) for it in by_eye}
        sheet = first_that_waits(self.order, known, middles) or first_sheet(
            self.order, known, colours, self.translations, self.bench
        )
        why = (
            "it has drifted and is read anew"
            if known.waits_for_new_sheet
            else "the first look at this pair"
        )
        if pair not in self.order.pairs():
            why += ", on which no piece is printed" + self._looked_at_there(pair)
        held = [colour for colour in by_eye if _is_on(sheet, colour)]
        for_eye = f", and swatches to hold against {self._things(held)}" if held else ""
        self._without.append(sheet)
        others = [it for it in colours if self.order.colours[it].aim.by_eye and it not in held]
        told = told_of_others(self.order, others, self.translations, self.bench)
        self._add(sheet, "; ".join(part for part in (f"{why}{for_eye}", told) if part))

    def _looked_at_there(self, pair: Pair) -> str:
        """Return which colours are to look on other pairs as they do on this one."""
        colours = self.order.colours
        names = [it for it in colours if self.order.aim_on(it, pair) is not None]
        return f": what {joined(names)} should look like is told by it" if names else ""

    def _things(self, colours: list[str]) -> str:
        return joined([thing(self.order, it) for it in colours])

    def weigh(self, eye: EyeDoubts, unknowns: Unknowns) -> Chosen:
        """Ask for the sheets that are worth their paper."""
        order, bench = self.order, self.bench
        paper = Paper(order, bench)
        uncertain = [doubt for doubt in eye.paper if not doubt.sure]
        waiting = [
            sheet
            for pair in order.pairs_needed()
            if bench.pair(pair).is_read
            for sheet in bench.pair(pair).waiting()
        ]
        ladders = [*unknowns.ladders, *eye.ladders]
        anyway = bool(ladders or self.planned)
        chosen = choose(paper, uncertain, waiting, self._unsure(paper), anyway=anyway)
        for sheet in waiting:
            if sheet.id in chosen.waiting:
                self._add(sheet, _closing(sheet, chosen.for_what.get(sheet.pair, [])))
        for pair in chosen.asked:
            beside = worth_beside(order, pair, self.translations, bench)
            ladders += [(pair, it) for it in beside if (pair, it) not in ladders]
        for pair in order.pairs_needed():
            self._closing_in(bench.pair(pair), chosen, ladders, paper)
            self._look_again(bench.pair(pair), unknowns)
        return chosen

    def _unsure(self, paper: Paper) -> Asked:
        """Return the colours that are less sure than the order wants all colours to be."""
        limit = self.order.tolerances.sure
        asked: Asked = {}
        for translation in self.translations.known:
            if limit is not None and translation.uncertainty > limit and paper.may_ask(translation):
                asked.setdefault(translation.pair, []).append(translation.colour)
        return asked

    def _closing_in(
        self, known: PairKnowledge, chosen: Chosen, ladders: list[tuple[Pair, str]], paper: Paper
    ) -> None:
        pair = known.pair
        to_read = [
            translation
            for colour in chosen.asked.get(pair, ())
            if (translation := self.translations.of(colour, pair)) is not None
        ]
        to_pick = []
        lying: dict[str, tuple[SampleSheet, list[str]]] = {}
        for colour in [colour for on, colour in ladders if on == pair]:
            offer = that_offers(known, colour, middle(self.order, known, colour, self.bench))
            if offer is None:
                to_pick.append((colour, ladder(self.order, known, colour, self.bench)))
            elif offer.id not in {it.sheet.id for it in self.planned}:
                lying.setdefault(offer.id, (offer, []))[1].append(colour)
        if begun := set(lying).intersection(known.picked_sheets):
            # A look was broken off: once it is done, one more sheet serves all colours.
            to_pick = []
            lying = {name: it for name, it in lying.items() if name in begun | known.printed}
        for waits, colours in lying.values():
            self._add(waits, self._for_eye(waits, colours))
        sheet = closing_sheet(self.order, known, to_read, to_pick, paper)
        if sheet is None:
            return
        parts = []
        if to_read:
            parts.append(_closing(sheet, chosen.for_what.get(pair, [])))
        if to_pick:
            parts.append(self._for_eye(sheet, [colour for colour, _ in to_pick]))
        self._add(sheet, "; ".join(parts))

    def _for_eye(self, sheet: SampleSheet, colours: list[str]) -> str:
        on_it = [colour for colour in colours if _is_on(sheet, colour)]
        return f"swatches to hold against {self._things(on_it)}" if on_it else "by eye"

    def _look_again(self, known: PairKnowledge, unknowns: Unknowns) -> None:
        """Ask for proofs where the order wants them, and for the controls of an aged pair."""
        asked = any(it.sheet.pair == known.pair for it in self.planned)
        if not known.is_read or asked:
            return
        missing = known.pair in unknowns.at_hand or bool(unknowns.picks or unknowns.ladders)
        if self.order.proof and not missing:
            wanted = proof_sheet(self.order, known, self.translations)
            sheet = None if wanted is None else that_proves(known, wanted)
            if sheet is not None:
                self._add(sheet, f"a proof swatch of {joined(_colours_on(sheet))}")
                return
        if known.aged:
            # Any sheet carries the controls; they alone are printed where nothing else is.
            waiting = known.waiting_controls()
            sheet = waiting[0] if waiting else controls_sheet(self.order, known)
            self._add(sheet, "the controls alone, as its readings are old")

    def _add(self, sheet: SampleSheet | None, why: str) -> None:
        if sheet is not None:
            known = self.bench.pair(sheet.pair)
            sent = sent_of(known.moves.get(sheet.id, ()))
            self.planned.append(
                PlannedSheet(
                    sheet=sheet,
                    why=why,
                    printed=sent is None and sheet.id in {*known.printed, *known.picked_sheets},
                    away=None if sent is None else Away(to=sent.place, since=sent.at.date()),
                )
            )

    def print_steps(self) -> Iterator[NextStep]:
        """Yield what to print, what it costs and what it may tell."""
        for planned in self.planned:
            sheet, known = planned.sheet, self.bench.pair(planned.sheet.pair)
            vendor = self.order.on(sheet.pair).vendor_title
            dark = paper_findings(sheet.pair.stock, known.paper_lightness)
            told = " On this dark stock, read its ids under a strong light." if dark else ""
            for_eye = any(swatch.for_eye for swatch in sheet.swatches)
            yield NextStep(
                kind=StepKind.RECORD if planned.printed else StepKind.PRINT,
                text=f"{_what_to_do(planned)} on {sheet.pair} "
                f"({vendor}; {price(self.order, sheet)}): "
                f"{planned.why}.{told}{_on_glass(sheet)}",
                command=quoted("inkaccord", "record", sheet.id, "READINGS-FILE"),
                look=quoted("inkaccord", "look", sheet.id) if for_eye else None,
                sheet=sheet.id,
                pair=sheet.pair,
                colours=tuple(_colours_on(sheet)),
            )

    def findings(self) -> Iterator[Diagnostic]:
        """Yield what is to be said of the stocks that the sheets are printed on."""
        for planned in self.planned:
            pair = planned.sheet.pair
            yield from paper_findings(pair.stock, self.bench.pair(pair).paper_lightness)

    def saved(self) -> Cost:
        """Return what need not be printed, because the shelf has it."""
        saved = savings([it.sheet for it in self.planned], self._without).saved
        return Cost(
            swatches=max(0, saved.swatches),
            pages=max(0, saved.pages),
            area_cm2=max(0.0, round(saved.area_cm2, 1)),
            ink_cm2=max(0.0, round(saved.ink_cm2, 1)),
        )


def _what_to_do(planned: PlannedSheet) -> str:
    """Say what is to be done with a sheet before it is known what it tells."""
    sheet = f"sheet {planned.sheet.id}"
    if planned.away is not None:
        return f"Await {sheet}, which was sent to be printed,"
    return f"Record {sheet}" if planned.printed else f"Print {sheet}"


def _on_glass(sheet: SampleSheet) -> str:
    """Say how the things that have a field on a sheet are compared."""
    if not sheet.berths:
        return ""
    colours = [berth.colour for berth in sheet.berths]
    things = " ".join(f"--thing {colour}" for colour in colours)
    return (
        f" Or lay the thing for {joined(colours)} in its field on a scanner's glass, scan both: "
        f"inkaccord record {sheet.id} SCAN {things}"
    )


def _closing(sheet: SampleSheet, doubts: list[Doubt]) -> str:
    """Say why a few swatches more are printed, naming only colours that are on the sheet."""
    colours = _colours_on(sheet)
    told = [doubt for doubt in doubts if doubt.distance.colour in colours]
    why = f", {to_tell(told)}" if told else ""
    return f"closing in on {joined(colours)}{why}" if colours else f"to know the pair better{why}"


def _colours_on(sheet: SampleSheet) -> list[str]:
    return list(dict.fromkeys(it.colour for it in sheet.swatches if it.colour is not None))


def _is_on(sheet: SampleSheet | None, colour: str) -> bool:
    return sheet is not None and colour in _colours_on(sheet)
