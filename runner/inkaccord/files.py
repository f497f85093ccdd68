"""Reading and writing files so that nothing is ever half-written.

What is written is flushed before it has its name, and the name after it, so that a loss of power
leaves the old state or the new one. What a run that was killed left unfinished carries its mark,
and is swept away by the next one.
"""

import contextlib
import datetime
import errno
import hashlib
import io
import os
import platform
import re
import shutil
import stat
import tempfile
import threading
import unicodedata
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import FileError, OrderError

_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")
_FOREIGN = re.compile(r"[\\:\x00-\x1f]")
"""What parts folders, drives and streams on Windows, and what names no file there."""
_DEVICE = re.compile(r"CON|PRN|AUX|NUL|CONIN\$|CONOUT\$|(?:COM|LPT)[0-9]", re.I)


def sha256_of(data: bytes) -> str:
    """Return the SHA-256 of bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


MOST_BYTES = 1 << 30
"""The largest file that is read."""


def check_name(path: Path) -> None:
    """Raise FileError for a path with bytes that are no text: no record could name it."""
    try:
        str(path.absolute()).encode()
    except UnicodeEncodeError as problem:
        raise FileError.of(
            "strange-name",
            "the name of this file, or of a folder that it is in, is no UTF-8 text",
            place=Place(file=str(path)),
            hint="give it another name",
        ) from problem


def check_is_file(path: Path, most_bytes: int = MOST_BYTES) -> None:
    """Raise FileError for a pipe or a device, which may never end, and for too large a file.

    Raises OSError for what is not there. A folder says so itself when it is read.
    """
    status = path.stat()
    if not (stat.S_ISREG(status.st_mode) or stat.S_ISDIR(status.st_mode)):
        raise FileError.of(
            "no-file",
            "this is no file, but a pipe or a device",
            place=Place(file=str(path)),
            hint="save what it gives in a file, and name that",
        )
    if status.st_size > most_bytes:
        raise FileError.of(
            "file-too-large",
            f"the file has {status.st_size / 1e6:,.0f} MB, and at most {most_bytes / 1e6:,.0f} MB "
            "are read",
            place=Place(file=str(path)),
            hint="is it the right file?",
        )


def as_given(source: Path | str | bytes) -> Path | bytes:
    """Return a file that is given by its path, also where that is text, or by its bytes."""
    return Path(source) if isinstance(source, str) else source


def read_bytes(path: Path, most_bytes: int = MOST_BYTES) -> bytes:
    """Return a file's bytes.

    Raises FileError that names the file, also where it is none, or larger than ``most_bytes``.
    """
    try:
        check_is_file(path, most_bytes)
        return path.read_bytes()
    except OSError as problem:
        raise FileError.of(
            "cannot-read",
            f"cannot read the file: {problem.strerror or problem}",
            place=Place(file=str(path)),
            hint="check that it exists and that you may read it",
        ) from problem


@contextlib.contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Give a temporary path beside ``path``; rename it into place if the block succeeds.

    If the block fails nothing of it is left, and what stood at ``path`` still stands.
    Raises FileError that names ``path`` when the disk is full or the folder not writable.
    """
    temporary: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(f".{_mark()}.part", f".{path.name}.", path.parent)
        os.close(handle)
        temporary = Path(name)
        yield temporary
        temporary.chmod(0o644)
        flush(temporary)
        temporary.replace(path)
        flush(path.parent)
    except OSError as problem:
        raise FileError(_cannot_write(path, problem)) from problem
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all. Raises FileError."""
    with replacing(path) as temporary:
        temporary.write_bytes(data)


_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
"""What a system says where a disk, or a person's share of it, is full."""


def _cannot_write(path: Path, problem: OSError) -> Diagnostic:
    if problem.errno in _FULL:
        hint = "free some disk space, or take a folder on another disk"
    elif isinstance(problem, PermissionError) and path.is_file():
        hint = "close it where it is open, as in a viewer, and see that you may write in its folder"
    else:
        hint = "see that you may write in its folder, or take another one"
    return error(
        "cannot-write",
        f"cannot write the file: {problem.strerror or problem}",
        place=Place(file=str(path)),
        hint=hint,
    )


def refuse_held(paths: Iterable[Path]) -> None:
    """Raise FileError that names all of these files that can't be replaced or removed now.

    Windows keeps a file in its place while a viewer shows it. To give a file the name that it has
    changes nothing, and fails where giving another one its name would.
    """
    held: list[Diagnostic] = []
    for path in paths:
        try:
            path.rename(path)
        except FileNotFoundError:
            continue
        except OSError as problem:
            held.append(_cannot_write(path, problem))
    if held:
        raise FileError(held)


def flush(path: Path) -> None:
    """Have a file's content, or a folder's names, lie on the disk and not only in its cache."""
    if path.is_dir() and os.name == "nt":
        return  # Windows opens no folders, and keeps their names by itself
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


@contextlib.contextmanager
def working_folder() -> Iterator[Path]:
    """Give a folder for files that nobody needs afterwards; with the block it is gone.

    Not a TemporaryDirectory: that complains where what holds it, as a generator that is never
    ended, is collected as part of a circle.
    """
    name = tempfile.mkdtemp(f".{_mark()}", "inkaccord-")
    try:
        yield Path(name)
    finally:
        shutil.rmtree(name, ignore_errors=True)  # what is in use goes with the next sweep


def sweep(folder: Path) -> None:
    """Remove what runs that were killed left unfinished: in a folder, and working folders."""
    for path in folder.rglob("*.part"):
        if path.name.startswith(".") and _is_left_behind(path):
            with contextlib.suppress(OSError):
                path.unlink()
    for path in Path(tempfile.gettempdir()).glob("inkaccord-*"):
        if _is_left_behind(path):
            shutil.rmtree(path, ignore_errors=True)


_MARK = re.compile(r"\.(?P<host>[0-9a-f]{8})-(?P<process>[0-9]{1,10})(?:\.part)?")


def _mark() -> str:
    """Return what tells whose a temporary file is: this computer and this process."""
    return f"{zlib.crc32(platform.node().encode()):08x}-{os.getpid()}"


def _is_left_behind(path: Path) -> bool:
    """Tell whether a file or folder of ours was left by a process that is there no more.

    What another computer or person made is not; where no process can be asked for, nothing is.
    """
    mark = _MARK.search(path.name)
    if os.name == "nt" or mark is None or mark["host"] != _mark()[:8]:
        return False
    try:
        if path.lstat().st_uid != os.getuid():
            return False
        os.kill(int(mark["process"]), 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        return False
    return False


def holds(path: Path, data: bytes) -> bool:
    """Tell whether a file holds exactly ``data``. Raises FileError for a pipe or a device."""
    try:
        check_is_file(path)
        return path.stat().st_size == len(data) and path.read_bytes() == data
    except OSError:
        return False  # missing or unreadable: writing will tell


_TURNS = threading.Lock()


@contextlib.contextmanager
def one_at_a_time(folder: Path) -> Iterator[None]:
    """Have what is read and written in such a block about a folder follow each other.

    Others wait, in this process and in others of this machine. Windows locks no folder, nor do
    some network drives: there only those of this process wait.
    """
    with _TURNS, contextlib.ExitStack() as stack:
        if os.name != "nt":
            import fcntl  # noqa: PLC0415 - Windows has none

            with contextlib.suppress(OSError):
                handle = os.open(folder, os.O_RDONLY)
                stack.callback(os.close, handle)  # which gives it free
                fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def write_if_changed(path: Path, data: bytes) -> bool:
    """Write ``data`` unless the file already holds exactly that. Return whether it was written.

    Raises FileError, also for a pipe or a device: renaming would put a file in its place.
    """
    if holds(path, data):
        return False
    write_whole(path, data)
    return True


def folded(name: str) -> str:
    """Return a name as file systems compare it that heed no capitals, nor how accents are coded."""
    return unicodedata.normalize("NFC", name).casefold()


def is_same_file(one: Path, other: Path) -> bool:
    """Tell whether two names lead to one file.

    Some drives heed no capitals and number every spelling of a name as a file of its own (a few
    network and user-space ones): there the folder's list tells.
    """
    if not (one.exists() and other.exists()):
        return False
    if one.samefile(other):
        return True
    names = [one.absolute(), other.absolute()]
    if folded(str(names[0])) != folded(str(names[1])):
        return False
    above = Path(os.path.commonpath(names))
    return not all(_is_spelt_so(name, above) for name in names)


def _is_spelt_so(path: Path, above: Path) -> bool:
    within = [path, *(it for it in path.parents if it.is_relative_to(above) and it != above)]
    return all(any(it.name == here.name for it in here.parent.iterdir()) for here in within)


def is_reserved(name: str) -> bool:
    """Tell whether a file can't have a name on some system: a device of Windows', a dot at its end.

    Source: Microsoft, 'Naming Files, Paths, and Namespaces', reserved names (from memory).
    """
    return bool(_DEVICE.fullmatch(name.partition(".")[0].rstrip())) or name.endswith((".", " "))


def without_accents(text: str) -> str:
    """Return text whose letters have no accents: 'Menü à deux' becomes 'Menu a deux'."""
    apart = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
    return "".join(it for it in apart if not unicodedata.combining(it))


def safe_name(text: str) -> str:
    """Return ``text`` as one file name that can't leave its folder, on any system.

    Letters lose their accents. Raises OrderError when nothing usable is left of it.
    """
    name = _UNSAFE.sub("-", without_accents(text)).strip("-.")
    if not name:
        raise OrderError.of(
            "bad-name",
            f"{text!r} cannot name a file",
            hint="use letters, digits, hyphens and underscores",
        )
    name = name[:120].rstrip("-.")
    return f"{name.partition('.')[0]}-{name}" if is_reserved(name) else name


def inside(folder: Path, relative: str) -> Path:
    """Return ``folder/relative``, refusing a path that leaves the folder on any system.

    Raises OrderError, also for a name that some system keeps for itself.
    """
    root = folder.resolve()
    # What names no file is never asked for.
    target = root if _FOREIGN.search(relative) else (root / relative).resolve()
    if not target.is_relative_to(root) or target == root:
        raise OrderError.of(
            "outside-folder",
            f"{relative!r} would be written outside {folder}",
            hint="use a plain file name",
        )
    if any(is_reserved(part) for part in Path(relative).parts):
        raise OrderError.of(
            "bad-name",
            f"{relative!r} can't name a file on every system",
            hint="use another name",
        )
    return target


def zipped(parts: Mapping[str, bytes], day: datetime.date) -> bytes:
    """Return a zip of files by their paths in it, dated by a day: the same bytes everywhere."""
    out = io.BytesIO()
    when = (max(day.year, 1980), day.month, day.day, 0, 0, 0)
    with zipfile.ZipFile(out, "w") as package:
        for name, data in parts.items():
            info = zipfile.ZipInfo(name, when)
            info.create_system = 3  # the same on every platform
            info.external_attr = 0o644 << 16
            info.compress_type = zipfile.ZIP_STORED  # PDFs are packed already
            package.writestr(info, data)
    return out.getvalue()
