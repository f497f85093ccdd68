"""What a person is asked of what was judged by eye."""

from collections.abc import Iterable, Iterator

from inkaccord.colour.pairs import Pair
from inkaccord.colour.picks import LOOKS_A_SHEET
from inkaccord.knowledge.values import Torn
from inkaccord.order.model import Order
from inkaccord.planning.answers import answer
from inkaccord.planning.eye import EyeDoubts
from inkaccord.run.bench import Bench
from inkaccord.run.plan import Choice, NextStep, StepKind
from inkaccord.words import joined, quoted

SEEN_CHANGE = 0.5
"""ΔE00: a change of a colour that is worth a word."""


def eye_questions(
    order: Order, found: EyeDoubts, bench: Bench, beyond: Choice | None
) -> Iterator[NextStep]:
    """Ask which pick is the thing, whether a pick is near enough, whether the eye may decide.

    ``beyond`` accepts what the eye can't decide alone, and goes with its leave to decide: whoever
    says yes is not asked again.
    """
    for colour, torn in found.torn.items():
        yield _torn(order, colour, torn, bench)
    for colour in found.ended:
        yield _ended(order, colour, bench)
    if found.unread and not order.accept_by_eye:
        yield _unread(found, bench, beyond)


def _torn(order: Order, colour: str, torn: Torn, bench: Bench) -> NextStep:
    thing = order.colours[colour].aim.by_eye
    return NextStep(
        kind=StepKind.QUESTION,
        text=f"Which of the two picks is {thing}? For {colour}, {torn.one} and {torn.other} "
        f"were picked; they lie {torn.apart:.1f} ΔE00 apart, more than the eye errs.",
        colours=(colour,),
        choices=tuple(
            Choice(
                words=f"It is {swatch.swatch} of sheet {swatch.sheet}.",
                answers=(answer(bench, "colours", colour, "aim", "picked_on", value=str(swatch)),),
            )
            for swatch in (torn.one, torn.other)
        ),
    )


def _ended(order: Order, colour: str, bench: Bench) -> NextStep:
    known = [bench.pair(pair) for pair in order.pairs_needed()]
    picked = [picked for one in known if one.is_read and (picked := one.picked(colour)) is not None]
    swatch = max(picked, key=lambda it: it.since).swatches[-1]
    thing = order.colours[colour].aim.by_eye
    field = "colours", colour, "aim", "picked_on"
    return NextStep(
        kind=StepKind.QUESTION,
        text=f"Is {swatch.swatch} of sheet {swatch.sheet} as near to {thing} as print comes? "
        f"For {colour}, the picks always stood at the rim of what was offered, and the next "
        "swatches would lie no nearer.",
        colours=(colour,),
        choices=(
            Choice(
                words="It is near enough: take it.",
                answers=(answer(bench, *field, value=str(swatch)),),
            ),
            Choice(
                words="Another swatch on the sheets looks nearer: pick that one.",
                command=quoted("inkaccord", "record", swatch.sheet, "--pick", f"{colour}=SWATCH"),
                sheets=(swatch.sheet,),
            ),
        ),
    )


def _unread(found: EyeDoubts, bench: Bench, beyond: Choice | None) -> NextStep:
    """Ask for an instrument, or for leave to trust the eye: once for all that it concerns.

    What the leave leads to is said with it: sheets that are looked at once more.
    """
    doubts, more = found.unread, [str(it) for it in found.once_trusted]
    follows = f", after a look at one more sheet of {' and one of '.join(more)}" if more else ""
    colours = tuple(dict.fromkeys(doubt.distance.colour for doubt in doubts))
    pairs = dict.fromkeys(side.pair for doubt in doubts for side in doubt.picked)
    sheets = [bench.pair(pair).picked_sheets[-1] for pair in pairs]
    many = len(sheets) > 1
    return NextStep(
        kind=StepKind.QUESTION,
        text=f"May the eye decide? {joined(colours)} on {joined([str(it) for it in pairs])} "
        f"{'were' if len(colours) > 1 else 'was'} picked by eye and not measured, so nobody "
        "can say in numbers that the pieces agree.",
        colours=colours,
        choices=(
            Choice(
                words=f"Yes: what was picked by eye is good enough{follows}."
                + (f" {beyond.words}" if beyond else ""),
                answers=(
                    answer(bench, "accept_by_eye", value=True),
                    *(beyond.answers if beyond else ()),
                ),
            ),
            Choice(
                words=f"No: read {'these sheets' if many else 'the sheet'} with an instrument"
                + (f" ({joined(sheets)})." if many else "."),
                command=quoted("inkaccord", "record", sheets[0], "READINGS-FILE"),
                sheets=tuple(sheets),
            ),
            *_look_again(colours, pairs, bench),
        ),
    )


def _look_again(colours: Iterable[str], pairs: Iterable[Pair], bench: Bench) -> Iterator[Choice]:
    """Offer to look at a sheet once more where that would be seen, and say what it would bring."""
    most = max(
        (
            (picked.change, picked.sheets[-1])
            for pair in pairs
            for colour in colours
            if (picked := bench.pair(pair).picked(colour)) is not None
        ),
        default=(0.0, ""),
    )
    if most[0] >= SEEN_CHANGE:
        yield Choice(
            words="Not yet: look again, rested or with a second person; "
            f"{LOOKS_A_SHEET} more looks would change a colour by {most[0]:.1f} ΔE00 or so.",
            command=f"inkaccord look {most[1]}",
            sheets=(most[1],),
        )
