"""Options that may stand before the command or after it, and mean the same at either place."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

OPTIONS: dict[str, tuple[tuple[str, ...], dict[str, Any]]] = {
    "quiet": (
        ("-q", "--quiet"),
        {"is_flag": True, "help": "Say nothing but errors and results."},
    ),
    "verbose": (("-v", "--verbose"), {"is_flag": True, "help": "Say more of what is done."}),
    "order": (
        ("--order",),
        {
            "metavar": "ORDER",
            "type": click.Path(path_type=Path, exists=True),
            "help": "The order that it is about: its shelf, its devices, its colours.",
        },
    ),
    "shelf": (
        ("--shelf",),
        {
            "metavar": "PATH",
            "help": "The shelf: a file or an SQLite URL.  [default: the order's own, else "
            "$INKACCORD_SHELF, else the one in your user data folder]",
        },
    ),
}
"""Each by its name: how it is written, and what click is told of it."""

VOICE = ("quiet", "verbose")
"""Every command has these."""


def before_commands(group: Callable[..., Any]) -> Callable[..., Any]:
    """Let a group of commands take every one of them before its command, as arguments."""
    for written, about in reversed(OPTIONS.values()):
        group = click.option(*written, **about)(group)
    return group


def takes(*names: str) -> Callable[[Any], Any]:
    """Let a command take some of them; they go into its settings, not into its arguments."""

    def decorate(command: Any) -> Any:
        for name in reversed(names):
            written, about = OPTIONS[name]
            option = click.option(*written, expose_value=False, callback=_keep, **about)
            command = option(command)
        return command

    return decorate


def complete(command: click.Command, inherited: tuple[str, ...] = VOICE) -> click.Command:
    """Give a command, and the commands inside it, the options that they do not have yet."""
    for name in inherited:
        if name not in taken_by(command):
            takes(name)(command)
    if isinstance(command, click.Group):
        for inner in command.commands.values():
            complete(inner, taken_by(command))
    return command


def taken_by(command: click.Command) -> tuple[str, ...]:
    """Return the names of those that a command takes."""
    options = {it.name for it in command.params if isinstance(it, click.Option)}
    return tuple(name for name in OPTIONS if name in options)


def _keep(ctx: click.Context, param: click.Parameter, value: Any) -> None:
    name = str(param.name)
    if not value or ctx.obj is None:
        return
    if getattr(ctx.obj, name) not in {None, False, value}:
        raise click.UsageError(f"{param.opts[0]} is given twice, and not the same")
    setattr(ctx.obj, name, value)
