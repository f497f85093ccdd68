"""What ``inkaccord run`` shows: pieces, builds, agreement, and last what to do next."""

from pathlib import Path
from typing import TYPE_CHECKING

from rich import box
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from inkaccord.cli.shared import Settings, show_findings
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.diagnostics import Severity
from inkaccord.record import PieceStatus, Run
from inkaccord.stages.results import Distance

if TYPE_CHECKING:
    from inkaccord.cli.running import Ran

_STATUS_STYLE = {
    PieceStatus.READY: "green",
    PieceStatus.WAITING: "yellow",
    PieceStatus.HELD: "yellow",
    PieceStatus.FAILED: "bold red",
}
_VERDICT_STYLE = {Verdict.INSIDE: "green", Verdict.UNCERTAIN: "yellow", Verdict.OUTSIDE: "bold red"}


def show_run(settings: Settings, ran: "Ran") -> None:
    """Show a run's record, in 80 columns and wider."""
    screen, run = settings.screen, ran.run
    screen.print(f"[bold]{escape(run.title or run.order)}[/]   {run.suites} suites")
    shown = [it for it in run.findings if it.severity is not Severity.NOTE or settings.verbose]
    if not settings.quiet:
        _show_pieces(screen, run)
        _show_builds(screen, run)
        _show_agreement(screen, run)
    if shown:
        screen.print()
        show_findings(screen, shown)
    _show_saved(screen, run)
    _show_next(screen, run, ran.where, ran.shelf_option)


def table(*columns: str, right: tuple[str, ...] = ()) -> Table:
    """Return an empty table in the house's style: calm, one rule under the head."""
    made = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1))
    for column in columns:
        made.add_column(column, justify="right" if column in right else "left", overflow="fold")
    return made


def _show_pieces(screen: Console, run: Run) -> None:
    pieces = table("piece", "on", "pieces", "status", right=("pieces",))
    for it in run.pieces:
        style = _STATUS_STYLE[it.status]
        count = f"{it.quantity}+{it.overs}" if it.overs else str(it.quantity)
        status = f"[{style}]{it.status}[/]"
        if it.why:
            status += f"  {escape(it.why)}"
        pieces.add_row(it.name, f"{it.device}@{it.stock}", count, status)
    screen.print(pieces)


def _show_builds(screen: Console, run: Run) -> None:
    if not run.translations:
        return
    builds = table(
        "colour", "pair", "build", "known", "to aim", "sure to", right=("to aim", "sure to")
    )
    for it in run.translations:
        distance = "by eye" if it.delta_e_00 is None else f"{it.delta_e_00:.1f}"
        mark = "" if it.reachable else " [yellow]out of reach[/]"
        builds.add_row(
            it.colour,
            f"{it.device}@{it.stock}",
            str(it.build) + mark,
            it.evidence,
            distance,
            f"±{it.uncertainty:.1f}",
        )
    screen.print(builds)


def _worst(distances: tuple[Distance, ...]) -> dict[tuple[str, bool], Distance]:
    """Return for each colour the worst distance between pieces and the worst to the aim."""
    rank = {Verdict.INSIDE: 0, Verdict.UNCERTAIN: 1, Verdict.OUTSIDE: 2}
    worst: dict[tuple[str, bool], Distance] = {}
    for it in distances:
        key = (it.colour, it.other is None)
        now = worst.get(key)
        if now is None or (rank[it.verdict], it.delta_e_00) > (rank[now.verdict], now.delta_e_00):
            worst[key] = it
    return worst


def _show_agreement(screen: Console, run: Run) -> None:
    if not run.agreement:
        return
    agreement = table(
        "colour", "farthest apart", "ΔE00", "limit", "verdict", right=("ΔE00", "limit")
    )
    for (colour, to_aim), it in sorted(_worst(run.agreement).items()):
        who = f"{it.piece} to the aim" if to_aim else f"{it.piece} and {it.other}"
        style = _VERDICT_STYLE[it.verdict]
        agreement.add_row(
            colour,
            who,
            f"{it.delta_e_00:.1f} ±{it.uncertainty:.1f}",
            f"{it.tolerance:.1f}",
            f"[{style}]{_verdict(it)}[/]",
        )
    screen.print(agreement)


def _verdict(it: Distance) -> str:
    """Say what is known; where the eye has judged, no instrument has."""
    if it.by_eye and it.verdict is Verdict.UNCERTAIN:
        return "judged by eye, not measured"
    return f"{it.verdict}, by eye" if it.by_eye else str(it.verdict)


def _show_saved(screen: Console, run: Run) -> None:
    it = run.saved
    if it.swatches:
        screen.print(f"Not printed again, because the shelf has it: {it}.")


def _show_next(screen: Console, run: Run, where: Path, shelf_option: str) -> None:
    screen.print()
    if not run.next:
        ready = sum(it.status is PieceStatus.READY for it in run.pieces)
        if ready == len(run.pieces):
            screen.print(f"[green]All {ready} pieces are ready in {escape(str(where))}.[/]")
            if (where / "report.html").exists():
                screen.print(
                    f"Next: open {escape(str(where / 'report.html'))}, then send each vendor "
                    "its folder."
                )
        else:
            screen.print(
                f"{ready} of {len(run.pieces)} pieces are ready in {escape(str(where))}. "
                "Mend what is listed above, then run again."
            )
        return
    screen.print("[bold]What to do next[/]")
    for number, step in enumerate(run.next, start=1):
        screen.print(f" {number}. {escape(step.text)}", soft_wrap=True)
        if step.command:
            screen.print(f"    [cyan]{escape(step.command + shelf_option)}[/]", soft_wrap=True)
    if any(step.sheet for step in run.next):
        screen.print(
            "Print at 100 % and without colour conversion; let it dry. Without an instrument, give "
            "--pick COLOUR=SWATCH instead of READINGS-FILE."
        )
    screen.print("Then run the order again.")
