"""Everybody's ways of writing are read, or answered with how to write it; editors agree."""

import datetime
import re

import jsonschema
import pytest
import yaml

from inkaccord.errors import OrderError
from inkaccord.order.annotations import annotation_of, members, models_in, reads_text
from inkaccord.order.loading import load_order
from inkaccord.order.model import Order
from inkaccord.order.schema import order_schema
from inkaccord.plugins import load_plugins
from inkaccord.units import inches, millimetres

GOOD = """\
order: evening
date: 2026-10-05
suites: 20
colours:
  kelp:
    aim: {lab: [33, -24, 4]}
    in_artwork: [cmyk 85 20 60 30, spot Kelp]
stocks:
  natural-cotton: {size: letter}
vendors:
  studio:
    delivers: sheets
    devices:
      laser: {sheets: [letter]}
pieces:
  card: {artwork: card.pdf, trim: 5in x 7in, device: laser, stock: natural-cotton}
"""
LAB = "aim: {lab: [33, -24, 4]}"
PAINTS = "in_artwork: [cmyk 85 20 60 30, spot Kelp]"
DEVICE = "laser: {sheets: [letter]}"


class EditorsLoader(yaml.SafeLoader):
    """YAML as an editor sees it, in which a date is text."""


EditorsLoader.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in rules if not tag.endswith("timestamp")]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


@pytest.fixture(scope="module")
def editor():
    """Return the mistakes that an editor marks in a text."""
    kinds = load_plugins().vendor_kinds()
    validator = jsonschema.Draft202012Validator(order_schema(kinds))
    return lambda text: [
        f"{'.'.join(map(str, it.path))}: {it.message}"
        for it in validator.iter_errors(yaml.load(text, EditorsLoader))  # noqa: S506
    ]


@pytest.fixture
def load(tmp_path):
    def load(*changes, kinds=None):
        text = GOOD
        for old, new in changes:
            assert old in text
            text = text.replace(old, new, 1)
        path = tmp_path / "order.yaml"
        path.write_text(text, "utf-8")
        return load_order(path, kinds or {}).order

    return load


@pytest.fixture
def refuse(load):
    def refuse(*changes, kinds=None):
        with pytest.raises(OrderError) as problem:
            load(*changes, kinds=kinds)
        return problem.value.findings

    return refuse


def lab(order):
    return order.colours["kelp"].aim.lab


def paints(order):
    return [str(paint) for paint in order.colours["kelp"].in_artwork]


def fold(order):
    return order.pieces["card"].fold


def piece(new):
    return ("stock: natural-cotton}", f"stock: natural-cotton, {new}}}")


READ = [
    # what stands in the file, as it is; what it becomes; who says so
    ((LAB, "aim: {lab: 42 58 30}"), lab, (42, 58, 30)),
    ((LAB, "aim:\n      lab: 42, 58, 30"), lab, (42, 58, 30)),
    ((LAB, "aim: {lab: 42.5/58/-30}"), lab, (42.5, 58, -30)),
    ((LAB, 'aim: {lab: "42,5 58,0 30"}'), lab, (42.5, 58, 30)),
    ((LAB, "aim: {lab: L42 a58 b-30}"), lab, (42, 58, -30)),
    ((LAB, "aim: {lab: lab 42 58 30}"), lab, (42, 58, 30)),
    ((LAB, 'aim: {lab: ["42,5", 58, \u221230]}'), lab, (42.5, 58, -30)),
    ((PAINTS, "in_artwork: [cmyk 2,8,45,0, spot Kelp]"), paints, ["cmyk 2 8 45 0", "spot Kelp"]),
    ((PAINTS, "in_artwork: cmyk 2,8,45,0"), paints, ["cmyk 2 8 45 0"]),
    ((PAINTS, "in_artwork: C2 M8 Y45 K0"), paints, ["cmyk 2 8 45 0"]),
    ((PAINTS, "in_artwork: [C=2 M=8 Y=45 K=0]"), paints, ["cmyk 2 8 45 0"]),
    ((PAINTS, "in_artwork: [M100 Y50]"), paints, ["cmyk 0 100 50 0"]),
    ((PAINTS, 'in_artwork: ["#FFE873"]'), paints, ["rgb 255 232 115"]),
    ((PAINTS, "in_artwork: '#ffe873'"), paints, ["rgb 255 232 115"]),
    ((PAINTS, "in_artwork: [2, 8, 45, 0]"), paints, ["cmyk 2 8 45 0"]),
    ((PAINTS, "in_artwork: [[2, 8, 45, 0]]"), paints, ["cmyk 2 8 45 0"]),
    ((PAINTS, "in_artwork: [{cmyk: [2, 8, 45, 0]}]"), paints, ["cmyk 2 8 45 0"]),
    ((PAINTS, "in_artwork: [rgb(20, 92, 78)]"), paints, ["rgb 20 92 78"]),
    ((PAINTS, "in_artwork: [“spot Kelp”]"), paints, ["spot Kelp"]),
    ((PAINTS, "in_artwork: [spot Kelp 40,5%]"), paints, ["spot Kelp 40.5%"]),
    ((PAINTS, "in_artwork: cmyk 2 8 45 0, spot Kelp"), paints, ["cmyk 2 8 45 0", "spot Kelp"]),
    ((PAINTS, "in_artwork:\n      -cmyk 2 8 45 0\n      -spot Kelp"), paints,
     ["cmyk 2 8 45 0", "spot Kelp"]),
    (piece("fold: vertical"), lambda o: (fold(o).line, fold(o).at), ("vertical", ())),
    (piece("fold: Horizontal"), lambda o: fold(o).line, "horizontal"),
    (piece("fold: {at: 4in}"), lambda o: fold(o).at, (inches(4),)),
    (piece("fold: 4in"), lambda o: fold(o).at, (inches(4),)),
    (piece("fold: {at: [2in, 4 in]}"), lambda o: fold(o).at, (inches(2), inches(4))),
    (("suites: 20", "suites: 1,000"), lambda o: o.suites, 1000),
    (piece("extra: 012"), lambda o: o.pieces["card"].extra, 12),
    (piece("bleed: 3 Millimeters"), lambda o: o.pieces["card"].bleed, millimetres(3)),
    (piece("bleed: ⅛\u00a0in"), lambda o: o.pieces["card"].bleed, inches(1 / 8)),
    (piece("addressed: yes"), lambda o: o.pieces["card"].addressed, True),
    (piece("sides: '2'"), lambda o: o.pieces["card"].sides, 2),
    (piece("bleed_repair: Mirror"), lambda o: o.pieces["card"].bleed_repair, "mirror"),
    (("5in x 7in", "5 x 7 inches"), lambda o: o.pieces["card"].trim.width_pt, 360),
    (("5in x 7in", "[5in, 7in]"), lambda o: o.pieces["card"].trim.width_pt, 360),
    (("5in x 7in", "{width: 5in, height: 7in}"), lambda o: o.pieces["card"].trim.width_pt, 360),
    (
        ("size: letter", "size: '#10 envelope'"),
        lambda o: o.stocks["natural-cotton"].size.width_pt,
        684,
    ),
    (("2026-10-05", "27.11.2026"), lambda o: o.date, datetime.date(2026, 11, 27)),
    (("2026-10-05", "11/27/2026"), lambda o: o.date, datetime.date(2026, 11, 27)),
    (("2026-10-05", "Nov. 27th, 2026"), lambda o: o.date, datetime.date(2026, 11, 27)),
    (("2026-10-05", "20261127"), lambda o: o.date, datetime.date(2026, 11, 27)),
    (("delivers: sheets", "overs: 5%"), lambda o: o.vendors["studio"].overs.percent, 5),
    (("delivers: sheets", "overs: {percent: '2,5 %'}"), lambda o: o.vendors["studio"].overs.percent,
     2.5),
    (("delivers: sheets", "title: 1.10"), lambda o: o.vendors["studio"].title, "1.10"),
    (("delivers: sheets", "pdf: {version: 2.0}"), lambda o: o.vendors["studio"].pdf.version, "2.0"),
    (("delivers: sheets", "pdf: {standard: PDF/X-4, output_profile: a.icc}"),
     lambda o: o.vendors["studio"].pdf.standard, "pdf/x-4"),
    ((DEVICE, "laser: {sheets: a4, turning: Work and turn}"),
     lambda o: (o.device("laser").sheets[0].in_mm, o.device("laser").turning),
     ((210, 297), "work-and-turn")),
    ((PAINTS, "in_artwork: [spot Kelp]  # was #FFE873"), paints, ["spot Kelp"]),
    ((DEVICE, "laser: {ink_limit: 260 %}"), lambda o: o.device("laser").ink_limit, 260),
    ((DEVICE, "laser: {drift_tolerance: '2,5'}"), lambda o: o.device("laser").drift_tolerance, 2.5),
]  # fmt: skip


@pytest.mark.parametrize(("change", "seen", "wanted"), READ, ids=[it[0][1] for it in READ])
def test_what_is_clear_is_read_and_editors_allow_it(load, editor, change, seen, wanted):
    assert seen(load(change)) == wanted
    assert editor(GOOD.replace(*change, 1)) == []


def test_a_kind_of_vendor_reads_the_same_ways(load, editor):
    shop = (
        "delivers: sheets\n    devices:\n      laser: {sheets: [letter]}",
        "kind: piece-shop\n    device: laser\n    overs: 5 %\n    stocks: natural-cotton\n"
        "    ink_limit: '280'",
    )
    order = load(shop, kinds=load_plugins().vendor_kinds())
    assert order.vendors["studio"].overs.percent == 5
    assert order.device("laser").stocks == ("natural-cotton",)
    assert editor(GOOD.replace(*shop)) == []


ASKED = [
    (("2026-10-05", "05.11.2026"), "can be 5 November 2026 or 11 May 2026: write 2026-11-05"),
    (("2026-10-05", "27.11.26"), "year-month-day, such as 2026-11-27"),
    (("2026-10-05", "2026-02-30"), "no calendar has"),
    (("suites: 20", "suites: 1.000"), "can be 1000 or 1"),
    (("suites: 20", "suites: twenty"), "not a whole number"),
    (("suites: 20", "suites: 2.5"), "not a whole number"),
    (("delivers: sheets", "overs: 5"), "percent or pieces: write '5%'"),
    ((DEVICE, "laser: {drift_tolerance: '1,250'}"), "can be 1250 or 1.250"),
    ((DEVICE, "laser: {drift_tolerance: 5%}"), "is not a number"),
    ((LAB, "aim: {lab: [42,5, 58, 30]}"), "3 numbers, such as 42 58 30"),
    ((LAB, "aim: {lab: deep green}"), "3 numbers, such as 42 58 30"),
    ((LAB, "aim: {lab: [142, 58, 30]}"), "at most 100"),
    ((LAB, "aim: lab"), "its own fields under it: lab, build, on, by_eye"),
    ((PAINTS, "in_artwork: [Kelp]"), "'spot Name'"),
    ((PAINTS, "in_artwork: [cmyk 85 20 60]"), "cmyk takes 4 numbers, not 3"),
    ((PAINTS, "in_artwork: []"), "is empty: expected a list"),
    ((PAINTS, "in_artwork: [#FFE873]"), 'write it in quotes: "#FFE873"'),
    ((PAINTS, "in_artwork: #FFE873"), 'write it in quotes: "#FFE873"'),
    ((PAINTS, "in_artwork: [spot Kelp: dark]"), "a name that holds a colon in quotes"),
    (piece("extra: 1,000"), "put a value that holds one in quotes"),
    (piece("finishing: fold, then tie"), "put a value that holds one in quotes"),
    (piece("fold: sideways"), "'vertical', 'horizontal' or"),
    (piece("fold: {at:4in}"), "put a space after the colon: 'at: 4in'"),
    (piece("pieces.card.waive.no-bleed: held"), "with dots stands at the left edge of the file"),
    (piece("sides: 3"), "expected 1 or 2"),
    (piece("addressed: maybe"), "expected true or false"),
    (piece("finishing:"), "nothing stands after it"),
    (("5in x 7in", "5 x 7"), "has no unit"),
    (("5in x 7in", "{w: 5in}"), "is not a size"),
]


@pytest.mark.parametrize(("change", "words"), ASKED, ids=[it[0][1] for it in ASKED])
def test_what_is_not_clear_is_answered_with_how_to_write_it(refuse, change, words):
    findings = refuse(change)
    assert len(findings) == 1, [str(finding) for finding in findings]
    assert words in f"{findings[0].message} ({findings[0].hint})"
    assert findings[0].place.line is not None


FORM = [
    # what is written, in which line it stands, what is said of it
    ("title: Members' evening: the lanterns", 1, 'write title: "Members\' evening: the lanterns"'),
    ("title: “Members' evening: lanterns”", 1, 'write title: "Members\' evening: lanterns"'),
    ("title: 'Members' evening'", 1, 'write title: "Members\' evening"'),
    ("title: @home", 1, 'write title: "@home"'),
    ("title: *stars*", 1, 'write title: "*stars*"'),
    ("title: 100% cotton: white  # as ever", 1, 'write title: "100% cotton: white"  # as ever'),
    ("keep: [spot Kelp: dark: green, gray 100]", 1,
     'write keep: ["spot Kelp: dark: green", gray 100]'),
    ("title:\tevening", 1, "put spaces instead"),
    ("tolerances:\n\tto_aim: 3", 2, "put spaces instead"),
    ("tolerances:\n\u00a0\u00a0to_aim: 3\n  between_pieces: 2", 2, "plain spaces"),
    ("title:evening", 1, "write title: evening"),
    ("tolerances\n  to_aim: 3", 1, "write tolerances:"),
    ("keep:\n  -gray 100\n  -rgb: 1 2 3", 3, "write - rgb: 1 2 3"),
    ("title: 'evening", 1, "the quote ' is not closed"),
    ("keep: [spot Kelp, gray 100", 1, "close it with ']'"),
    ("tolerances:\n    to_aim: 3\n  between_pieces: 2", 3, "begin in one column"),
]  # fmt: skip


@pytest.mark.parametrize(("written", "line", "words"), FORM, ids=[it[0] for it in FORM])
@pytest.mark.parametrize("before", ["", "suites: 20\n\n"])
def test_mistakes_of_form_show_the_line_mended(tmp_path, written, line, words, before):
    path = tmp_path / "order.yaml"
    path.write_text(f"order: evening\n{before}{written}\ndate: 2026-10-05\n", "utf-8")
    with pytest.raises(OrderError) as problem:
        load_order(path, {})
    (finding,) = [it for it in problem.value.findings if it.code != "missing-field"][:1]
    assert words in f"{finding.message} {finding.hint}"
    assert finding.place.line == 1 + before.count("\n") + line
    assert not LIBRARY_WORDS.search(f"{finding.message} {finding.hint}")


LIBRARY_WORDS = re.compile(
    r"\b(tuple|dict(ionary)?|instance|integer|string|float|bool(ean)?|NoneType|None|null|mapping|"
    r"model|validat\w*|valid|pydantic|input|type|parse\w*|scalar|token|iterable|"
    r"datetime|enum|class|key|attribute|argument)\b|[<>]|Paint|Build\b|_pt\b",
)
"""What no message says: the words of programs."""

WRONG = [
    "", "[]", "{}", "[[]]", "[a, b]", "{a: b}", "{a: {b: c}}", "some words", "0", "-1", "-1.5",
    "1e99", "true", "2026-10-05", "99999999999999999999", "'", "[1, 2, 3, 4, 5, 6]", ".inf", "5 x",
    "cmyk 900 0 0 0", "a@", "spot", "'  '", "lab 1", "[{}]", "0in x 5in", "-5in x 7in", "-1in",
    "0%", "500%", "rgb 300 0 0", "a@b", "spot '", "1/0in", "[0in x 5in]", "2026-13-45",
]  # fmt: skip


def paths_of(model, path=()):
    """Yield the path of every field below a model, through the parts that it holds."""
    for name, field in model.model_fields.items():
        here = (*path, name)
        yield here
        annotation = annotation_of(field)
        if reads_text(annotation):
            continue
        for member in members(annotation):
            inner = getattr(member, "__args__", (None, None))
            into = models_in(inner[1]) if getattr(member, "__origin__", None) is dict else []
            for found in into:
                yield from paths_of(found, (*here, "one"))
        for found in models_in(annotation):
            if found.__name__ not in {"Paint", "Build", "Pair", "Size"}:
                yield from paths_of(found, here)


def written(paths, text, indent=""):
    """Return the lines of an order that holds a text at each of some paths."""
    lines = []
    for part in dict.fromkeys(path[0] for path in paths):
        inner = [path[1:] for path in paths if path[0] == part and len(path) > 1]
        lines.append(f"{indent}{part}: {'' if inner else text}")
        lines += written(inner, text, indent + "  ")
    return lines


def orders(model):
    """Yield every field of a model, wrong: those without parts in one go, each other one alone."""
    paths = list(paths_of(model))
    parents = {path[:n] for path in paths for n in range(1, len(path))}
    below = [path for path in paths if path not in parents]
    for text in WRONG:
        yield text, written(below, text)
        yield from ((text, written([path], text)) for path in sorted(parents))


def unfit_words(findings, text):
    """Return what is said in the words of programs; names and values of the file aside."""
    for finding in findings:
        said = f"{finding.message} {finding.hint or ''}"
        if any(it in said for it in ("no field", "known here", "stands for nothing")):
            continue  # names of fields, as the file writes them
        said = re.sub(r"'[^']*'|\{[^}]*\}", "…", said.replace(text, "…") if text else said)
        if LIBRARY_WORDS.search(said):
            yield str(finding)


def findings_in(path, lines, kinds):
    path.write_text("\n".join([*lines, ""]), "utf-8")
    with pytest.raises(OrderError) as problem:  # for what is missing, at the least
        load_order(path, kinds)
    return problem.value.findings


@pytest.mark.slow
def test_no_message_speaks_the_library_s_language(tmp_path):
    """Every field of an order, with everything that can be wrong in it."""
    paths = set(paths_of(Order))
    assert len(paths) > 80
    assert ("vendors", "one", "devices", "one", "ink_limit") in paths
    fields = set()
    for text, lines in orders(Order):
        found = findings_in(tmp_path / "order.yaml", lines, {})
        fields |= {finding.place.field for finding in found}
        assert list(unfit_words(found, text)) == []
    told = {".".join(path) for path in paths}
    assert len(told & fields) > 0.8 * len(told)  # some fields take any text


@pytest.mark.parametrize("name", sorted(load_plugins().vendor_kinds()))
def test_no_kind_of_vendor_s_options_speak_it_either(tmp_path, name):
    kinds = load_plugins().vendor_kinds()
    for text, lines in orders(kinds[name].options):
        head = ["vendors:", "  shop:", f"    kind: {name}"]
        found = findings_in(tmp_path / "order.yaml", [*head, *(f"    {it}" for it in lines)], kinds)
        own = [it for it in found if (it.place.field or "").startswith("vendors.shop.")]
        assert list(unfit_words(own, text)) == []
