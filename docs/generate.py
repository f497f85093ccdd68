"""Write the pages that are made from the code: the job file, the commands, the JSON Schemas.

Run ``python docs/generate.py`` after changing an order's models, a command or the run record. A
test runs it and fails when a page on disk is not what it writes.
"""

import json
import re
import sys
import types
import typing
from pathlib import Path

import click
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from inkaccord.cli.main import COMMANDS, cli
from inkaccord.order import colours, model, pieces, stocks, vendors
from inkaccord.order.schema import order_schema
from inkaccord.plugins import load_plugins
from inkaccord.record import run_schema
from inkaccord.units import Points, write_length

HERE = Path(__file__).parent

PARTS: tuple[tuple[str, type[BaseModel]], ...] = (
    ("The order", model.Order),
    ("A colour, under `colours: NAME:`", colours.BrandColour),
    ("Its aim, under `aim:`", colours.Aim),
    ("A stock, under `stocks: NAME:`", stocks.Stock),
    ("A vendor, under `vendors: NAME:`", vendors.Vendor),
    ("A device, under `devices: NAME:`", vendors.Device),
    ("Its PDF rules, under `pdf:`", vendors.PdfRules),
    ("What artwork must keep to, under `artwork:`", vendors.ArtworkLimits),
    ("Overs, under `overs:`", vendors.Overs),
    ("A price, in the list `prices:`", vendors.Price),
    ("A piece, under `pieces: NAME:`", pieces.Piece),
    ("A fold, under `fold:`", pieces.Fold),
    ("Tolerances, under `tolerances:`", model.Tolerances),
)
INTRO = """# The job file

<!-- made by docs/generate.py from the models; change them, not this page -->

An order is one YAML file. `inkaccord check` says everything that is wrong with it, each mistake
with its line and column; `inkaccord new DIR` writes one to start from. Editors that know the YAML
language server read the first line

```text
# yaml-language-server: $schema=order.schema.json
```

and offer every field while you type; `inkaccord schema order` prints that schema with the kinds
of vendor that your plugins add.

Lengths carry their unit: `5in`, `1/8in`, `127mm`, `360pt`. Sizes are two lengths (`5in x 7in`,
`90 x 55 mm`) or a name: `a4`, `letter`, `sra3`, `a7-envelope`, `no10-envelope`, `dl-envelope`.
Beware that `a2` is the ISO sheet and `a2-envelope` the US envelope. Builds are `cmyk 85 20 60 30`
in percent or `rgb 20 92 78` from 0 to 255. A pair is `device@stock`.
"""


def words(annotation: object) -> str:
    """Return a type as a person reads it."""
    if annotation is type(None):
        return "nothing"
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return words(arguments[0])
    if origin in {typing.Union, types.UnionType}:
        return " or ".join(words(part) for part in arguments if part is not type(None))
    if origin is typing.Literal:
        return " or ".join(f"`{part}`" for part in arguments)
    if origin is tuple:
        if arguments[-1] is Ellipsis:
            return f"list of {words(arguments[0])}"
        return f"{len(arguments)} numbers"
    if origin is dict:
        return f"names with {words(arguments[1])} each"
    if isinstance(annotation, type):
        if issubclass(annotation, str) and hasattr(annotation, "__members__"):
            return " or ".join(f"`{member}`" for member in annotation)
        plain = {str: "text", int: "whole number", float: "number", bool: "`true` or `false`"}
        if annotation in plain:
            return plain[annotation]
        named = {"date": "date", "Paint": "artwork colour", "Pair": "pair", "Size": "size"}
        return named.get(annotation.__name__, annotation.__name__.lower())
    return str(annotation)


def is_length(field: FieldInfo) -> bool:
    return any("_length" in repr(part) for part in field.metadata) or "_length" in repr(
        field.annotation
    )


def default_of(field: FieldInfo) -> str:
    if field.is_required():
        return "**needed**"
    value = field.get_default(call_default_factory=True)
    if isinstance(value, Points):
        return f"`{write_length(value)}`"
    if (not value and not isinstance(value, (int, float))) or isinstance(value, BaseModel):
        return ""
    return f"`{str(value).lower() if isinstance(value, bool) else value}`"


def job_file() -> str:
    lines = [INTRO]
    for title, part in PARTS:
        lines += [f"## {title}", "", " ".join((part.__doc__ or "").split()), ""]
        lines += ["| field | holds | default | what it says |", "|---|---|---|---|"]
        for name, field in part.model_fields.items():
            kind = "length" if is_length(field) else words(field.annotation)
            note = " ".join((field.description or "").split()).replace("|", "\\|")
            lines.append(f"| `{name}` | {kind} | {default_of(field)} | {note} |")
        lines.append("")
        for enumeration in enumerations(part):
            lines += [f"`{member}`: {doc}" + "  " for member, doc in enumeration]
            lines.append("")
    lines += ["## Kinds of vendor that are installed", ""]
    lines += ["A vendor can name a kind instead: `kind: WORD` and that kind's own fields.", ""]
    for name, kind in sorted(load_plugins().vendor_kinds().items()):
        lines += [f"### `kind: {name}`", "", f"{kind.summary[:1].upper()}{kind.summary[1:]}.", ""]
        lines += ["| field | holds | default | what it says |", "|---|---|---|---|"]
        for field_name, field in kind.options.model_fields.items():
            kind_words = "length" if is_length(field) else words(field.annotation)
            lines.append(
                f"| `{field_name}` | {kind_words} | {default_of(field)} "
                f"| {field.description or ''} |"
            )
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def enumerations(part: type[BaseModel]) -> list[list[tuple[str, str]]]:
    """Return the documented members of every enumeration that a model's fields use."""
    found = []
    for field in part.model_fields.values():
        for annotation in (field.annotation, *typing.get_args(field.annotation)):
            if isinstance(annotation, type) and hasattr(annotation, "__members__"):
                docs = member_docs(annotation)
                if docs:
                    found.append(docs)
    return found


def member_docs(enumeration: type) -> list[tuple[str, str]]:
    """Return (value, docstring) of the members that have a string under them in the source."""
    source = Path(sys.modules[enumeration.__module__].__file__ or "").read_text("utf-8")
    body = source.split(f"class {enumeration.__name__}(", 1)[1].split("\nclass ", 1)[0]
    pattern = r'^    [A-Z_]+ = "(?P<value>[^"]+)"\n    """(?P<doc>.+?)"""'
    return [
        (match["value"], " ".join(match["doc"].split()))
        for match in re.finditer(pattern, body, re.MULTILINE | re.DOTALL)
    ]


def command_pages() -> str:
    lines = [
        "# The commands",
        "",
        "<!-- made by docs/generate.py from --help -->",
        "",
        "Results go to stdout, progress and remarks to stderr. Colours appear on a terminal only, "
        "and never with `NO_COLOR`. `--json` prints the same as data.",
        "",
        *help_of(cli, "inkaccord"),
    ]
    context = click.Context(cli, info_name="inkaccord")
    for name in COMMANDS:
        command = cli.get_command(context, name)
        assert command is not None
        lines += help_of(command, f"inkaccord {name}")
        if isinstance(command, click.Group):
            for inner, sub in command.commands.items():
                lines += help_of(sub, f"inkaccord {name} {inner}")
    return "\n".join(lines).rstrip() + "\n"


def help_of(command: click.Command, name: str) -> list[str]:
    context = click.Context(
        command, info_name=name, max_content_width=90, terminal_width=90,
        help_option_names=["-h", "--help"],
    )  # fmt: skip
    level = "##" if name.count(" ") < 2 else "###"
    return [f"{level} {name}", "", "```text", command.get_help(context), "```", ""]


def pages() -> dict[str, str]:
    """Return every generated page by its name."""
    kinds = load_plugins().vendor_kinds()
    return {
        "job-file.md": job_file(),
        "commands.md": command_pages(),
        "order.schema.json": json.dumps(order_schema(kinds), ensure_ascii=False, indent=1) + "\n",
        "run.schema.json": json.dumps(run_schema(), ensure_ascii=False, indent=1) + "\n",
    }


if __name__ == "__main__":
    for page, text in pages().items():
        (HERE / page).write_text(text, "utf-8")
        print(f"wrote docs/{page}")
