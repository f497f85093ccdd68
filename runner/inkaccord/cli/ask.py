"""``inkaccord ask``."""

from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    PAIRS,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.cli.tables import Name, table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inkaccord.colour.lab import Lab
    from inkaccord.colour.pairs import Pair
    from inkaccord.knowledge.asking import AskedColour, PairAnswer
    from inkaccord.knowledge.distances import Apart
    from inkaccord.recording.asked import Answers


@click.command("ask")
@click.argument("colours", metavar="COLOUR...", nargs=-1, required=True)
@PAIRS
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    colours: tuple[str, ...],
    pairs: "tuple[Pair, ...]",
    as_json: bool,
) -> None:
    """Ask for a colour's build on each pair, what it will look like, and how sure that is.

    COLOUR is CIELAB 'lab 41 -20 8', a print 'cmyk 85 20 60 30 on device@stock', a swatch
    'K7Q-XM3/B7', what a screen shows '#2F5D50', a file of readings or spectra 'leaf.txt' (of
    several 'leaf.txt/NAME'), a colour of the book 'book NAME', or 'order NAME' of the order that
    --order names. A build without a pair is shown as each pair prints it. Of several COLOURs it
    says how far apart they lie.
    """
    from inkaccord.cli.asking import asked_shelf
    from inkaccord.order.wanted import Wanted

    wanted = [Wanted.parse(text) for text in colours]
    with asked_shelf(settings, wanted) as source:
        found = source.ask(wanted, pairs)
        commands = {one.pair: source.to_type(one.surer) for one in found.on_pairs if one.surer}
    if as_json:
        _print_data(found, commands)
        return
    _show(settings, found, commands)


def _print_data(found: "Answers", commands: "dict[Pair, str]") -> None:
    print_json(
        {
            "exit_code": 0,
            "asked": [it.model_dump(mode="json", exclude={"findings"}) for it in found.asked],
            "answers": [
                {
                    "pair": str(answer.pair),
                    **answer.model_dump(mode="json", exclude={"surer"}),
                    "surer": _surer_data(answer, commands),
                }
                for answer in found.on_pairs
            ],
            "between": [it.model_dump(mode="json") for it in found.between],
            "findings": as_data(finding for it in found.asked for finding in it.findings),
        }
    )


def _surer_data(answer: "PairAnswer", commands: "dict[Pair, str]") -> dict[str, Any] | None:
    if answer.surer is None:
        return None
    return {
        "why": answer.surer.why,
        "command": commands[answer.pair],
        "bound_after": answer.surer.bound_after,
    }


def _show(settings: Settings, found: "Answers", commands: "dict[Pair, str]") -> None:
    screen, asked, answers = settings.screen, found.asked, found.on_pairs
    for colour in asked:
        screen.print(plain(_heading(colour)), soft_wrap=True)
        if colour.assumed and colour.on is not None:
            screen.print(plain(f"  {colour.on}: {colour.assumed}"), soft_wrap=True)
        show_findings(screen, colour.findings)
    if answers:
        screen.print()
        screen.print(_answers_table(answers, to_aim=asked[0].lab is not None))
    _show_remarks(settings, answers)
    if told := found.told_between:
        screen.print()
        screen.print(_between_table(told))
    offered = [one for one in answers if one.surer is not None]
    if offered:
        screen.print("\nTo be surer, print and read:")
    for one in offered:
        assert one.surer is not None  # noqa: S101 -- chosen so
        after = one.surer.bound_after
        then = (
            "" if after is None else f", then about ±{after:.1f} instead of ±{one.uncertainty:.1f}"
        )
        screen.print(plain(f"  {one.pair}: {one.surer.why}{then}"), soft_wrap=True)
        screen.print(plain(f"    {commands[one.pair]}"), soft_wrap=True)


def _heading(asked: "AskedColour") -> str:
    if asked.lab is None:
        return f"{asked.said}, {'as each pair prints it' if asked.build else 'picked by eye'}"
    sure = f" ±{asked.bound:.1f} ΔE00" if asked.bound else ""
    is_lab = asked.build is None and asked.said == f"lab {_numbers(asked.lab)}"
    return asked.said if is_lab else f"{asked.said}: CIELAB {_spoken(asked.lab)}{sure}"


def _spoken(lab: "Lab") -> str:
    return " ".join(f"{round(value, 1) + 0.0:.1f}" for value in lab)


def _numbers(lab: "Lab") -> str:
    return " ".join(f"{value:g}" for value in lab)


def _answers_table(answers: "Sequence[PairAnswer]", *, to_aim: bool) -> Any:
    from inkaccord.knowledge.values import Evidence

    off = ("off",) if to_aim else ()
    shown = table(
        "pair", "build", "L* a* b*", *off, "sure to",
        right=(*off, "sure to"), whole=("build", "L* a* b*"),
    )  # fmt: skip
    for one in answers:
        known = one.evidence is not Evidence.ESTIMATED
        distance = "–" if one.delta_e_00 is None else f"{one.delta_e_00:.1f}"
        words = (
            *((distance if known else "not yet",) if to_aim else ()),
            f"±{one.uncertainty:.1f}" if known else "not yet",
        )
        lab = _spoken(one.predicted_lab)
        shown.add_row(Name(str(one.pair)), str(one.build), lab, *words)
    return shown


def _between_table(between: "Sequence[Apart]") -> Any:
    shown = table("how far apart, ΔE00", "", "apart", "sure to", right=("apart", "sure to"))
    for one in between:
        shown.add_row(
            Name(one.one),
            Name(one.other),
            f"{one.delta_e_00:.1f}",
            f"±{one.uncertainty:.1f}" if one.uncertainty else "–",
        )
    return shown


def _show_remarks(settings: Settings, answers: "Sequence[PairAnswer]") -> None:
    """Say what is out of reach and what that loses, and what is assumed."""
    for one in answers:
        if one.itself:
            settings.screen.print(plain(f"  {one.pair}: the print that was asked for"))
        if not one.reachable:
            reach = "perhaps just out of reach" if one.perhaps_reachable else "out of reach"
            lost = f": {one.lost}" if one.lost else ""
            settings.screen.print(plain(f"  {one.pair}: {reach}{lost}"), soft_wrap=True)
        if one.assumed:
            settings.screen.print(plain(f"  {one.pair}: {one.assumed}"), soft_wrap=True)
