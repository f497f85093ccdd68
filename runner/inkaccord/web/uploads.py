"""Files that were dropped on the page, under names of our own, until they are kept or discarded."""

import secrets
import shutil
import tempfile
from pathlib import Path

from starlette.datastructures import UploadFile

from inkaccord.errors import OrderError
from inkaccord.files import safe_name

MOST = 24
"""Files that lie here at once; the oldest go first."""


class Uploads:
    """A folder that ends with the page."""

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="inkaccord-"))

    async def take(self, upload: object) -> str:
        """Keep a dropped file for now, and return the word by which it is found again."""
        if not isinstance(upload, UploadFile) or not upload.filename:
            raise OrderError.of("no-file", "no file was dropped", hint="choose one, then send it")
        waiting = sorted(self._folder.iterdir(), key=lambda path: path.stat().st_mtime_ns)
        for old in waiting[: max(0, len(waiting) + 1 - MOST)]:
            shutil.rmtree(old, ignore_errors=True)
        word = secrets.token_hex(8)
        place = self._folder / word
        place.mkdir()
        name = safe_name(upload.filename.replace("\\", "/").rpartition("/")[2]) or "file"
        with (place / name).open("wb") as kept:
            while block := await upload.read(1 << 20):
                kept.write(block)
        return word

    def find(self, word: str) -> Path:
        """Return a file that was taken. Raises OrderError ``no-file`` for one that has gone."""
        place = self._folder / word
        if word.isalnum() and place.is_dir():
            return next(place.iterdir())
        raise OrderError.of(
            "no-file", "the dropped file is not here any more", hint="drop it again"
        )

    def discard(self, word: str) -> None:
        """Forget a file."""
        if word.isalnum():
            shutil.rmtree(self._folder / word, ignore_errors=True)

    def close(self) -> None:
        """Remove all of them."""
        shutil.rmtree(self._folder, ignore_errors=True)
