"""Files that were dropped on the page, under names of our own, until they are kept or discarded."""

import os
import re
import secrets
import shutil
from collections.abc import Iterable, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import OrderError
from inkaccord.files import safe_name, working_folder, write_whole

HELD = "held"
"""The field of a form that has the word of files which were dropped on it before."""
MOST = 24
"""Forms whose files lie here at once; those that nobody asked for the longest go first."""


class Uploads:
    """A folder that ends with the page."""

    def __init__(self) -> None:
        self._open = ExitStack()
        self._folder = self._open.enter_context(working_folder())

    async def take(self, dropped: Sequence[object]) -> str:
        """Keep the files of a form for now, and return the word by which they are found again.

        Raises OrderError ``no-file`` for a form without any.
        """
        files = _files_in(dropped)
        if not files:
            raise nothing_dropped()
        word = self._new_word()
        try:
            for number, file in enumerate(files):
                place = self._folder / word / f"{number:03}"  # two of them may have one name
                place.mkdir(parents=True)
                name = safe_name(str(file.filename).replace("\\", "/").rpartition("/")[2])
                with (place / name).open("wb") as kept:
                    while block := await file.read(1 << 20):
                        kept.write(block)
        except OSError:  # a full disk is not left fuller
            self.discard(word)
            raise
        return word

    def hold(self, made: Mapping[str, bytes]) -> str:
        """Hold files that were made for a person, as those of a form; return their word."""
        word = self._new_word()
        for number, (name, data) in enumerate(made.items()):
            write_whole(self._folder / word / f"{number:03}" / name, data)
        return word

    def room(self, name: str) -> tuple[str, Path]:
        """Return where a file may be made for a person, and the word by which it is then found."""
        word = self._new_word()
        place = self._folder / word / "000"
        place.mkdir(parents=True)
        return word, place / name

    def _new_word(self) -> str:
        """Return a word for the files of another form, the oldest of too many being gone."""
        waiting = sorted(self._folder.iterdir(), key=lambda path: path.stat().st_mtime_ns)
        for old in waiting[: max(0, len(waiting) + 1 - MOST)]:
            shutil.rmtree(old, ignore_errors=True)
        return secrets.token_hex(8)

    async def of_form(self, form: FormData, name: str) -> str:
        """Return the word of a form's files: those dropped on it, else those that it held before.

        Empty where it has neither.
        """
        if dropped := _files_in(form.getlist(name)):
            return await self.take(dropped)
        held = str(form.get(HELD, ""))
        return held if held.isalnum() and (self._folder / held).is_dir() else ""

    def find(self, word: str) -> list[Path]:
        """Return the files of a form. Raises OrderError ``no-file`` where they have gone."""
        place = self._folder / word
        if word.isalnum() and (found := sorted(place.glob("*/*"))):
            os.utime(place)  # what is still asked for is not the oldest
            return found
        raise OrderError.of(
            "no-file", "the dropped file is not here any more", hint="drop it again"
        )

    def as_dropped(self, findings: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
        """Return findings that name a file as it was called when it was dropped."""
        return tuple(
            finding.model_copy(
                update={
                    "message": self._as_dropped(finding.message),
                    "hint": finding.hint and self._as_dropped(finding.hint),
                    "place": finding.place.model_copy(
                        update={"file": finding.place.file and self._as_dropped(finding.place.file)}
                    ),
                }
            )
            for finding in findings
        )

    def _as_dropped(self, text: str) -> str:
        return re.sub(rf"{re.escape(str(self._folder))}\W\w+\W\d{{3}}\W", "", text)

    def discard(self, word: str) -> None:
        """Forget the files of a form."""
        if word.isalnum():
            shutil.rmtree(self._folder / word, ignore_errors=True)

    def close(self) -> None:
        """Remove all of them."""
        self._open.close()


def uploads_of(request: Request) -> Uploads:
    """Return what was dropped since the start."""
    kept: Uploads = request.app.state.uploads
    return kept


def nothing_dropped() -> OrderError:
    """Return what is wrong with a form that came without a file."""
    return OrderError.of("no-file", "no file was dropped", hint="choose one, then send it")


def _files_in(dropped: Iterable[object]) -> list[UploadFile]:
    return [it for it in dropped if isinstance(it, UploadFile) and it.filename]
