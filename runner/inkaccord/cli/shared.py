"""What the commands share: options, the order and the shelf they open, and how they speak.

Results go to stdout, everything else to stderr. Colours only on a terminal, and never with
``NO_COLOR``.
"""

import datetime
import io
import json
import os
import re
import sys
from collections.abc import Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from pydantic_core import PydanticSerializationError, to_json
from rich.console import Console, ConsoleOptions, RenderableType
from rich.markup import escape
from rich.segment import Segment
from rich.text import Text

from inkaccord.diagnostics import Diagnostic, Severity, with_mends
from inkaccord.errors import FileError, InkaccordError
from inkaccord.today import come, today
from inkaccord.words import about_order, visible
from inkaccord.written import date

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.engines import Engine
    from inkaccord.order.loading import LoadedOrder
    from inkaccord.order.model import Order
    from inkaccord.plugins import Plugins

ORDER_PATH = click.Path(path_type=Path, dir_okay=True, exists=True)
ORDER = click.argument("order", metavar="ORDER", type=ORDER_PATH)
JSON = click.option("--json", "as_json", is_flag=True, help="Print the result as JSON.")
OUT = click.option(
    "--out",
    "out",
    metavar="DIR",
    type=click.Path(path_type=Path, file_okay=False),
    help="Where the results go.  [default: out/ beside the order]",
)

_WIDTH = re.compile(r"[1-9][0-9]{1,3}")
_UNSEEN = re.compile("[\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""What JSON leaves as it is, and a terminal may obey."""
_MOST_SHOWN = 100
_STYLE = {Severity.ERROR: "bold red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}


@dataclass
class Settings:
    """The options that stand before the command, or at either place."""

    plugins: tuple[str, ...] = ()
    quiet: bool = False
    verbose: bool = False
    order: Path | None = None
    """The order that the command is about, where it is named by an option."""
    shelf: str | None = None
    """Where the shelf is, where an option says so."""
    engine: "Engine | None" = None
    """What computes beside us, as long as the command runs."""
    _said: set[str] = field(default_factory=set)

    @cached_property
    def loaded(self) -> "Plugins":
        """All plugins, the built-in stages too; loaded when first asked for."""
        from inkaccord.builtin import PLUGINS
        from inkaccord.plugins import load_plugins

        return load_plugins(self.plugins, built_in=PLUGINS)

    @cached_property
    def outside(self) -> "Plugins":
        """The plugins from outside, which is enough to understand an order file, and quick."""
        from inkaccord.plugins import load_plugins

        return load_plugins(self.plugins)

    @cached_property
    def drawing(self) -> "Plugins":
        """The plugins from outside and the built-in drawing of sheets, without the stages."""
        from inkaccord.plugins import load_plugins
        from inkaccord.stages import draw_sheet

        return load_plugins(self.plugins, built_in={"plain-sheets": draw_sheet})

    def load(self, order: Path) -> "LoadedOrder":
        """Load an order; a folder means the one YAML file in it named order.yaml."""
        from inkaccord.order.loading import ORDER_FILE, load_order

        path = order / ORDER_FILE if order.is_dir() else order
        return load_order(path, self.outside.vendor_kinds())

    @cached_property
    def named(self) -> "LoadedOrder | None":
        """The order that an option names, loaded when first asked for."""
        return self.load(self.order) if self.order is not None else None

    @property
    def named_order(self) -> "Order | None":
        """What the order that an option names describes."""
        return self.named.order if self.named is not None else None

    @cached_property
    def screen(self) -> Console:
        """Where results are shown."""
        return _console(sys.stdout)

    @cached_property
    def aside(self) -> Console:
        """Where progress and remarks are shown."""
        return _console(sys.stderr)

    def say(self, text: str) -> None:
        """Show a remark, unless asked to be quiet; a command in it is broken by no new line."""
        if not self.quiet:
            self.aside.print(text, highlight=False, markup=False, soft_wrap=True)

    def say_more(self, text: str) -> None:
        """Show a remark to who asked for more of them."""
        if self.verbose:
            self.say(text)

    def say_once(self, text: str) -> None:
        """Show a remark unless it was shown before."""
        if text not in self._said:
            self._said.add(text)
            self.say(text)

    def working(self, text: str) -> AbstractContextManager[Any]:
        """Show that something is going on, on a terminal only."""
        if self.quiet or not self.aside.is_terminal:
            return nullcontext()
        return self.aside.status(Text(visible(text)))


class Day(click.ParamType[datetime.date]):
    """A day on which something was done, as an order file may write it."""

    name = "day"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime.date:
        """Read a day that was typed."""
        try:
            return value if isinstance(value, datetime.date) else come(date(value))
        except ValueError as problem:
            self.fail(str(problem), param, ctx)


DAY = Day()


def parse_day(
    _ctx: click.Context, _param: click.Parameter, value: datetime.date | None
) -> datetime.date:
    """Return the day that an option gives, or today."""
    return today() if value is None else value


ON = click.option("--on", type=DAY, callback=parse_day, help="When it was.  [default: today]")


def parse_pair(_ctx: click.Context, _param: click.Parameter, value: str | None) -> "Pair | None":
    """Read a pair from the command line, as a callback of its option."""
    from inkaccord.colour.pairs import Pair

    try:
        return None if value is None else Pair.parse(value)
    except ValueError as problem:
        raise click.BadParameter(
            f"{value!r}: expected 'device@stock', or 'device@stock/setting'"
        ) from problem


def _parse_pairs(
    ctx: click.Context, param: click.Parameter, values: tuple[str, ...]
) -> "tuple[Pair, ...]":
    return tuple(pair for value in values if (pair := parse_pair(ctx, param, value)) is not None)


PAIRS = click.option(
    "--pair",
    "pairs",
    multiple=True,
    callback=_parse_pairs,
    metavar="PAIR",
    help="Only on this pair (device@stock); may be given several times.  [default: all that the "
    "shelf or the order knows]",
)


def plain(text: str) -> str:
    """Return text from an order, a file or a plugin for the screen: nothing in it acts."""
    return escape(visible(text))


class CalmConsole(Console):
    """A console to which only we speak: no text reaches it with a control in it, or as a code."""

    def render(
        self, renderable: RenderableType, options: ConsoleOptions | None = None
    ) -> Iterable[Segment]:
        """Give what is to be shown, controls made visible but for the end of a line."""
        for segment in super().render(renderable, options):
            if segment.control or segment.text.isprintable():
                yield segment
            else:
                lines = map(visible, segment.text.split("\n"))
                yield Segment("\n".join(lines), segment.style)


def _console(stream: Any) -> Console:
    # Piped output is read by other programs: it isn't wrapped to a guessed width.
    columns = os.environ.get("COLUMNS", "")
    width = None if stream.isatty() else int(columns) if _WIDTH.fullmatch(columns) else 100
    return CalmConsole(file=stream, width=width, highlight=False, soft_wrap=False, emoji=False)


pass_settings = click.make_pass_decorator(Settings)
"""Gives a command the settings as its first argument."""


def print_json(value: Any, *, lines: bool = True) -> None:
    """Print a value as JSON on stdout: in lines for people, or in one line for a stream of them."""
    indent = 1 if lines else None
    text = (
        _as_json(value, indent) if speaks_unicode(sys.stdout) else json.dumps(value, indent=indent)
    )
    click.echo(_UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text))


def _as_json(value: Any, indent: int | None) -> str:
    try:  # many times faster than what takes a name that is not UTF-8
        return to_json(value, indent=indent, inf_nan_mode="constants").decode()
    except PydanticSerializationError:
        return json.dumps(value, ensure_ascii=False, indent=indent)


def speaks_unicode(stream: Any) -> bool:
    """Tell whether a stream takes every character."""
    return (getattr(stream, "encoding", None) or "utf-8").lower().replace("-", "") == "utf8"


def as_data(findings: Iterable[Diagnostic]) -> list[dict[str, Any]]:
    """Return findings as ``--json`` has them."""
    return [finding.model_dump(mode="json") for finding in findings]


def tell(settings: Settings, words: str, *, as_json: bool, **data: Any) -> None:
    """Say what a command has done, in words or as data."""
    if as_json:
        print_json({"exit_code": 0, **data})
    else:
        settings.screen.print(plain(words), soft_wrap=True)


def show_findings(
    console: Console, findings: Iterable[Diagnostic], order: Sequence[str] = ()
) -> None:
    """Show findings, a paragraph each: the place, what is wrong, and how to mend it.

    Of very many the first are shown, and their number: who mends these will ask again. Commands in
    them name the ``order`` that they are about, in words such as those of
    :func:`inkaccord.cli.shelf_place.order_words`.
    """
    every = list(findings)
    for finding, mends in with_mends(every[:_MOST_SHOWN]):
        style = _STYLE[finding.severity]
        place = str(finding.place)
        head = f"[{style}]{finding.severity}[/] "
        place_text = f"[bold]{plain(place)}[/]: " if place else ""
        source = f" [dim]({plain(finding.source)})[/]" if finding.source else ""
        console.print(f"{head}{place_text}{plain(finding.message)}{source}", soft_wrap=True)
        for mend in mends:
            said = about_order(mend, order) if order else mend
            console.print(f"      {plain(said)}", soft_wrap=True)
    if len(every) > _MOST_SHOWN:
        console.print(f"… and {len(every) - _MOST_SHOWN:,} more")


def failure_of(problem: OSError) -> FileError:
    """Return what is said where the system refuses what nobody foresaw."""
    return FileError.of("file-trouble", str(problem), hint="check the disk and the rights")


def show_failure(problem: InkaccordError, *, as_json: bool, lines: bool = True) -> None:
    """Show why a command failed: as JSON on stdout if that was asked for, else on stderr."""
    if as_json:
        print_json(
            {
                "exit_code": int(problem.exit_code),
                "findings": as_data(problem.findings),
            },
            lines=lines,
        )
        return
    show_findings(_console(sys.stderr), problem.findings)


def show_misuse(problem: click.ClickException) -> None:
    """Show what is wrong with a command line."""
    said = io.StringIO()
    problem.show(said)
    lines = map(visible, said.getvalue().split("\n"))
    click.echo("\n".join(lines), err=True, nl=False)
