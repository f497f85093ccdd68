"""What was done on the page and can be taken back: the last doings, each with how."""

import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.errors import OrderError
from inkaccord.shelf.changes import Change
from inkaccord.shelf.place import ShelfPlace
from inkaccord.shelf.store import Shelf

MOST = 40
"""Doings that are remembered; of more the oldest stand."""
_AGAIN = "What was taken back is done again."


@dataclass(frozen=True)
class Doing:
    """What a person did, in words, and how to take it back.

    Attributes
    ----------
    at
        The page that it was done on.
    undo
        Takes it back, and returns that as a doing, where it can be taken back in turn on no other
        way. Raises InkaccordError where it can't be done any more. None where the same is done
        again on its page.
    takes_back
        Whether it took another doing back.
    """

    words: str
    at: str
    undo: Callable[[], "Doing | None"] | None
    takes_back: bool = False


class Undos:
    """The doings of one start, by words that only its pages know."""

    def __init__(self) -> None:
        self._kept: dict[str, Doing] = {}

    def done(self, doing: Doing) -> Response:
        """Remember a doing, and lead back to its page, which offers to take it back."""
        return RedirectResponse(f"{doing.at}?done={self.keep(doing)}", 303)

    def keep(self, doing: Doing) -> str:
        """Remember a doing, and return the word by which it is taken back."""
        while len(self._kept) >= MOST:
            del self._kept[next(iter(self._kept))]
        word = secrets.token_hex(8)
        self._kept[word] = doing
        return word

    def told(self, word: str) -> tuple[str, Doing] | None:
        """Return a doing that can still be taken back, with its word."""
        doing = self._kept.get(word)
        return None if doing is None else (word, doing)

    def take_back(self, word: str) -> Response:
        """Take a doing back, and lead to its page.

        Raises OrderError ``not-undone`` where it is not known any more.
        """
        doing = self._kept.pop(word, None)
        if doing is None or doing.undo is None:
            raise OrderError.of(
                "not-undone",
                "that can't be taken back any more",
                hint="look at the page as it is now, and change it there",
            )
        back = doing.undo()
        if back is None:
            return self.done(Doing("It is taken back.", doing.at, None))
        words = _AGAIN if doing.takes_back else back.words
        return self.done(replace(back, words=words, takes_back=not doing.takes_back))


def done_on_shelf(
    words: str, at: str, place: ShelfPlace, noted: Sequence[Change], *, back_at: str = ""
) -> Doing:
    """Return what was changed on a shelf as a doing: undone, all is as it was before, to the row.

    That can be taken back in turn. ``back_at`` is the page that it then leads to, where the one it
    was done on is none any more.
    """

    def put_back() -> Doing:
        with Shelf.open(place) as shelf:
            back = shelf.put_back(noted)
        return done_on_shelf("The shelf is as it was before.", back_at or at, place, back)

    return Doing(words, at, put_back)


def undos(request: Request) -> Undos:
    """Return what was done since the start."""
    kept: Undos = request.app.state.undos
    return kept


def told(request: Request) -> tuple[str, Doing] | None:
    """Return what a page's address says was just done."""
    return undos(request).told(request.query_params.get("done", ""))


async def undo(request: Request) -> Response:
    """Take back what was done, and lead to the page that it was done on."""
    form = await request.form()
    return await run_in_threadpool(undos(request).take_back, str(form.get("word", "")))
