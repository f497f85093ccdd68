"""The builds of the studio's own colours on the pairs that the shelf knows."""

import datetime
from collections.abc import Iterable

from pydantic import ValidationError

from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import OrderError
from inkaccord.knowledge.asking import Asks, PairAnswer, answer, resolve_colour, resolve_entry
from inkaccord.models import Frozen
from inkaccord.order.book import BookColour
from inkaccord.order.colours import Aim
from inkaccord.order.wanted import Wanted
from inkaccord.sheets.reading.samples import read_thing
from inkaccord.shelf.kept import KeptColour


class BookLine(Frozen):
    """One colour of the book with its builds."""

    colour: BookColour
    edition: int
    since: datetime.datetime
    """When the book first said so."""
    lab: Lab | None
    """What it should look like; None while that is not known."""
    bound: float
    answers: tuple[PairAnswer, ...]
    unknown: dict[str, str]
    """Why there is no build, by pair."""

    def on(self, pair: Pair) -> PairAnswer | None:
        """Return the answer on a pair, if there is one."""
        return next((one for one in self.answers if one.pair == pair), None)


def book_line(kept: KeptColour, pairs: Iterable[Pair], source: Asks) -> BookLine:
    """Return a colour of the book with its build on each of some pairs, or why there is none."""
    answers: list[PairAnswer] = []
    unknown: dict[str, str] = {}
    asked = None
    try:
        asked = resolve_entry(kept.colour, source)
    except OrderError as problem:  # the pair of its aim has left the shelf
        unknown = {str(pair): problem.findings[0].message for pair in pairs}
    for pair in pairs if asked is not None else ():
        assert asked is not None  # noqa: S101 -- tells the type checker
        try:
            answers.append(answer(asked, source.know(pair)))
        except OrderError as problem:
            unknown[str(pair)] = problem.findings[0].message
    return BookLine(
        colour=kept.colour,
        edition=kept.edition,
        since=kept.added_at,
        lab=None if asked is None else asked.lab,
        bound=0.0 if asked is None else asked.bound,
        answers=tuple(answers),
        unknown=unknown,
    )


def changed_colour(
    name: str,
    before: BookColour | None,
    source: Asks,
    *,
    wanted: Wanted | None,
    by_eye: str | None,
    client: str | None,
    note: str | None,
) -> tuple[BookColour, tuple[Diagnostic, ...]]:
    """Return what the book is to say of a colour; what is not given stays as it was.

    A swatch becomes its build on its pair, so that what is read later counts; a file's spectrum is
    kept beside its colour.

    Raises OrderError ``no-aim`` where nothing says what it looks like, ``bad-name``, and as
    :func:`~inkaccord.knowledge.asking.resolve_colour` does.
    """
    about: dict[str, object] = {"name": before.name if before else " ".join(name.split())}
    findings: tuple[Diagnostic, ...] = ()
    if wanted is not None:
        aim, findings = _aim_of(wanted, source)
        about |= aim
    elif by_eye is not None:
        about |= {"aim": Aim(by_eye=by_eye)}
    elif before is not None:
        about |= {
            "aim": before.aim,
            "spectrum": before.spectrum,
            "wavelengths_nm": before.wavelengths_nm,
        }
    else:
        raise OrderError.of(
            "no-aim",
            f"nothing says what {name!r} looks like",
            hint="give its COLOUR, such as 'lab 41 -20 8', or --by-eye 'the roof'",
        )
    about["client"] = client if client is not None else before.client if before else ""
    about["note"] = note if note is not None else before.note if before else ""
    try:
        return BookColour.model_validate(about), findings
    except ValidationError as problem:
        said = "; ".join(one["msg"].removeprefix("Value error, ") for one in problem.errors())
        raise OrderError.of("bad-name", f"{name!r} can't stand in the book: {said}") from problem


def _aim_of(wanted: Wanted, source: Asks) -> tuple[dict[str, object], tuple[Diagnostic, ...]]:
    """Return the aim that a colour in words is, with the spectrum where a file has one."""
    if wanted.file is not None:
        thing = read_thing(wanted.file)
        spectrum = {"spectrum": thing.spectrum, "wavelengths_nm": thing.wavelengths_nm}
        return {"aim": Aim(lab=thing.lab), **spectrum}, thing.findings
    ordered = None if wanted.ordered is None else source.aim_in_order(wanted.ordered)
    entry = wanted.entry if ordered is None else ordered.from_book
    if ordered is not None and entry is None:
        return {"aim": ordered}, ()
    if entry is not None:
        other = source.entry(entry)
        spectrum = {"spectrum": other.spectrum, "wavelengths_nm": other.wavelengths_nm}
        return {"aim": other.aim, **spectrum}, ()
    asked = resolve_colour(wanted, source)
    if asked.build is not None and asked.on is not None:
        return {"aim": Aim(build=asked.build, on=asked.on)}, asked.findings
    if asked.lab is None:
        raise OrderError.of(
            "no-pair",
            f"{wanted.said} is another colour on each pair",
            hint=f"say on which it is right: '{wanted.said} on device@stock'",
        )
    return {"aim": Aim(lab=asked.lab)}, asked.findings
