"""The command ``inkaccord``. Commands load when they are called, so ``--help`` is quick."""

import gc
import importlib
import sys
from pathlib import Path

import click

from inkaccord.cli.anywhere import before_commands, complete, taken_by
from inkaccord.errors import ExitCode, InkaccordError

_YOUNG = 500_000
"""New objects after which the collector looks for circles: nearly all that loading makes, and a
small order, lives on, and looking as often as usual (700) costs a tenth of it."""
STOPPED = 130
"""What a command that is stopped by Ctrl-C leaves with, as shells have it."""

COMMANDS: dict[str, str] = {
    "new": "Write a starter order into a new folder.",
    "open": "Open orders as a page in the browser of this machine.",
    "check": "Check an order file, and say everything that is wrong with it.",
    "run": "Do all that can be done for an order now, and say what comes next.",
    "record": "Take in the readings of a printed sheet, or what was picked by eye.",
    "look": "Ask which swatches of a printed sheet come nearest by eye.",
    "compare": "Compare two printed sheets that were scanned together.",
    "approve": "Take down that a client approved what the client's page shows.",
    "samples": "Say where each sample sheet of an order is, and what is needed by when.",
    "cost": "Say what an order costs by the prices that it states.",
    "message": "Write what to say to a vendor when files or sample sheets are sent.",
    "sent": "Take down that a vendor was sent its files, or say what was sent and when.",
    "diff": "Say what was changed between two orders, or two runs of one.",
    "ask": "Ask for a colour's build on each pair, and how far apart the pairs lie.",
    "book": "Keep the studio's own colours by name, and their builds on every pair.",
    "shelf": "See and keep the sample sheets, readings and picks.",
    "swatches": "Make a swatch set: many swatches of one pair, or those of a range of colours.",
    "controls": "Make a sheet that shows whether a pair has drifted.",
    "mask": "Make a mask of grey card, through which a thing is held against a sheet.",
    "colours": "List every colour in a PDF, with its area.",
    "recolour": "Change colours in one PDF, and prove that nothing else changed.",
    "schema": "Print the JSON Schema of an order, or of a run's record.",
    "plugins": "List the plugins, or start one of your own.",
}
"""Every command with its line in ``--help``, in the order in which an order meets them."""


class _Commands(click.Group):
    """A group whose commands are imported only when they are used."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"inkaccord.cli.{cmd_name}")
        command: click.Command = module.command
        command.short_help = COMMANDS[cmd_name]
        return complete(command)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        # From the table, not from the commands: showing help must load none of them.
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name = args[0] if args else ""
        if name and not name.startswith("-") and name not in COMMANDS:
            from inkaccord.order.mistakes import suggest

            ctx.fail(f"there is no command '{name}'; {suggest(name, COMMANDS)}")
        return super().resolve_command(ctx, args)


def _version(ctx: click.Context, _param: click.Parameter, value: bool) -> None:
    if value and not ctx.resilient_parsing:
        from inkaccord import __version__

        click.echo(f"inkaccord {__version__}")
        ctx.exit()


@click.command(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Exit codes: 0 all done; 2 the command or the order is wrong; 3 a person is waited for "
    "(sheets, readings, picks, an answer); 4 a piece can't go as it is, or a check fails; 5 a file "
    "could not be read or written; 130 and 143 stopped (Ctrl-C, SIGTERM); 141 nobody reads the "
    "output any more.",
)
@click.option(
    "--version",
    is_flag=True,
    callback=_version,
    expose_value=False,
    is_eager=True,
    help="Print the version.",
)
@click.option(
    "--plugin",
    "plugins",
    multiple=True,
    metavar="MODULE",
    help="Also load this Python module as a plugin. May be given several times.",
)
@before_commands
@click.pass_context
def cli(
    ctx: click.Context,
    plugins: tuple[str, ...],
    quiet: bool,
    verbose: bool,
    order: Path | None,
    shelf: str | None,
) -> None:
    """One order, many printers, the same colour.

    Write the order into a YAML file, run it, print the sample sheets that it asks for, record
    what was read or picked, and run it again.
    """
    from inkaccord.cli.shared import Settings

    ctx.obj = Settings(plugins, quiet, verbose, order, shelf)
    name = str(ctx.invoked_subcommand)
    command = ctx.command.get_command(ctx, name) if isinstance(ctx.command, click.Group) else None
    for option, value in (("order", order), ("shelf", shelf)):
        if command and value is not None and option not in taken_by(command):
            ctx.fail(f"'{name}' takes no --{option}; see 'inkaccord {name} --help'")


def main() -> None:
    """Run the command and leave with the exit code that tells how it went."""
    from inkaccord.cli.streams import guarded

    gc.set_threshold(_YOUNG, 20, 20)
    code = guarded(run_main, sys.argv[1:])
    gc.freeze()  # the process ends: nothing is looked through once more
    sys.exit(code)


def run_main(arguments: list[str]) -> int:
    """Run the command with arguments and return its exit code. Never shows a traceback."""
    try:
        result = cli.main(arguments, prog_name="inkaccord", standalone_mode=False)
        return int(result) if isinstance(result, int) else int(ExitCode.DONE)
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except click.Abort:
        click.echo("stopped", err=True)
        return STOPPED
    except click.ClickException as problem:
        from inkaccord.cli.shared import show_misuse

        show_misuse(problem)
        return int(ExitCode.WRONG)
    except InkaccordError as problem:
        from inkaccord.cli.shared import show_failure

        show_failure(problem, as_json="--json" in arguments)
        return int(problem.exit_code)
    except BrokenPipeError:
        raise  # the reader of our output has gone: see streams
    except OSError as problem:
        from inkaccord.cli.shared import failure_of, show_failure

        show_failure(failure_of(problem), as_json="--json" in arguments)
        return int(ExitCode.FILES)


if __name__ == "__main__":
    main()
