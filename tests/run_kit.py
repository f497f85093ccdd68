"""Whole runs in tests: readings for every sheet that waits, and the state of a folder."""

from collections.abc import Callable
from pathlib import Path

from recording_kit import fill_in


def record_all(order: Path, inkaccord: Callable[..., tuple[int, str, str]]) -> None:
    """Record readings of every sheet that the order waits for, as an invented press prints it."""
    for table in sorted((order / "out" / "samples").glob("*.txt")):
        read = order / f"read-{table.name}"
        fill_in(table, read)
        code, out, err = inkaccord("record", table.stem, read, "--order", order)
        assert code == 0, err
        assert "Recorded" in out


def state(folder: Path) -> dict[str, tuple[int, bytes]]:
    """Return when every file of a folder was written, and what it holds; private files left out."""
    return {
        path.relative_to(folder).as_posix(): (path.stat().st_mtime_ns, path.read_bytes())
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }
