"""How files behave on other systems: a layer that heeds no capitals, and files that are held."""

import builtins
import io
import os
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

_BY_NAME = (
    "stat", "lstat", "open", "unlink", "remove", "mkdir", "rmdir", "chmod", "utime", "access",
    "listdir", "scandir", "truncate",
)  # fmt: skip
_BY_TWO = ("rename", "replace")


def heed_no_capitals(monkeypatch: pytest.MonkeyPatch, root: Path, *, numbered: bool = True) -> None:
    """Let every name below a folder lead to what is there in other capitals, as macOS does.

    Unless ``numbered``, each spelling of a name has a file number of its own, as on a drive that
    a program of the user's shows (FUSE without ``use_ino``).
    """
    listdir, isdir = os.listdir, os.path.isdir

    def there(name: Any) -> Any:
        path = root if isinstance(name, int) else Path(name).absolute()
        if path == root or not path.is_relative_to(root):
            return name
        place = root
        for part in path.relative_to(root).parts:
            names = listdir(place) if isdir(place) else []
            alike = [it for it in names if it.casefold() == part.casefold()]
            place /= part if part in names else (alike or [part])[0]
        return str(place)

    def wrapped(function: Callable[..., Any], names: int) -> Callable[..., Any]:
        def call(*given: Any, **options: Any) -> Any:
            return function(*map(there, given[:names]), *given[names:], **options)

        return call

    for module, calls, names in ((os, _BY_NAME, 1), (os, _BY_TWO, 2)):
        for call in calls:
            monkeypatch.setattr(module, call, wrapped(getattr(module, call), names))
    if not numbered:
        stat = os.stat

        def otherwise(name: Any, **options: Any) -> os.stat_result:
            found = list(stat(name, **options))
            found[1] = zlib.crc32(str(name).encode())
            return os.stat_result(found)

        monkeypatch.setattr(os, "stat", otherwise)
    opened = wrapped(io.open, 1)
    monkeypatch.setattr(io, "open", opened)
    monkeypatch.setattr(builtins, "open", opened)


def hold(monkeypatch: pytest.MonkeyPatch, *held: Path) -> None:
    """Let files be shown in a viewer on Windows: they can be read, not replaced or removed."""

    def refusing(function: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **options: Any) -> Any:
            if any(Path(name) in held for name in given if not isinstance(name, int)):
                raise PermissionError(13, "Access is denied", str(given[-1]))
            return function(*given, **options)

        return call

    for name in ("rename", "replace", "unlink", "remove"):
        monkeypatch.setattr(os, name, refusing(getattr(os, name)))
