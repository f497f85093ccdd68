"""Whole runs in tests: the command, readings for every sheet that waits, the state of a folder."""

import contextlib
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from inkaccord.cli.main import run_main
from recording_kit import fill_in


def tags_order(kelp: str, *pieces: str) -> str:
    """Return an order of one colour, on one press and card, released whatever is known.

    ``kelp`` is how the artwork writes it; each of the ``pieces`` is a line such as ``tag: {…}``.
    """
    listed = "".join(f"  {piece}\n" for piece in pieces)
    return f"""
order: tags
date: 2026-11-28
suites: 10
shelf: shelf.sqlite
colours:
  kelp: {{aim: {{lab: [40, -22, 4]}}, in_artwork: [{kelp}]}}
stocks:
  card: {{size: letter, colour: [95, 0, 0]}}
vendors:
  studio: {{delivers: pieces, devices: {{press: {{}}}}}}
pieces:
{listed}release: regardless
"""


Command = Callable[..., tuple[int, str, str]]


def inkaccord(*words: object) -> tuple[int, str, str]:
    """Run the command in this process; return its exit code, its output and its errors."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run_main([str(word) for word in words])
    return code, out.getvalue(), err.getvalue()


def record_all(order: Path, command: Command = inkaccord) -> None:
    """Record readings of every sheet that the order waits for, as an invented press prints it."""
    for table in sorted((order / "out" / "samples").glob("*.txt")):
        read = order / f"read-{table.name}"
        fill_in(table, read)
        code, out, err = command("record", table.stem, read, "--order", order)
        assert code == 0, err
        assert "Recorded" in out


def run_of(order: Path) -> dict[str, Any]:
    """Return the record of an order's last run."""
    found: dict[str, Any] = json.loads((order / "out" / "run.json").read_text("utf-8"))
    return found


def change(order: Path, old: str, new: str) -> None:
    """Put other words in the place of some in an order's file."""
    path = order / "order.yaml"
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def state(folder: Path) -> dict[str, tuple[int, bytes]]:
    """Return when every file of a folder was written, and what it holds; private files left out."""
    return {
        path.relative_to(folder).as_posix(): (path.stat().st_mtime_ns, path.read_bytes())
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }


def written(folder: Path) -> dict[str, bytes]:
    """Return what every file of a folder holds; private files left out."""
    return {name: data for name, (_, data) in state(folder).items()}
