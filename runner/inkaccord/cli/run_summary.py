"""What ``inkaccord run`` shows: pieces, builds, agreement, and last what to do next."""

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from string import ascii_lowercase
from typing import TYPE_CHECKING

from rich.console import Console, RenderableType
from rich.table import Table

from inkaccord.cautions import INKS_AND_HEAT
from inkaccord.cli.shared import Settings, plain, show_findings
from inkaccord.cli.tables import Name, table
from inkaccord.knowledge.values import DriftState, Translation
from inkaccord.report.wording import (
    away,
    more_than_ordered,
    sampling_cost,
    sampling_dates,
    some,
    to_mend,
)
from inkaccord.run.agreement import Distance
from inkaccord.run.plan import StepKind
from inkaccord.run.record import PieceStatus, RecordedSheet, Run
from inkaccord.run.sampling import Sampling
from inkaccord.run.verdicts import Sign, agreement_of, told
from inkaccord.words import counted, quoted

if TYPE_CHECKING:
    from inkaccord.cli.one_run import FinishedRun

MOST_ROWS = 40
"""A longer table is shown in short, unless asked to be verbose; the report has all of it."""

MOST_VENDORS = 12
"""More vendors than this are counted, not named."""
MOST_NAMED = 5
"""More pieces than this are counted, not named, beside the vendor they go to."""

STATUS_STYLE = {
    PieceStatus.READY: "green",
    PieceStatus.WAITING: "yellow",
    PieceStatus.HELD: "yellow",
    PieceStatus.FAILED: "bold red",
}
_SIGN_STYLE = {
    Sign.INSIDE: "green",
    Sign.BY_EYE: "yellow",
    Sign.UNCERTAIN: "yellow",
    Sign.OUTSIDE: "bold red",
}


def show_run(settings: Settings, ran: "FinishedRun") -> None:
    """Show a run's record, in 80 columns and wider."""
    screen, run = settings.screen, ran.run
    screen.print(f"[bold]{plain(run.title or run.order)}[/]   {run.suites} suites\n")
    shown = [it for it in run.findings if it.is_to_mend or settings.verbose]
    if not settings.quiet:
        _show_pieces(screen, run, all_of_them=settings.verbose)
        _show_builds(screen, run, all_of_them=settings.verbose)
        _show_agreement(screen, run)
        _show_steadiness(screen, run)
    if shown:
        show_findings(screen, shown, ran.order)
        screen.print()
    if not settings.quiet:
        _show_saved(screen, run)
    show_next(screen, ran)


def _show_pieces(screen: Console, run: Run, *, all_of_them: bool) -> None:
    shown = run.pieces
    if len(shown) > MOST_ROWS and not all_of_them:
        shown = tuple(it for it in run.pieces if it.status is not PieceStatus.READY)
        screen.print(f"{len(run.pieces) - len(shown)} of {len(run.pieces)} pieces are ready.")
    if not shown:
        return
    pieces = table("piece", "on", "pieces", "status", right=("pieces",))
    for piece in shown:
        style = STATUS_STYLE[piece.status]
        more = more_than_ordered(run, piece)
        count = "+".join(str(part) for part in (piece.quantity, piece.overs, more) if part) or "0"
        status = f"[{style}]{piece.status}[/]"
        if piece.why:
            status += f"  {plain(piece.why)}"
        pieces.add_row(Name(piece.name), Name(f"{piece.device}@{piece.stock}"), count, status)
    screen.print(pieces)
    screen.print()


def _show_builds(screen: Console, run: Run, *, all_of_them: bool) -> None:
    by_colour: dict[str, list[Translation]] = {}
    for translation in run.translations:
        by_colour.setdefault(translation.colour, []).append(translation)
    if not by_colour:
        return
    short = len(run.translations) > MOST_ROWS and not all_of_them
    screen.print(_builds_in_short(by_colour) if short else _builds(by_colour))
    screen.print()


def _builds(by_colour: Mapping[str, Sequence[Translation]]) -> Table:
    """Return every build, under its colour."""
    builds = table(
        "colour, on",
        "build",
        "known",
        "to aim",
        "sure to",
        right=("to aim", "sure to"),
        whole=("build",),
    )
    for colour, translations in by_colour.items():
        builds.add_row(f"[bold]{plain(colour)}[/]")
        for translation in translations:
            known = str(translation.evidence)
            builds.add_row(
                Name(str(translation.pair), indent=2),
                str(translation.build),
                known if translation.reachable else f"{known}, [yellow]{translation.reach}[/]",
                translation.to_aim,
                translation.sure_to,
            )
    return builds


def _builds_in_short(by_colour: Mapping[str, Sequence[Translation]]) -> Table:
    """Return a row for each colour: on how many pairs it is known, how, and how far off it gets."""
    builds = table(
        "colour",
        "pairs",
        "known",
        "to aim, at most",
        "sure to, at most",
        right=("pairs", "to aim, at most", "sure to, at most"),
    )
    for colour, translations in by_colour.items():
        ways = Counter(str(it.evidence) for it in translations)
        known = ", ".join(f"{number} {way}" for way, number in ways.items())
        for reach, number in Counter(it.reach for it in translations if it.reach).items():
            known += f"; [yellow]{number} {reach}[/]"
        farthest = max(translations, key=lambda it: it.delta_e_00 or 0.0)
        least_sure = max(translations, key=lambda it: it.uncertainty)
        builds.add_row(
            Name(colour), str(len(translations)), known, farthest.to_aim, least_sure.sure_to
        )
    return builds


def _show_agreement(screen: Console, run: Run) -> None:
    farthest = [
        distance
        for colour in dict.fromkeys(distance.colour for distance in run.agreement)
        for found in (agreement_of(run, colour),)
        for distance in (found.worst, found.worst_to_aim)
        if distance is not None
    ]
    if not farthest:
        return
    agreement = table(
        "colour",
        "farthest apart",
        "ΔE00",
        "limit",
        "verdict",
        right=("ΔE00", "limit"),
        whole=("verdict",),
    )
    for distance in farthest:
        agreement.add_row(*_worst_row(distance))
    screen.print(agreement)
    screen.print(
        "± holds the bounds of both pieces, or of the piece and the aim: it is wider than each "
        "one's own under 'sure to'.",
        style="dim",
    )
    screen.print()


def _worst_row(distance: Distance) -> tuple[RenderableType, ...]:
    other = f"and {distance.other}" if distance.other else "to the aim"
    style = _SIGN_STYLE[Sign.of(distance)]
    return (
        Name(distance.colour),
        plain(f"{distance.piece} {other}"),
        f"{distance.delta_e_00:.1f} ±{distance.uncertainty:.1f}",
        f"{distance.tolerance:.1f}",
        f"[{style}]{told(distance)}[/]",
    )


def _show_steadiness(screen: Console, run: Run) -> None:
    if not run.steadiness:
        return
    steady = table(
        "controls of", "last read", "ΔE00", "limit", "the pair is", right=("ΔE00", "limit")
    )
    for steady_pair in run.steadiness:
        last = steady_pair.compared[-1]
        style = (
            "green" if steady_pair.state in {DriftState.STEADY, DriftState.READ_ANEW} else "yellow"
        )
        steady.add_row(
            Name(f"{steady_pair.device}@{steady_pair.stock}"),
            plain(f"{last.read_on}, sheet {last.sheet}"),
            f"{last.delta_e_00:.1f}",
            f"{steady_pair.tolerance:.1f}",
            f"[{style}]{steady_pair.state}[/]",
        )
    screen.print(steady)
    screen.print()


def _show_saved(screen: Console, run: Run) -> None:
    saved = run.saved
    if saved.swatches:
        screen.print(f"Not printed again, because the shelf has it: {saved}.\n")


def show_next(screen: Console, ran: "FinishedRun") -> None:
    """Show what a run asks of a person, or that it asks nothing more."""
    run, where = ran.run, ran.where
    if not run.next:
        _show_end(screen, run, ran)
        return
    screen.print("[bold]What to do next[/]")
    waiting = {sheet.id: sheet for sheet in run.samples}
    for number, step in enumerate(run.next, start=1):
        screen.print(f" {number}. {plain(step.text)}", soft_wrap=True)
        if step.sheet in waiting:
            _show_sheet(screen, waiting[step.sheet], where)
        if step.kind is StepKind.SEND:
            for command in ("message", "sent"):
                typed = quoted("inkaccord", command, *ran.order, step.vendor or "")
                _show_command(screen, typed, "", indent=4)
        else:
            _show_command(screen, step.command, ran.same_place, indent=4)
        if step.kind is StepKind.APPROVE:
            screen.print(f"    {plain(str(where / 'client.pdf'))}", soft_wrap=True)
            _show_command(screen, ran.approve, "", indent=4)
        if step.look:
            screen.print("    and, for what the eye decides, answer what this asks:")
            _show_command(screen, step.look, ran.same_place, indent=4)
        for letter, choice in zip(ascii_lowercase, step.choices, strict=False):
            screen.print(f"    {letter}) {plain(choice.words)}", soft_wrap=True)
            for answer in choice.answers:
                instead = (
                    f"   [dim](change it in line {answer.replaces})[/]" if answer.replaces else ""
                )
                screen.print(f"       [cyan]{plain(answer.line)}[/]{instead}", soft_wrap=True)
            _show_command(screen, choice.command, ran.same_place, indent=7)
    for sampling in run.sampling:
        if not all(waiting[it].away for it in sampling.sheets):
            _show_sampling(screen, ran, sampling)
    kinds = {step.kind for step in run.next}
    if StepKind.PRINT in kinds:
        screen.print(
            "Print at 100 % and without colour conversion; let it dry. Without an instrument, give "
            "--pick COLOUR=SWATCH instead of READINGS-FILE."
        )
        screen.print(INKS_AND_HEAT)
    if StepKind.QUESTION in kinds:
        screen.print(
            "Answer a question with one of its choices: write the lines as they stand, anywhere at "
            "the left edge of the order file."
        )
    if failed := to_mend(run):
        screen.print(f"Mend {plain(some(failed))} as said above.", soft_wrap=True)
    _show_letters(screen, run, where)
    if failed or kinds - {StepKind.APPROVE}:  # what takes an approval down runs the order itself
        screen.print(f"Then run the order again: [cyan]{plain(ran.again)}[/]", soft_wrap=True)


def _show_sheet(screen: Console, sheet: RecordedSheet, where: Path) -> None:
    """Name a sheet's file; say to whom it went, and by when it is needed, if it is away."""
    screen.print(f"    {plain(str(where / sheet.path))}", soft_wrap=True)
    if sheet.away is not None:
        screen.print(f"    {plain(away(sheet))}", soft_wrap=True)


def _show_sampling(screen: Console, ran: "FinishedRun", sampling: Sampling) -> None:
    """Say what a vendor's sample sheets cost, where its folder is, and by when they are needed."""
    folder = ran.where / sampling.parts[0].path.rpartition("/")[0]
    said = f"Sample sheets for {sampling.vendor}: {sampling_cost(ran.asked, sampling)}"
    dates = sampling_dates(sampling)
    said += f"; {dates}." if dates else "."
    screen.print(plain(f"{said} With an order sheet in {folder}"), soft_wrap=True)


def _show_command(screen: Console, command: str | None, shelf_option: str, *, indent: int) -> None:
    if command:
        screen.print(f"{' ' * indent}[cyan]{plain(command + shelf_option)}[/]", soft_wrap=True)


def _show_letters(screen: Console, run: Run, where: Path) -> None:
    """Say where the letters to who made the artwork are, if there are any."""
    found = [it for it in run.files if it.what == "artwork-letter"]
    if found:
        folder = where / found[0].path.rpartition("/")[0]
        screen.print(
            f"A page for whoever made each artwork, how it was understood and what to change: "
            f"{plain(str(folder))}",
            soft_wrap=True,
        )


def _show_end(screen: Console, run: Run, ran: "FinishedRun") -> None:
    """Say that nothing more is asked, and what to send to whom."""
    where = ran.where
    ready = [it for it in run.pieces if it.status is PieceStatus.READY]
    left = [it.name for it in run.pieces if it.status is not PieceStatus.READY]
    if left:
        screen.print(
            f"{len(ready)} of {counted(len(run.pieces), 'piece')} "
            f"{'is' if len(ready) == 1 else 'are'} ready in {plain(str(where))}. "
            f"Mend {plain(some(left))} as said above, then run again.",
            soft_wrap=True,
        )
        _show_letters(screen, run, where)
        return
    pieces = f"all {len(ready)} pieces are" if len(ready) > 1 else "the piece is"
    if run.exit_code:
        screen.print(f"{pieces.capitalize()} ready, but not all was delivered, as said above.")
        return
    done = f"Nothing more is asked: {pieces} ready in {where}."
    screen.print(f"[green]{plain(done)}[/]", soft_wrap=True)
    if run.approval is not None and run.approval.covers:
        by = f"Approved by {run.approval.by} on {run.approval.on}."
        screen.print(plain(by), soft_wrap=True)
    vendors = dict.fromkeys(it.vendor for it in ready)
    sent = {it.vendor: f"sent on {it.on}" for it in run.sent}
    all_sent = sent.keys() >= vendors.keys()
    if all_sent:
        packing = plain(str(where / "packing-list.pdf"))
        screen.print(
            f"Every vendor has its files. What arrives from whom: {packing}", soft_wrap=True
        )
    elif (where / "report.html").exists():
        screen.print(f"Open {plain(str(where / 'report.html'))} for a last look. Then send")
    named = vendors if len(vendors) <= MOST_VENDORS else ()
    if not named and not all_sent:
        screen.print(f"  to each of the {len(vendors)} vendors the folder of its name")
    for vendor in named:
        names = [it.name for it in ready if it.vendor == vendor]
        pieces = ", ".join(names) if len(names) <= MOST_NAMED else f"{len(names)} pieces"
        line = plain(f"  to {vendor}  {where / vendor}  ({pieces})")
        if vendor in sent:
            line += f"  [green]{sent[vendor]}[/]"
        screen.print(line, soft_wrap=True)
    if not all_sent:
        screen.print("What to write with it, and how to take down that it was sent:")
        _show_command(screen, quoted("inkaccord", "message", *ran.order), "", indent=2)
