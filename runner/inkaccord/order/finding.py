"""Where orders are: in a folder, or under names that a pattern matches."""

import glob
from collections.abc import Iterable, Iterator
from pathlib import Path

from inkaccord.errors import OrderError
from inkaccord.order.loading import ORDER_FILE

DEEPEST = 2
"""Folders below the one that was named in which orders are looked for."""
_WRITTEN = {".yaml", ".yml"}


def order_files(at: Path, deepest: int = DEEPEST) -> Iterator[Path]:
    """Yield the file of every order in a folder and in those inside it; a file is its own."""
    if at.is_file():
        yield at
        return
    if (at / ORDER_FILE).is_file():
        yield at / ORDER_FILE
    if deepest:
        for inside in sorted(at.iterdir()):
            if inside.is_dir() and not inside.is_symlink() and not inside.name.startswith("."):
                yield from order_files(inside, deepest - 1)


def orders_named(words: Iterable[str]) -> tuple[Path, ...] | None:
    """Return the orders that files, folders and patterns name, each once, in the order of naming.

    A folder that holds ``order.yaml`` is that order; another is all the orders in it. What is not
    there is named all the same, so that what runs it says so. None where one order is named, by
    its file or its folder. Raises OrderError for a pattern that no order matches.
    """
    words = tuple(words)
    found = [path for word in words for path in _meant_by(word)]
    if len(words) == 1 and found == [Path(words[0])]:
        return None
    by_file: dict[Path, Path] = {}
    for path in found:
        by_file.setdefault(file_of_order(path).resolve(), path)
    return tuple(by_file.values())


def _meant_by(word: str) -> list[Path]:
    path = Path(word)
    if path.exists() or not glob.has_magic(word):
        return _orders_at(path) or [path]
    matching = [Path(it) for it in sorted(glob.glob(word, recursive=True))]  # noqa: PTH207 - as typed
    found = [order for it in matching if _may_be(it) for order in _orders_at(it)]
    if not found:
        raise OrderError.of(
            "no-such-order",
            f"no order matches {word}",
            hint="name the orders' files, or the folders that they lie in",
        )
    return found


def _may_be(path: Path) -> bool:
    """Tell whether a pattern means it: of all that it matches, files of orders and folders."""
    return path.is_dir() or path.suffix.lower() in _WRITTEN


def _orders_at(path: Path) -> list[Path]:
    """Return the orders of a file or a folder, each by its folder where that stands for it."""
    if not path.is_dir() or (path / ORDER_FILE).is_file():
        return [path]
    return [it.parent if it.name == ORDER_FILE else it for it in order_files(path)]


def file_of_order(path: Path) -> Path:
    """Return the file of an order that is named by it or by its folder."""
    return path / ORDER_FILE if path.is_dir() else path
