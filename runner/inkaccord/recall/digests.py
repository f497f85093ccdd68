"""Digests of values: the same for equal values, on every machine."""

import datetime
import hashlib
import sys
from decimal import Decimal
from enum import Enum
from functools import cache
from importlib.metadata import version
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np

import inkaccord
from inkaccord.recall.packing import fields_of, name_of

_LIBRARIES = ("numpy", "scipy", "pikepdf", "pypdfium2", "pillow", "reportlab")
"""Whose results end up in ours."""


def digest_of(value: object) -> str:
    """Return a digest of a value. Raises TypeError for what is not told by its contents."""
    digest = hashlib.sha256()
    _add(digest, value)
    return digest.hexdigest()


@cache
def digest_of_code(module: str) -> str:
    """Return a digest of what a function of a module computes with.

    That is the program itself and its libraries; of a plugin's function its own file too.
    """
    digest = hashlib.sha256(_digest_of_program())
    if module.split(".", maxsplit=1)[0] != "inkaccord":
        digest.update(Path(sys.modules[module].__file__ or "").read_bytes())
    return digest.hexdigest()


@cache
def _digest_of_program() -> bytes:
    digest = hashlib.sha256()
    root = Path(inkaccord.__file__).parent
    for path in sorted(root.rglob("*")):  # data files too: what models start from is one
        if path.suffix != ".pyc" and path.is_file():
            digest.update(f"{path.relative_to(root).as_posix()}\0".encode())
            digest.update(path.read_bytes())
    versions = [version(name) for name in _LIBRARIES]
    digest.update("\0".join([inkaccord.__version__, *versions]).encode())
    return digest.digest()


_TOLD = frozenset({type(None), bool, int, float, str})
"""Plain kinds, found first: most values are of these."""


def _add(digest: Any, value: object) -> None:
    """Add a value, with its kind and length before it, so that no two read alike."""
    if type(value) in _TOLD or (
        isinstance(value, (int, float, str, datetime.date, Decimal)) and not isinstance(value, Enum)
    ):
        text = repr(value).encode()
        digest.update(b"%d:" % len(text) + text)
    elif isinstance(value, Enum):
        digest.update(f"{name_of(type(value))}.{value.name};".encode())
    elif isinstance(value, bytes):
        digest.update(b"bytes %d:" % len(value))
        digest.update(value)
    elif isinstance(value, np.ndarray) and value.dtype.kind != "O":
        columns = value.flags.f_contiguous and not value.flags.c_contiguous
        digest.update(f"array {value.dtype.str} {value.shape} {columns}:".encode())
        digest.update(value.tobytes("A"))
    elif isinstance(value, (tuple, list)):
        _add_items(digest, "items", tuple(value))
    elif isinstance(value, dict):
        _add_items(digest, "dict", tuple(chain.from_iterable(value.items())))
    elif (fields := fields_of(value)) is not None:
        digest.update(f"{name_of(type(value))}:".encode())
        _add(digest, fields)
    else:
        raise TypeError(f"a {type(value).__name__} is not told by its contents")


def _add_items(digest: Any, kind: str, items: tuple[object, ...]) -> None:
    """Add items one by one; all at once where Python's own text tells the whole of them."""
    if _TOLD.issuperset(map(type, items)):
        text = repr(items).encode()
        digest.update(f"plain {kind} {len(text)}:".encode() + text)
    else:
        digest.update(f"{kind} {len(items)}:".encode())
        for item in items:
            _add(digest, item)
