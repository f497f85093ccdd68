"""Reading and writing files so that nothing is ever half-written."""

import contextlib
import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError, OrderError

_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")


def sha256_of(data: bytes) -> str:
    """Return the SHA-256 of bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def read_bytes(path: Path) -> bytes:
    """Return a file's bytes. Raises FileError that names the file."""
    try:
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
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        os.close(handle)
        temporary = Path(name)
        yield temporary
        temporary.chmod(0o644)
        temporary.replace(path)
    except OSError as problem:
        raise FileError.of(
            "cannot-write",
            f"cannot write the file: {problem.strerror or problem}",
            place=Place(file=str(path)),
            hint="free some disk space, or choose another folder with --out",
        ) from problem
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)


def write_if_changed(path: Path, data: bytes) -> bool:
    """Write ``data`` unless the file already holds exactly that. Return whether it was written."""
    try:
        if path.read_bytes() == data:
            return False
    except OSError:
        pass  # missing or unreadable: writing will tell
    with replacing(path) as temporary:
        temporary.write_bytes(data)
    return True


def safe_name(text: str) -> str:
    """Return ``text`` as one file name that can't leave its folder.

    Raises OrderError when nothing usable is left of it.
    """
    name = _UNSAFE.sub("-", text).strip("-.")
    if not name:
        raise OrderError.of(
            "bad-name",
            f"{text!r} cannot name a file",
            hint="use letters, digits, hyphens and underscores",
        )
    return name[:120]


def inside(folder: Path, relative: str) -> Path:
    """Return ``folder/relative``, refusing a path that leaves the folder. Raises OrderError."""
    root = folder.resolve()
    target = (root / relative).resolve()
    if not target.is_relative_to(root) or target == root:
        raise OrderError.of(
            "outside-folder",
            f"{relative!r} would be written outside {folder}",
            hint="use a plain file name",
        )
    return target
