"""Tables for the screen: calm in 80 columns, wider where there is room."""

import re
from collections.abc import Iterable, Sequence

from rich import box
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderResult
from rich.measure import Measurement
from rich.table import Table
from rich.text import Text

from inkaccord.words import visible

_JOINTS = (r"(?=[@])|(?<=/)", r"(?=[@])|(?<=[-/_.])")
"""Where a name may break: before the stock and after a slash, or, where it must, at hyphens too."""

_BETWEEN = 2
"""What stands behind each column."""


class Name:
    """A name such as ``device@stock/setting``, broken at its joints and never inside a word."""

    def __init__(self, text: str, *, indent: int = 0) -> None:
        self.text = visible(text)
        self.indent = " " * indent

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        del console
        shortest = max(map(cell_len, re.split(_JOINTS[1], self.text)))
        longest = cell_len(self.text)
        room = len(self.indent)
        return Measurement(room + shortest, room + longest).with_maximum(options.max_width)

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        del console
        lines = self._lines(options.max_width - len(self.indent))
        text = "\n".join(self.indent + line for line in lines)
        yield Text(text, no_wrap=True, overflow="fold")

    def _lines(self, width: int) -> list[str]:
        """Break at the better joints if that is enough, else at all of them."""
        lines: list[str] = []
        for joints in _JOINTS:
            lines = _filled(re.split(joints, self.text), width)
            if all(cell_len(line) <= width for line in lines):
                break
        return lines


def _filled(parts: Iterable[str], width: int) -> list[str]:
    """Put as many parts into each line as fit."""
    lines: list[str] = [""]
    for part in parts:
        if lines[-1] and cell_len(lines[-1] + part) > width:
            lines.append(part)
        else:
            lines[-1] += part
    return lines


def table(*columns: str, right: tuple[str, ...] = (), whole: tuple[str, ...] = ()) -> Table:
    """Return an empty table in the house's style: no lines but one under the head.

    ``right`` are the columns of numbers, ``whole`` those that never break.
    """
    made = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for column in columns:
        made.add_column(
            column,
            justify="right" if column in right else "left",
            overflow="fold",
            no_wrap=column in right or column in whole,
        )
    return made


def add_rows(listed: Table, rows: Sequence[Sequence[str]], width: int) -> None:
    """Add rows to a table for a screen of that width.

    Where none needs a second line they are added as one, which shows the same and is much quicker.
    """
    columns = list(zip(*rows, strict=True))
    heads = [str(column.header) for column in listed.columns]
    needed = [
        max(map(cell_len, (head, *cells))) + _BETWEEN
        for head, cells in zip(heads, columns, strict=False)
    ]
    one_line_each = not any(sign in cell for row in rows for cell in row for sign in "\n\\")
    if rows and one_line_each and sum(needed) <= width:
        listed.add_row(*map("\n".join, columns))
        return
    for row in rows:
        listed.add_row(*row)
