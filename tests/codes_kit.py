"""The codes of findings about artwork, read from the source: no new one can be forgotten."""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import inkaccord

CORE = Path(inkaccord.__file__).parent
PLUGINS = CORE.parents[1] / "plugins"
_NOT_OF_ARTWORK = ("_dask", "_readings_scan", "_readings_tables")
ROOMS = ("artwork", "pdf", "foresight", "prepress")
"""Rooms that say something about artwork, beside the plugins."""
OF_THE_ORDER_ALONE = {
    "annotations-flattened", "ask-the-post", "bad-value", "beside-envelope", "field-outside",
    "file-incomplete", "file-name-twice", "flap-depth-unknown", "flap-leads", "marks-cost-paper",
    "no-page", "no-pages", "no-room-on-sheet", "no-such-colour", "no-such-column",
    "no-such-page",
    "no-such-side", "no-such-typeface", "records-need-two-formes", "records-not-laid",
    "stock-not-a-sheet", "no-colour-yet", "tight-envelope", "trim-not-stock",
}  # fmt: skip
"""What those rooms say of an order or a print file, whatever its artwork is."""
_CODE = re.compile(r"[a-z]+(-[a-z0-9]+)*")
_SAY = {"error", "warning", "note", "Diagnostic"}


@dataclass(frozen=True)
class Said:
    """A call that says a finding."""

    place: str
    codes: frozenset[str]
    """Empty where the code is handed in from elsewhere."""
    in_program: bool
    """Whether it says by itself what to do in the program."""


def all_said() -> Iterator[Said]:
    """Yield every call that says a finding about artwork."""
    paths = [path for room in ROOMS for path in sorted((CORE / room).rglob("*.py"))]
    paths += [CORE / "layout/feeding.py", CORE / "layout/sources.py"]
    plugins = (it for it in sorted(PLUGINS.iterdir()) if not it.name.endswith(_NOT_OF_ARTWORK))
    paths += [path for plugin in plugins for path in sorted(plugin.rglob("*.py"))]
    for path in paths:
        module = ast.parse(path.read_text("utf-8"))
        constants = dict(_constants(module))
        for call in (node for node in ast.walk(module) if isinstance(node, ast.Call)):
            code = next((it.value for it in call.keywords if it.arg == "code"), None)
            code = code or next(iter(call.args), None)
            if code is None:
                continue
            codes = _texts(code, constants)
            name = getattr(call.func, "attr", getattr(call.func, "id", ""))
            if name not in _SAY:  # another name for one of them: a code, then a message
                codes = {it for it in codes if "-" in it and any(map(_is_text, call.args[1:2]))}
            if codes or name in _SAY:
                told = {it.arg for it in call.keywords if _is_words(it.value)}
                place = f"{path.name}:{call.lineno}"
                yield Said(place, frozenset(codes), "in_program" in told)


def _constants(module: ast.Module) -> Iterator[tuple[str, ast.expr]]:
    for node in module.body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None:
            for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
                if isinstance(target, ast.Name):
                    yield target.id, node.value


def _texts(value: ast.expr, constants: dict[str, ast.expr]) -> set[str]:
    """Return the codes that an expression can be."""
    if isinstance(value, ast.Constant):
        text = value.value
        return {text} if isinstance(text, str) and _CODE.fullmatch(text) else set()
    if isinstance(value, ast.Name | ast.Subscript):
        name = value.value if isinstance(value, ast.Subscript) else value
        return _texts(constants[name.id], {}) if getattr(name, "id", "") in constants else set()
    if isinstance(value, ast.IfExp):
        return _texts(value.body, constants) | _texts(value.orelse, constants)
    if isinstance(value, ast.Dict):
        return {text for one in value.values for text in _texts(one, {})}
    return set()


def _is_text(value: ast.expr) -> bool:
    """Whether an argument is a message, or may be one."""
    if isinstance(value, ast.Constant):
        return isinstance(value.value, str) and " " in value.value
    return isinstance(
        value, ast.JoinedStr | ast.BinOp | ast.IfExp | ast.Name | ast.Call | ast.Subscript
    )


def _is_words(value: ast.expr) -> bool:
    """Whether an argument says something, whatever comes."""
    if isinstance(value, ast.BoolOp):  # such words, or others
        return _is_words(value.values[-1])
    return isinstance(value, ast.Constant | ast.JoinedStr | ast.Name)
