"""Many rows are shown at once, and look as they do one by one."""

import io

import pytest
from rich.console import Console

from inkaccord.cli.tables import add_rows, table

ROWS = [["cmyk 0 0 0 100", "12.5", ""], ["spot Kelp", "7.0", "1, 2"], ["", "140.1", "1"]]


def shown(rows: list[list[str]], width: int, *, at_once: bool) -> str:
    listed = table("colour", "mm²", "pages", right=("mm²",))
    if at_once:
        add_rows(listed, rows, width)
    else:
        for row in rows:
            listed.add_row(*row)
    screen = Console(file=io.StringIO(), width=width)
    screen.print(listed)
    written: str = screen.file.getvalue()
    return written


@pytest.mark.parametrize(
    "rows",
    [ROWS, [*ROWS, ["two\nlines", "1", ""]], [*ROWS, ["back\\", "\\[1]", ""]], []],
)
def test_rows_that_are_added_at_once_look_the_same(rows):
    for width in range(14, 40):  # cells break in the narrower ones
        assert shown(rows, width, at_once=True) == shown(rows, width, at_once=False)


def test_rows_on_one_line_each_are_one_row():
    listed = table("colour", "mm²", "pages")
    add_rows(listed, ROWS, 60)
    assert listed.row_count == 1
