"""Play docs/first-order.md through and write its screens: ``python docs/first_afternoon.py``.

The page is its own script. In a ``console`` block the lines behind ``$`` are typed; what stands
below is what the screen answered, from the words that the comment above the block names, if it
names any. What stands behind a question is typed too. A ``yaml`` block of one line is written into
the order file, in the place of a line with the same field, or at the end. A test plays it and
compares.
"""

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

PAGE = Path(__file__).with_name("first-order.md")
INKACCORD = Path(sys.executable).with_name("inkaccord")
ORDER = "my-order"
DATE = "2026-11-28"
"""A sheet's id follows from all that is on it, the order's date too: it stays the page's."""
BLOCK = re.compile(
    r"(?P<head>(?:<!-- from '(?P<first>.+?)' -->\n)?```(?P<kind>console|yaml)\n)(?P<body>.*?)```\n",
    re.DOTALL,
)

TYPED = re.compile(r"^\$ (.*)\n((?:(?!\$ ).*\n)*)", re.MULTILINE)
"""A line that is typed, and what stands below it."""
ASKED = re.compile(r"^\d+/\d+  [^?\n]*\?(?: (.*))?$", re.MULTILINE)
"""A question, and the answer behind it."""


def play(page: str, room: Path) -> str:
    """Do what the page says in an empty folder; return the page with what the screen said."""

    def done(block: re.Match[str]) -> str:
        body = block["body"]
        if block["kind"] == "yaml":
            _write(room / ORDER / "order.yaml", body.rstrip("\n"))
        else:
            body = "".join(
                f"$ {line}\n{_screen(line, room, block['first'], ASKED.findall(below))}"
                for line, below in TYPED.findall(body)
            )
        return f"{block['head']}{body}```\n"

    return BLOCK.sub(done, page)


def _screen(line: str, room: Path, first: str | None, answers: list[str]) -> str:
    words = shlex.split(line)
    assert words[0] == "inkaccord", line
    home = str(room / ".home")
    ran = subprocess.run(
        [INKACCORD, *words[1:]],
        cwd=room,
        env={**os.environ, "HOME": home, "XDG_DATA_HOME": home, "COLUMNS": "90"},
        input="".join(f"{answer}\n" for answer in answers),
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode in {0, 3}, f"{line}\n{ran.stderr}"
    if words[1] == "new":
        _write(room / ORDER / "order.yaml", f"date: {DATE}")
    asked = _typed_behind(ran.stderr, answers) if answers else ""
    shown = [said.rstrip() for said in (asked + ran.stdout).splitlines()]
    if first is not None:
        start = next(at for at, said in enumerate(shown) if said.startswith(first))
        shown = ["…", *shown[start:]]
    return "".join(f"{said}\n" for said in shown)


def _typed_behind(asked: str, answers: list[str]) -> str:
    """Return what a person saw who was asked: each answer behind its question."""
    given = iter(answers)
    return re.sub(r"(\d+/\d+  [^?]*\?) ", lambda it: f"{it[1]} {next(given, '')}\n", asked)


def _write(order: Path, line: str) -> None:
    """Write a line in the place of the first one with the same field, else at the end."""
    field = line.partition(":")[0]
    lines = order.read_text("utf-8").splitlines()
    places = [at for at, old in enumerate(lines) if old.partition(":")[0].strip() == field.strip()]
    if places:
        indent = re.match(" *", lines[places[0]])
        assert indent is not None
        lines[places[0]] = indent[0] + line.strip()
    else:
        lines.append(line)
    order.write_text("\n".join([*lines, ""]), "utf-8")


def main() -> None:
    """Write the page anew."""
    with tempfile.TemporaryDirectory() as name:
        PAGE.write_text(play(PAGE.read_text("utf-8"), Path(name)), "utf-8")
    print(f"wrote docs/{PAGE.name}")


if __name__ == "__main__":
    main()
