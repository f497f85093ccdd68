"""What becomes of printed sheets, one or all of a vendor's."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inkaccord.errors import OrderError
from inkaccord.shelf.kept import MoveKind
from inkaccord.shelf.store import Shelf
from inkaccord.words import joined

PRINTED = "printed"
"""The step that is no move: a sheet is on paper, wherever that was done."""


@dataclass(frozen=True)
class Marked:
    """Sheets of which a step was taken down.

    Attributes
    ----------
    sheets
        Their ids.
    place
        Where they are now, or who has them; empty where nobody said.
    """

    sheets: tuple[str, ...]
    step: str
    place: str

    @property
    def words(self) -> str:
        """Say what was taken down, and where they are now."""
        said = said_of_all(self.sheets, self.step)
        return f"{said}: {self.place}" if self.place else said


def mark(
    shelf: Shelf,
    sheet: str,
    step: str,
    place: str = "",
    *,
    copies: int | None = None,
    in_light: bool | None = None,
) -> Marked:
    """Take down a step of a sheet: that it is ``printed``, or a kind of move.

    Raises OrderError for an unknown sheet, and where it isn't said where it is laid, or who has it.
    """
    if step == PRINTED:
        shelf.paper.mark_printed(sheet)
        return Marked((sheet,), step, "")
    kind = MoveKind(step)
    if kind in {MoveKind.LAID, MoveKind.LENT} and not place.strip():
        raise OrderError.of("no-place", "where to, or to whom, is not said", hint="write it beside")
    move = shelf.paper.move(sheet, kind, place, copies=copies, in_light=in_light)
    return Marked((sheet,), step, move.place)


def mark_all(
    shelf: Shelf,
    sheets: Sequence[str],
    step: str,
    place: str,
    *,
    copies: int | None = None,
    in_light: bool | None = None,
) -> Marked:
    """Take down a step of several sheets. Raises OrderError for an unknown one; then of none."""
    known = [shelf.kept_sheet(it).sheet.id for it in sheets]
    marked = [mark(shelf, it, step, place, copies=copies, in_light=in_light) for it in known]
    return Marked(tuple(known), step, marked[0].place if marked else "")


def mark_waiting(shelf: Shelf, sheets: Iterable[str], step: str, place: str) -> Marked:
    """Take down a step of those sheets that wait for it; which may be none."""
    waiting = [it for it in sheets if step in shelf.summary(it).next_on_paper]
    return mark_all(shelf, waiting, step, place)


def said_of_all(sheets: Sequence[str], step: str) -> str:
    """Say that a step was taken down of sheets: ``K7Q-XM3 and DJH-7TW are sent``."""
    return f"{joined(sheets)} {'is' if len(sheets) == 1 else 'are'} {step}"


def nothing_to_mark(vendor: str, step: str, hint: str) -> OrderError:
    """Return what is wrong where no sheet of a vendor waits for a step."""
    return OrderError.of(
        "nothing-to-mark",
        f"no sample sheet of the last run for {vendor} waits to be marked as {step}",
        hint=hint,
    )
