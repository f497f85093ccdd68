"""Write the pages that are made from the code: job file, commands, JSON Schemas, the house.

Run ``python docs/generate.py`` after changing an order's models, a command or the run record. A
test runs it and fails when a page on disk is not what it writes.
"""

import datetime
import hashlib
import json
import re
import sys
import types
import typing
from enum import StrEnum
from pathlib import Path
from typing import Any

import annotated_types
import click
from draw_house import drawing
from exports_page import exports_page
from pydantic import BaseModel, BeforeValidator
from pydantic.fields import FieldInfo

from inkaccord.cli.main import COMMANDS, cli
from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.errors import MEANINGS
from inkaccord.layout import model as layout_model
from inkaccord.layout.records import model as records
from inkaccord.order import (
    answers,
    colours,
    contact,
    finishes,
    going,
    keeping,
    merging,
    model,
    page_boxes,
    pieces,
    prices,
    stocks,
    vendors,
)
from inkaccord.order.annotations import READ_AS, annotation_of, members, models_in
from inkaccord.order.schema import order_schema
from inkaccord.plugins import load_plugins
from inkaccord.run.record import FORMAT, run_schema
from inkaccord.sizes import Size
from inkaccord.units import Points, write_length

HERE = Path(__file__).parent
FORMS = "run.forms.json"
"""Digests of the forms that the record has had, by number. A line of it is never changed."""

PARTS: tuple[tuple[str, type[BaseModel]], ...] = (
    ("The order", model.Order),
    ("A colour, under `colours: NAME:`", colours.BrandColour),
    ("Its aim, under `aim:`", colours.Aim),
    ("A finish, under `finishes: NAME:`", finishes.Finish),
    ("A stock, under `stocks: NAME:`", stocks.Stock),
    ("A vendor, under `vendors: NAME:`", vendors.Vendor),
    ("A device, under `devices: NAME:`", vendors.Device),
    ("Its PDF rules, under `pdf:`", vendors.PdfRules),
    ("What artwork must keep to, under `artwork:`", vendors.ArtworkLimits),
    ("The guillotine, under `cutter:`", vendors.PaperCutter),
    ("Overs, under `overs:`", vendors.Overs),
    ("What work costs it, under `costs:`", layout_model.Costs),
    ("Who orders, under `ordered_by:`", contact.Contact),
    ("What it asks, under `prices:`", prices.Prices),
    ("A table of its own, for a piece or a stock", prices.PriceTable),
    ("Sample sheets, under `samples:` of `prices:`", prices.SamplePrices),
    ("A line of a table, in the list `table:`", prices.Price),
    ("A quote, under `quotes: NAME:`", vendors.Quote),
    ("A piece, under `pieces: NAME:`", pieces.Piece),
    ("Its records, under `merge:`", merging.Merge),
    ("A field of them, under `fields: NAME:`", records.RecordField),
    ("Where a piece lies on its page, under `boxes:`", page_boxes.ArtworkBoxes),
    ("Its place, under `trim:`", page_boxes.TrimPlace),
    ("Where it goes, under `goes:`", going.Going),
    ("A fold, under `fold:`", pieces.Folding),
    ("How sample sheets are kept, under `samples:`", keeping.Samples),
    ("Tolerances, under `tolerances:`", model.Tolerances),
    ("A colour accepted on a piece, under `accept: COLOUR:`", answers.Accepted),
    ("Limits of a colour's or a piece's own, under `tolerance:`", answers.Limits),
)
PLAIN = {
    str: "text",
    int: "whole number",
    float: "number",
    bool: "`true` or `false`",
    datetime.date: "date",
    Paint: "artwork colour",
    Pair: "pair",
    Build: "build",
}


def words(annotation: object) -> str:
    """Return a type as a person reads it, with the bounds that it keeps to."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        marks = arguments[1:]
        read = [READ_AS[mark][0] for mark in marks if isinstance(mark, BeforeValidator)]
        kind = read[0] if read else words(arguments[0])
        # A text that may not be empty is no count of anything.
        return kind if kind == "text" else kind + bounds(marks)
    if origin in {typing.Union, types.UnionType}:
        return " or ".join(words(part) for part in arguments if part is not type(None))
    if origin is typing.Literal:
        return " or ".join(f"`{part}`" for part in arguments)
    if origin is tuple:
        if arguments[-1] is Ellipsis:
            return f"list of {words(arguments[0])}"
        return f"{len(arguments)} numbers"
    if origin is dict:
        return f"names, each with {words(arguments[1])}"
    if annotation in PLAIN:
        return PLAIN[annotation]
    assert isinstance(annotation, type), annotation
    if issubclass(annotation, StrEnum):
        return " or ".join(f"`{member}`" for member in annotation)
    assert issubclass(annotation, BaseModel), annotation
    title = " ".join(re.findall("[A-Z][a-z]+|[A-Z]+(?![a-z])", annotation.__name__)).lower()
    return f"fields of [{title}](#{anchor(annotation)})"


def bounds(marks: typing.Iterable[object]) -> str:
    """Return the bounds of a field: ``, 1 or more``."""
    given: dict[str, float] = {}
    for mark in marks:
        for part in mark if isinstance(mark, annotated_types.GroupedMetadata) else (mark,):
            for name in ("gt", "ge", "lt", "le", "min_length"):
                if getattr(part, name, None) is not None:
                    given[name] = getattr(part, name)
    if "min_length" in given:
        return f", at least {given['min_length']:g}"
    if {"ge", "le"} <= given.keys():
        return f", {given['ge']:g} to {given['le']:g}"
    said = {
        "gt": "more than {:g}",
        "ge": "{:g} or more",
        "lt": "less than {:g}",
        "le": "up to {:g}",
    }
    return "".join(
        f", {words.format(given[name])}" for name, words in said.items() if name in given
    )


def anchor(part: type[BaseModel]) -> str:
    """Return where a part's section stands on the page."""
    title = next((title for title, it in PARTS if it is part), part.__name__)
    return re.sub(r"[^a-z0-9_ -]", "", title.lower()).replace(" ", "-")


def table(part: type[BaseModel]) -> list[str]:
    """Return the rows of a part's fields."""
    lines = ["| field | holds | default | what it says |", "|---|---|---|---|"]
    for name, field in part.model_fields.items():
        note = " ".join((field.description or "").split()).replace("|", "\\|")
        kind = words(annotation_of(field))
        lines.append(f"| `{name}` | {kind} | {default_of(field)} | {note} |")
    return [*lines, ""]


def parts_of(options: type[BaseModel]) -> list[type[BaseModel]]:
    """Return the models that a kind's options hold and that have no section yet."""
    known = {part for _, part in PARTS} | {Paint, Pair, Build, Size}
    found = [it for f in options.model_fields.values() for it in models_in(annotation_of(f))]
    return [it for it in dict.fromkeys(found) if it not in known]


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
    lines = [(HERE / "parts" / "job-file.md").read_text("utf-8")]
    for title, part in PARTS:
        lines += [f"## {title}", "", " ".join((part.__doc__ or "").split()).replace("``", "`"), ""]
        lines += table(part)
        for enumeration in enumerations(part):
            lines += [f"`{member}`: {doc}" + "  " for member, doc in enumeration]
            lines.append("")
    lines += ["## Kinds of vendor that are installed", ""]
    lines += ["A vendor can name a kind instead: `kind: WORD` and that kind's own fields.", ""]
    for name, kind in sorted(load_plugins().vendor_kinds().items()):
        lines += [f"### `kind: {name}`", "", f"{kind.summary[:1].upper()}{kind.summary[1:]}.", ""]
        lines += table(kind.options)
        for part in parts_of(kind.options):
            lines += [f"#### {part.__name__}", "", (part.__doc__ or "").strip(), "", *table(part)]
    whole = (HERE / "parts" / "whole-order.yaml").read_text("utf-8")
    lines += ["## A whole order", "", "Everything in it is invented. `inkaccord check` finds it"]
    lines += ["in order as soon as the two PDFs are there.", "", "```yaml", whole.rstrip(), "```"]
    return "\n".join(lines).rstrip() + "\n"


def enumerations(part: type[BaseModel]) -> list[list[tuple[str, str]]]:
    """Return the documented members of every enumeration that a model's fields use."""
    found = []
    for field in part.model_fields.values():
        for member in members(annotation_of(field)):
            if isinstance(member, type) and issubclass(member, StrEnum):
                docs = member_docs(member)
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
        "## Exit codes",
        "",
        "Each means the same of every command: `check` ends as a run of the order would, save that "
        "it waits for nobody.",
        "",
        "| code | meaning |",
        "| --- | --- |",
        *(f"| {code} | {words} |" for code, words in MEANINGS.items()),
        "",
        "Of many orders (`run ORDER…`) the worst counts: 0, 3, 4, 2, 5, 1 is ever worse. What has "
        "2 or 5 was not run. 1 is a mistake of inkaccord's own, with a traceback to report.",
        "",
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


def form_of(node: Any, *, of: Any = None, named: bool = False) -> Any:
    """Return what of a schema binds whoever reads what it describes.

    That is all but its words, the values that are assumed where nothing is given, and the names of
    its parts, which stand where they are referred to. ``of`` is the whole schema, ``named`` says
    that the keys of ``node`` are names of fields.
    """
    of = node if of is None else of
    if isinstance(node, list):
        return [form_of(it, of=of) for it in node]
    if not isinstance(node, dict):
        return node
    if not named and "$ref" in node:
        return form_of(of["$defs"][node["$ref"].rpartition("/")[2]], of=of)
    return {
        key: form_of(item, of=of, named=key == "properties" and not named)
        for key, item in node.items()
        if named or key not in {"title", "description", "default", "$defs"}
    }


def run_forms(schema: dict[str, Any], number: int, frozen: dict[str, str]) -> dict[str, str]:
    """Return the digests of the record's forms by their numbers, with that of this schema.

    Raises SystemExit when the number has another form already: a frozen form stays as it is.
    """
    form = json.dumps(form_of(schema), sort_keys=True)
    digest = hashlib.sha256(form.encode()).hexdigest()
    if frozen.get(str(number), digest) != digest:
        raise SystemExit(
            f"run.json has another form than the one that is frozen as {number}: raise FORMAT in "
            "run/record.py, and say in docs/run-record.md what changed"
        )
    return frozen | {str(number): digest}


def pages() -> dict[str, str]:
    """Return every generated page by its name. Raises SystemExit as :func:`run_forms` does."""
    kinds = load_plugins().vendor_kinds()
    forms = run_forms(run_schema(), FORMAT, json.loads((HERE / FORMS).read_text("utf-8")))
    return {
        "job-file.md": job_file(),
        "commands.md": command_pages(),
        "order.schema.json": json.dumps(order_schema(kinds), ensure_ascii=False, indent=1) + "\n",
        "run.schema.json": json.dumps(run_schema(), ensure_ascii=False, indent=1) + "\n",
        FORMS: json.dumps(forms, indent=1) + "\n",
        "exports-tested.md": exports_page(),
        "pictures/house.svg": drawing(),
    }


if __name__ == "__main__":
    for page, text in pages().items():
        (HERE / page).write_text(text, "utf-8")
        print(f"wrote docs/{page}")
