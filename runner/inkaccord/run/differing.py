"""What is otherwise between two runs, in words: pieces, builds and why, files."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.knowledge.values import DriftState, Translation
from inkaccord.models import Frozen
from inkaccord.run.printed import SOLID, InkPlace, builds_at, inks_printed
from inkaccord.run.record import RecordedFile, RecordedPiece, Run
from inkaccord.words import counted, joined, thousands

UNTOLD = (
    "no record says why: other stocks of the device may have been read, or the order's settings be "
    "others"
)
MOVED = 0.05
"""ΔE00 from which on an aim counts as another: less is rounding."""


class OtherBuild(Frozen):
    """A colour or tint that is printed with another build on a pair, or on a pair more or less."""

    colour: str
    pair: str
    tint: float = SOLID
    """In percent; a tint is named where its solid is as it was."""
    then: str | None
    now: str | None
    why: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """What became of it, and why."""
        head = f"{InkPlace(self.colour, self.pair, self.tint).words}: "
        if self.then is None or self.now is None:
            return head + (f"{self.then} then, none now" if self.then else f"{self.now}, new")
        return f"{head}{self.then} then, {self.now} now ({'; '.join(self.why)})"


class RunDifferences(Frozen):
    """All that is otherwise, the earlier run first.

    Attributes
    ----------
    order
        Of the order as a whole: its name, dates, suites.
    files
        Of print files, by vendor.
    same_builds, same_files
        How many builds are the same, and how many print files have the same bytes.
    """

    order: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    builds: tuple[OtherBuild, ...] = ()
    files: tuple[str, ...] = ()
    same_builds: int = 0
    same_files: int = 0

    @property
    def none(self) -> bool:
        """Whether there are none."""
        return not (self.order or self.pieces or self.builds or self.files)

    @property
    def parts(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """They in words, each part with its title; parts without any are left out."""
        builds = tuple(it.words for it in self.builds)
        if not builds and self.same_builds and not self.none:
            builds = (f"none is another: {counted(self.same_builds, 'build')} as then",)
        same = f", {self.same_files} with the same bytes" if self.same_files else ""
        every = (
            ("The order", self.order),
            ("Pieces and colours", self.pieces),
            ("Builds", builds),
            (f"Print files{same}", self.files),
        )
        return tuple((title, lines) for title, lines in every if lines)


def differences(then: Run, now: Run, asked: Sequence[str] = ()) -> RunDifferences:
    """Return what is otherwise in the later of two runs.

    ``asked`` are words on what the orders ask for that no record holds: folds, finishing, aims.
    """
    files, same = _files(then, now)
    builds = (*_builds(then, now), *_tints(then, now))
    return RunDifferences(
        order=tuple(_order(then, now)),
        pieces=(*_pieces(then, now), *asked),
        builds=builds,
        files=tuple(files),
        same_builds=len(now.translations)
        - len({(it.colour, it.pair) for it in builds if it.now is not None}),
        same_files=same,
    )


def _order(then: Run, now: Run) -> Iterator[str]:
    for what, was, is_now in (
        ("order", then.order, now.order),
        ("title", then.title, now.title),
        ("date", then.date, now.date),
        ("due", then.due, now.due),
        ("suites", then.suites, now.suites),
    ):
        if was != is_now:
            yield f"{what}: {_word(was)} then, {_word(is_now)} now"


def _pieces(then: Run, now: Run) -> Iterator[str]:
    before, after = ({it.name: it for it in run.pieces} for run in (then, now))
    artworks = [{it.piece: it.sha256 for it in run.artworks} for run in (then, now)]
    for name in dict.fromkeys((*before, *after)):
        was, is_now = before.get(name), after.get(name)
        if was is None or is_now is None:
            piece = is_now or was
            assert piece is not None  # noqa: S101 - it is in one of the two
            more = "a piece more" if was is None else "a piece less"
            yield f"{name}: {more}, {counted(piece.quantity, 'copy', 'copies')}"
            continue
        for what, one, other in _facts(was, is_now):
            if one != other:
                yield f"{name}: {what}{one} then, {other} now"
        artwork, other_artwork = (known.get(name) for known in artworks)
        if artwork and other_artwork and artwork != other_artwork:
            yield f"{name}: its artwork was changed"


def _facts(was: RecordedPiece, is_now: RecordedPiece) -> Iterator[tuple[str, str, str]]:
    """Yield what a piece is then and now, each with what is said before it."""
    for what, facts in (
        ("", [counted(it.quantity, "copy", "copies") for it in (was, is_now)]),
        ("", [counted(it.overs, "over") for it in (was, is_now)]),
        ("", ["{:g} × {:g} mm".format(*it.trim_mm) for it in (was, is_now)]),
        ("printed by ", [was.vendor, is_now.vendor]),
        ("on ", [str(was.pair), str(is_now.pair)]),
        ("", [str(was.status), str(is_now.status)]),
    ):
        yield what, facts[0], facts[1]


def _builds(then: Run, now: Run) -> Iterator[OtherBuild]:
    before, after = (
        {(it.colour, str(it.pair)): it for it in run.translations} for run in (then, now)
    )
    for colour, pair in dict.fromkeys((*before, *after)):
        was, is_now = before.get((colour, pair)), after.get((colour, pair))
        if was is None or is_now is None:
            yield OtherBuild(
                colour=colour,
                pair=pair,
                then=None if was is None else str(was.build),
                now=None if is_now is None else str(is_now.build),
            )
        elif was.build != is_now.build:
            why = tuple(_reasons(was, is_now, then, now))
            yield OtherBuild(
                colour=colour,
                pair=pair,
                then=str(was.build),
                now=str(is_now.build),
                why=why or (UNTOLD,),
            )


def _tints(then: Run, now: Run) -> Iterator[OtherBuild]:
    """Yield the tints that are printed otherwise of solids that are as they were.

    They are those that either's artworks hold; else, as in a gradient, the one that moved the most.
    """
    asked = dict.fromkeys(it for run in (then, now) for it in inks_printed(run))
    before, after = ({(it.colour, it.pair): it for it in run.translations} for run in (then, now))
    for key, was in before.items():
        is_now = after.get(key)
        if is_now is None or was.build != is_now.build or was.tints == is_now.tints:
            continue
        named = [it for it in asked if (it.colour, it.pair) == (was.colour, str(was.pair))]
        builds = [builds_at(named, (it,)) for it in (was, is_now)]
        others = [it for it in named if builds[0][it] != builds[1][it]]
        if not others and (farthest := _farthest(was, is_now)) is not None:
            others = [InkPlace(was.colour, str(was.pair), farthest)]
            builds = [builds_at(others, (it,)) for it in (was, is_now)]
        why = tuple(_reasons(was, is_now, then, now)) or (UNTOLD,)
        for place in others:
            yield OtherBuild(
                **place._asdict(), then=builds[0][place], now=builds[1][place], why=why
            )


def _farthest(was: Translation, is_now: Translation) -> float | None:
    """Return the tint whose numbers moved the most; None where the two share none."""
    steps = {it.tint: it.build for it in is_now.tints}
    moved = {
        step.tint: max(
            abs(one - other)
            for one, other in zip(step.build.values, steps[step.tint].values, strict=True)
        )
        for step in was.tints
        if step.tint in steps
    }
    return max(moved, key=moved.__getitem__, default=None)


def _reasons(was: Translation, is_now: Translation, then: Run, now: Run) -> Iterator[str]:
    """Yield why a build is another, as far as records tell."""
    if was.aim_lab is not None and is_now.aim_lab is not None:
        moved = float(delta_e_2000(np.array(was.aim_lab), np.array(is_now.aim_lab)))
        if moved > MOVED:
            yield f"its aim is another, by {moved:.1f} ΔE00"
    elif was.aim_lab != is_now.aim_lab:
        yield "its aim is another"
    if new := [it for it in is_now.sheets if it not in was.sheets]:
        yield f"new readings: {'sheet' if len(new) == 1 else 'sheets'} {joined(new)}"
    if gone := [it for it in was.sheets if it not in is_now.sheets]:
        yield f"{joined(gone)} no longer {'counts' if len(gone) == 1 else 'count'}"
    if was.evidence is not is_now.evidence:
        yield f"{was.evidence} then, {is_now.evidence} now"
    states = [{it.pair: it.state for it in run.steadiness} for run in (then, now)]
    state = states[1].get(is_now.pair)
    if state not in {None, DriftState.STEADY, states[0].get(is_now.pair)}:
        yield f"the pair has drifted, and is {state}"
    if then.inkaccord != now.inkaccord:
        yield f"inkaccord {then.inkaccord} then, {now.inkaccord} now"


def _files(then: Run, now: Run) -> tuple[list[str], int]:
    """Return what became of the print files, in words, and how many have the same bytes.

    They are matched by vendor and pieces: their names may hold the order's.
    """
    before, after = _print_files(then), _print_files(now)
    said, same = [], 0
    for key in dict.fromkeys((*before, *after)):
        vendor, pieces = key
        was, is_now = before.get(key, ()), after.get(key, ())
        alike = [one.sha256 for one in was] == [one.sha256 for one in is_now]
        same += len(is_now) if alike else 0
        if not alike:
            what = "a file more" if not was else "a file less" if not is_now else "other bytes"
            names = ", ".join(it.path for it in is_now or was)
            said.append(f"{vendor}, {joined(pieces)}: {what} ({names})")
    return said, same


def _print_files(run: Run) -> Mapping[tuple[str, tuple[str, ...]], Sequence[RecordedFile]]:
    found: dict[tuple[str, tuple[str, ...]], list[RecordedFile]] = {}
    for file in run.files:
        if file.what == "print":
            found.setdefault((file.vendor or "", file.pieces), []).append(file)
    return found


def _word(value: object) -> str:
    if isinstance(value, int):
        return thousands(value)
    return "none" if value in {None, ""} else str(value)
