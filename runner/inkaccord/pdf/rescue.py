"""Files that viewers show and that can't be opened as they stand: opened in another way, and said.

Nothing is guessed of what a page holds. The file itself is never changed.
"""

import io
import re
from dataclasses import dataclass
from functools import lru_cache

import pikepdf

from inkaccord.apart.crew import Allowance, TaskError, TooMuchError, answers
from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.pdf.entries import BAD_OBJECT, entry
from inkaccord.pdf.limits import FileLimits
from inkaccord.pdf.pdfium import rewrite
from inkaccord.pdf.streams import filters_of
from inkaccord.pdf.writing import save

_REWRITING = Allowance("PDFium", seconds=60)
_ENCRYPT = re.compile(rb"/Encrypt(?=\s*(?:<<|\d+\s+\d+\s+R\b))")
_SET_ASIDE = b"/Encryp_"
"""As long as the key that it stands for, so that all that follows stays where it was."""


@dataclass(frozen=True, slots=True)
class Rescued:
    """A file that can be opened, in the place of one that can't, and what is said of that."""

    data: bytes
    code: str
    message: str
    severe: bool
    in_program: str

    def finding(self, name: str | None) -> Diagnostic:
        """Return what is said of it, under a file's name."""
        say = warning if self.severe else note
        return say(self.code, self.message, place=Place(file=name), in_program=self.in_program)


# Many readers open a file one after the other: it is written anew once.
@lru_cache(maxsize=2)
def written_anew(data: bytes) -> Rescued | None:
    """Return a damaged file as PDFium writes it anew; None where PDFium can't read it either."""
    if b"%PDF-" not in data[:1024] and b"startxref" not in data and b" obj" not in data:
        return None
    try:
        found = next(answers(rewrite, _REWRITING, data=data, most_pages=FileLimits.pages), None)
        if found is None:
            return None
        with pikepdf.open(io.BytesIO(found["data"])) as pdf:
            if "/ID" in pdf.trailer:
                del pdf.trailer["/ID"]  # PDFium's is another one each time
            clean = io.BytesIO()
            save(pdf, clean, deterministic_id=True)
    except (TaskError, TooMuchError, pikepdf.PasswordError, *BAD_OBJECT):
        return None
    return Rescued(
        clean.getvalue(),
        "written-anew",
        "the file is so damaged that its parts had to be searched for, as viewers do, and written "
        "anew; something may be missing, so look at every page of what is made of it",
        severe=True,
        in_program="export the artwork again as PDF",
    )


@lru_cache(maxsize=2)
def without_locked_attachments(data: bytes) -> Rescued | None:
    """Return a file whose attachments alone are encrypted without them; None for any other.

    Such a file opens without a password everywhere, since crypt filters leave its pages alone
    (ISO 32000-2, 7.6.6).
    """
    try:
        with pikepdf.open(io.BytesIO(_ENCRYPT.sub(_SET_ASIDE, data))) as pdf:
            lock = pdf.trailer.get("/Encryp_")
            if not _locks_attachments_alone(lock) or any(map(_is_locked, pdf.objects)):
                return None
            names = entry(pdf.Root, "/Names")
            for holder, key in ((names, "/EmbeddedFiles"), (pdf.Root, "/AF")):
                if entry(holder, key) is not None:
                    del holder[key]
            for page in pdf.pages:
                notes = page.obj.get("/Annots")
                if isinstance(notes, pikepdf.Array):
                    kept = [n for n in notes if entry(n, "/Subtype") != "/FileAttachment"]
                    page.obj["/Annots"] = pikepdf.Array(kept)
            del pdf.trailer["/Encryp_"]
            clean = io.BytesIO()
            save(pdf, clean, deterministic_id=True, fix_metadata_version=False)
    except BAD_OBJECT:
        return None
    return Rescued(
        clean.getvalue(),
        "attachment-encrypted",
        "a file that is attached to the artwork is encrypted; what is made of the artwork goes "
        "without it",
        severe=False,
        in_program="take the attachment out, if it is not meant for the vendor",
    )


def _is_locked(thing: object) -> bool:
    """Whether a stream that is no attachment is encrypted by a filter of its own."""
    if not isinstance(thing, pikepdf.Stream) or thing.get("/Type") == "/EmbeddedFile":
        return False
    return "/Crypt" in filters_of(thing)


def _locks_attachments_alone(lock: object) -> bool:
    if not isinstance(lock, pikepdf.Dictionary) or lock.get("/V") not in (4, 5):
        return False
    pages = {str(lock.get(key, "/Identity")) for key in ("/StmF", "/StrF")}
    return pages == {"/Identity"} and str(lock.get("/EFF", "/Identity")) != "/Identity"
