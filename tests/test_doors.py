"""No door leads nowhere: what the house offers, an order, a command or a plugin reaches.

A name counts as used when the program, the bundled plugins, the examples, the makers of the docs
or a template of ours says it; tests do not count. What is left over needs a reason here.
"""

import ast
import re
import typing
from functools import cache
from pathlib import Path

import pytest
from pydantic import BaseModel
from vulture import Vulture

import inkaccord
from inkaccord.order.model import Order

ROOT = Path(__file__).parents[1]
CORE = Path(inkaccord.__file__).parent
HOMES = [CORE, ROOT / "plugins", ROOT / "jobs_example", ROOT / "docs"]
DECORATED = [  # what pluggy, click and pydantic call
    "@hookimpl", "@hookspec", "@*.command", "@field_validator", "@model_validator",
    "@model_serializer",
]  # fmt: skip

REACHED = {
    "set on an object of a library": [
        "_safe_to_dynamically_spawn_children", "compress_type", "create_system", "external_attr",
        "globals", "short_help", "stream_dict", "useA85", "writeable",
    ],
    "read by Alembic": ["down_revision", "revision"],
    "asked for by pickle": ["persistent_id", "persistent_load"],
    "asked for by click or pydantic": ["format_commands", "list_commands", "model_config"],
    "a field of what a command or run.json says": [
        "aim_uncertainty",
    ],
    "a word of the order whose opposite the code asks for": [
        "CARD", "FOIL", "LETTERPRESS", "NEW_SHEET", "SHORT", "VARNISH",
    ],
    "for the tests of plugins": [
        "assert_boxes", "assert_builds", "order_with_vendor", "read_on_plain_press",
    ],
}  # fmt: skip
ASKED_IN_ORDER = {
    "Folding": {"panels", "tuck"},
    "Order": {"neutrals", "quotes"},
    "Overs": {"at_least", "percent"},
    "Piece": {"extra", "neutrals"},
    "Prices": {"by_piece", "by_stock", "delivery", "setup"},
    "PriceTable": {"setup"},
    "SamplePrices": {"delivery", "setup"},
    "Vendor": {"file_name"},
}
"""Fields that only order/ reads, in a property or method that others ask."""


@cache
def trees():
    return {path: ast.parse(path.read_text("utf-8")) for home in HOMES for path in python_in(home)}


def python_in(home):
    return sorted(path for path in home.rglob("*.py") if "__pycache__" not in path.parts)


@cache
def said_in_templates():
    texts = (path.read_text("utf-8") for path in CORE.rglob("*.html"))
    return frozenset(word for text in texts for word in re.findall(r"[A-Za-z_]\w+", text))


@cache
def unused():
    found = Vulture(ignore_decorators=DECORATED, ignore_names=["__*__"])
    found.scavenge([str(home) for home in HOMES])
    return {
        item.name: f"{Path(item.filename).relative_to(ROOT)}:{item.first_lineno}"
        for item in found.get_unused_code()
        if item.name not in said_in_templates()
    }


@pytest.mark.slow
def test_every_name_has_a_caller_or_a_reason():
    reached = {name for names in REACHED.values() for name in names}
    alone = {name: where for name, where in unused().items() if name not in reached}
    assert alone == {}, "give it a caller, remove it, or say here who calls it"


@pytest.mark.slow
def test_no_reason_outlives_what_it_was_for():
    reached = {name for names in REACHED.values() for name in names}
    assert reached - set(unused()) == set()


def order_models():
    """Return every model that an order is made of."""
    todo, found = [Order], []
    while todo:
        part = todo.pop()
        todo += typing.get_args(part)
        if isinstance(part, type) and issubclass(part, BaseModel) and part not in found:
            found.append(part)
            todo += [field.annotation for field in part.model_fields.values()]
    return [model for model in found if model.__module__.startswith("inkaccord.order")]


@cache
def read_outside_the_order():
    """Return every attribute that is read outside order/, and every word in the templates."""
    read = {
        node.attr
        for path, tree in trees().items()
        if CORE / "order" not in path.parents
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load)
    }
    return read | said_in_templates()


@pytest.mark.slow
@pytest.mark.parametrize("model", order_models(), ids=lambda model: model.__name__)
def test_every_field_of_an_order_is_read_outside_order(model):
    asked = {"kind"} | ASKED_IN_ORDER.get(model.__name__, set())
    unread = set(model.model_fields) - read_outside_the_order() - asked
    assert unread == set(), "a field that changes nothing misleads who sets it"


OPTIONS = {
    "for the tests of plugins": ["draw_artwork.bleed_in"],
    "a bound that tests draw tighter, to be quick": [
        "Catalogue.work", "Database.wait_s", "prove.render", "prove_photographs.render",
        "wait_for_change.pause_s",
    ],
    "handed on by Bench.recall": ["impose_sheets.rules", "lay_out.rules"],
}  # fmt: skip
"""Options that no call of the house sets by name or place."""


@cache
def calls():
    """Return every keyword that a call says, and the most places that a call of a name fills."""
    keywords, places = set(), {}
    for tree in trees().values():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                keywords.update(keyword.arg for keyword in node.keywords)
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                starred = any(isinstance(arg, ast.Starred) for arg in node.args)
                places[name] = max(places.get(name, 0), 99 if starred else len(node.args))
    return keywords, places


def options_of(tree):
    """Yield each option of each function: the name it is called by, the option and its place."""
    for owner in ast.walk(tree):
        for node in ast.iter_child_nodes(owner):
            if isinstance(node, ast.FunctionDef):
                asked = node.args
                name = owner.name if node.name == "__init__" else node.name
                listed = [arg.arg for arg in asked.posonlyargs + asked.args]
                listed = listed[listed[:1] in (["self"], ["cls"]) :]
                first = len(listed) - len(asked.defaults)
                yield from ((name, arg, at) for at, arg in enumerate(listed) if at >= first)
                named = zip(asked.kwonlyargs, asked.kw_defaults, strict=True)
                yield from ((name, arg.arg, 99) for arg, default in named if default is not None)


@pytest.mark.slow
def test_every_option_of_a_function_is_set_by_a_call_or_has_a_reason():
    keywords, places = calls()
    unset = {
        f"{name}.{option}"
        for path, tree in trees().items()
        if CORE in path.parents
        for name, option, at in options_of(tree)
        if option not in keywords and places.get(name, 0) <= at
    }
    assert unset == {option for options in OPTIONS.values() for option in options}
