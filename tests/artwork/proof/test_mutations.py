"""Break the recolourer on purpose, and count the wrong files that the proof lets through: none.

Each part of the recolourer is changed in one place at a time (a number, a sign, a comparison, a
condition) and run by itself, while the proof uses the code as it is. A mutant counts when its file
looks otherwise than the right one in PDFium; it must be refused with an error or fail the proof.
"""

import ast
import contextlib
import copy
import hashlib
import importlib
import importlib.util
import io
import signal
import sys
from collections.abc import Iterator
from functools import cache, lru_cache
from pathlib import Path
from time import process_time
from typing import Any

import numpy as np
import pikepdf
import pytest

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import (
    RecolourOptions,
    recolour,
)
from inkaccord.artwork.roles import Role
from inkaccord.errors import FileError
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.entries import entry
from mutation_kit import SWAPS, cases
from page_kit import unblended

pytestmark = pytest.mark.slow

MOST = 20
SMOKE = 2
ENDLESS, ENDLESS_S = 50, 10
"""How many times as long as the recolourer, and a second, a mutant takes before it is endless, and
at most how many seconds."""
SEEN = 5
"""Steps of 255 by which a picture must differ to be another."""
_ARTWORK = "inkaccord.artwork."
_ROOM = _ARTWORK + "recolouring."
_COLOURS = "inkaccord.pdf.colours."
_CONTENT = _ARTWORK + "content."
PARTS = [
    _ROOM + "conversion", _ROOM + "gradients", _ROOM + "fields", _ROOM + "recolourer",
    _ROOM + "resources", _ROOM + "pictures", _ROOM + "rewriting", _ROOM + "masks",
    _ROOM + "stops", _ROOM + "flights", _ROOM + "variants",
    _ROOM + "ink_gradients", _ROOM + "ink_mixtures", _ROOM + "mixture_spaces",
    _ROOM + "ink_pictures", _ROOM + "ink_spaces", _ROOM + "edits", _ROOM + "default_spaces",
    _CONTENT + "interpreter", _CONTENT + "pens", _CONTENT + "steps", _CONTENT + "traverse",
    _CONTENT + "scan", _CONTENT + "graphics_state", _CONTENT + "operators", _CONTENT + "switches",
    _ARTWORK + "swap_table", _ARTWORK + "kept_inks", _ARTWORK + "mixing", _ARTWORK + "flights",
    _ARTWORK + "lines", _ARTWORK + "by_look", _COLOURS + "ramps", _COLOURS + "meshes",
    _COLOURS + "functions", _COLOURS + "sections", _COLOURS + "space_reader", _COLOURS + "spaces",
    _COLOURS + "shadings", _COLOURS + "calculator", _COLOURS + "scope",
]  # fmt: skip
UNCOUNTED = {
    _ROOM + "absent": "says which colours that were asked for a file lacks",
    _ROOM + "leftovers": "says which plates a file still names, and takes none away",
    _ROOM + "oddities": "puts findings into words",
    _ROOM + "recolour": "calls the others in turn",
    _ROOM + "unhandled": "says what is left alone",
    _CONTENT
    + "reading": "holds what the interpreter found; edits are made as in recolouring.edits",
    _CONTENT + "walk": "tells the colours of a file to inventory and proof, and writes nothing",
    _COLOURS + "alternates": "tells people what spots look like",
    _COLOURS + "colours": "names colours for people",
    _COLOURS + "profiles": "reads profiles; held to LittleCMS in tests/colour",
    _ARTWORK + "advice": "words for people",
    _ARTWORK + "contradictions": "says which swaps can't be made, and makes none",
    _ARTWORK + "made_with": "tells the program that made a file, for words",
    _ARTWORK + "one_file": "calls recolouring and proof in turn",
    _ARTWORK + "pixels": "tells pixels apart for photographs, which have a proof of their own",
    _ARTWORK + "plate_copies": "makes copies to draw, none to print",
    _ARTWORK + "plates": "tells the inks of a file, and writes nothing",
    _ARTWORK + "profiled": "names what is asked about profiles",
    _ARTWORK + "programs": "names kinds of programs",
    _ARTWORK + "rewritten": "tells colours that stay, for words",
    _ARTWORK + "roles": "names what colours are used for",
    _ARTWORK + "swaps": "holds what was asked: recolouring and proof are given the same values",
    _ARTWORK + "taking_up": "lines to paste into an order",
    _ARTWORK + "two_plates": "tells plates that a file has twice, for words",
}
"""Modules beside the recolourer's parts, and why no mutant of theirs makes another file.

What finishes a copy, or matches its photographs, is not among them: each has a proof of its own.
"""
_ANEW = (
    _ROOM[:-1], _CONTENT[:-1], _COLOURS[:-1], _ARTWORK + "swap_table", _ARTWORK + "kept_inks",
    _ARTWORK + "mixing", _ARTWORK + "by_look", _ARTWORK + "flights", _ARTWORK + "lines",
)  # fmt: skip
"""How the names of modules begin that are loaded anew beside a mutant: all that may rest on it."""

# -- mutants ----------------------------------------------------------------------------------

_OTHERS: dict[type, type] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn,
    ast.NotIn: ast.In, ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.And: ast.Or, ast.Or: ast.And, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip


def _changes(node: ast.AST) -> Iterator[tuple[str, Any]]:
    """Yield the field of a node that can be changed, and to what."""
    if isinstance(node, ast.Compare) and type(node.ops[0]) in _OTHERS:
        yield "ops", [_OTHERS[type(node.ops[0])](), *node.ops[1:]]
    elif isinstance(node, (ast.BinOp, ast.BoolOp)) and type(node.op) in _OTHERS:
        yield "op", _OTHERS[type(node.op)]()
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield "value", node.value + 1
    elif isinstance(node, ast.Constant) and type(node.value) is bool:
        yield "value", not node.value
    elif isinstance(node, (ast.IfExp, ast.If)):
        yield "test", ast.UnaryOp(op=ast.Not(), operand=node.test)
    elif isinstance(node, ast.Call) and ast.unparse(node.func) in ("min", "max"):
        other = {"min": "max", "max": "min"}[ast.unparse(node.func)]
        yield "func", ast.Name(id=other, ctx=ast.Load())


def _mutants(source: str) -> Iterator[tuple[str, range, ast.Module]]:
    """Yield mutants of a module in an order that is mixed, and the same on every machine.

    Each comes with what was changed, in words, and the lines of the statement that holds it: none
    outside of functions.
    """
    tree = ast.parse(source)
    statements = _statements(tree)
    places = [
        (number, field, new)
        for number, node in enumerate(ast.walk(tree))
        for field, new in _changes(node)
    ]
    places.sort(key=lambda place: hashlib.sha256(f"{place[0]} {place[1]}".encode()).digest())
    for number, field, new in places:
        mutant = copy.deepcopy(tree)
        node = next(one for i, one in enumerate(ast.walk(mutant)) if i == number)
        before = ast.unparse(node)
        setattr(node, field, new)
        line = getattr(node, "lineno", 0)
        words = f"line {line}: {before} -> {ast.unparse(node)}"
        yield words, statements.get(number, range(0)), ast.fix_missing_locations(mutant)


def _statements(tree: ast.Module) -> dict[int, range]:
    """Return the lines of the statement in a function that holds each node, by its number."""
    lines = {}
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            for statement in (one for top in function.body for one in ast.walk(top)):
                if isinstance(statement, ast.stmt):  # outer ones first
                    span = _span(statement)
                    lines.update({id(part): span for part in ast.walk(statement)})
    return {at: lines[id(node)] for at, node in enumerate(ast.walk(tree)) if id(node) in lines}


def _span(statement: ast.stmt) -> range:
    """Return the lines of a statement; of one that holds others in one body those before them."""
    first = min([one.lineno for one in (statement, *getattr(statement, "decorator_list", ()))])
    last = statement.end_lineno or first
    if isinstance(statement, (ast.FunctionDef, ast.If, ast.For, ast.While, ast.With)):
        last = max(statement.lineno, statement.body[0].lineno - 1)
    return range(first, last + 1)


def _loaded(part: str, tree: ast.Module) -> Any:
    """Return ``recolour`` built on a mutant of one module; what is loaded else stays as it is."""
    own = [name for name in sys.modules if name.startswith(_ANEW)]
    kept = {name: sys.modules.pop(name) for name in own}
    try:
        spec = importlib.util.find_spec(part)
        assert spec is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[part] = module
        exec(compile(tree, part, "exec"), module.__dict__)  # noqa: S102 - our own source, changed
        return importlib.import_module(_ROOM + "recolour").recolour
    finally:
        for name in [n for n in sys.modules if n.startswith(_ANEW)]:
            del sys.modules[name]
        sys.modules.update(kept)


def _picture(data: bytes) -> Any:
    """Return what a file looks like, and what its pictures can't show: switches and entries."""
    return unblended(data).astype(int), _unseen(data)


def _unseen(data: bytes) -> list[str]:
    """Return how marks overprint, what comments and fields say, and default colour spaces."""
    found = []
    with pikepdf.open(io.BytesIO(data)) as pdf:
        marks: list[Mark] = []
        reader = PageReader(pdf, marks.append)
        for page in pdf.pages:
            reader.read_page(page, page_boxes(page))
            for note in page.obj.get("/Annots", []):
                look = note.get("/MK", pikepdf.Dictionary())
                values = [note.get(key) for key in ("/C", "/IC", "/DA")]
                values += [look.get(key) for key in ("/BG", "/BC")]
                found.append(" ".join(_rounded(one) for one in values if one is not None))
        # The mode means nothing to pictures (ISO 32000-2, 8.6.7).
        modes = ["" if one.role is Role.IMAGE else one.overprint_mode for one in marks]
        found += [
            f"{one.role} {one.overprint} {mode}" for one, mode in zip(marks, modes, strict=True)
        ]
        found += [key for one in pdf.objects for key in _default_spaces(one)]
    return found


def _default_spaces(thing: Any) -> Iterator[str]:
    """Yield the default colour spaces of an object's resources, which PDFium leaves out."""
    spaces = entry(entry(thing, "/Resources"), "/ColorSpace")
    yield from (key for key in (spaces.keys() if spaces is not None else ()) if "Default" in key)


def _rounded(value: Any) -> str:
    if isinstance(value, pikepdf.Array):
        return " ".join(f"{float(one):.2f}" for one in value)
    return " ".join(f"{float(w):.2f}" if w[:1].isdigit() else w for w in str(value).split())


@cache
def _right() -> tuple[tuple[bytes, Any, float], ...]:
    """Return of each case the right file, its picture, and how long a mutant may take for it."""
    found = []
    for source, options in cases():
        start = process_time()
        data = recolour(source, SWAPS, options=options).data
        most = min(1 + ENDLESS * (process_time() - start), ENDLESS_S)
        found.append((data, _picture(data), most))
    return tuple(found)


def _slips(part: str, most: int) -> tuple[int, list[str]]:
    """Return how many mutants of a part gave another picture, and those that the proof passed."""
    wrong, slipped = 0, []
    for words, lines, tree in _mutants(_file_of(part).read_text("utf-8")):
        seen = _seen(part, lines, tree)
        if seen is None:
            continue
        wrong += 1
        if seen:
            slipped.append(f"{part} {words}")
        if wrong == most:
            break
    return wrong, slipped


class _TooLongError(BaseException):
    """A mutant runs on and on; no ``except Exception`` of its own may catch that."""


@contextlib.contextmanager
def _stopped_if_endless(seconds: float) -> Iterator[None]:
    """Raise after so much processor time that only an endless mutant takes it."""

    def stop(*_: object) -> None:
        raise _TooLongError

    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        with contextlib.suppress(Exception, _TooLongError):  # a mutant may raise anything
            yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


@cache
def _run() -> tuple[frozenset[tuple[str, int]], ...]:
    """Return for each case the lines that recolouring runs: files and their numbers."""
    part, found = _ROOM + "recolour", []
    files = {str(_file_of(part)) for part in PARTS}
    for source, options in cases():
        fresh = _loaded(part, ast.parse(_file_of(part).read_text("utf-8")))  # nothing remembered
        lines: set[tuple[str, int]] = set()

        def note(frame: Any, _: str, __: object, lines: set[tuple[str, int]] = lines) -> Any:
            file = frame.f_code.co_filename
            if file not in files:
                return None
            lines.add((file, frame.f_lineno))
            return note

        before = sys.gettrace()
        sys.settrace(note)
        try:
            fresh(source, SWAPS, options=options)
        finally:
            sys.settrace(before)
        found.append(frozenset(lines))
    return tuple(found)


def _file_of(part: str) -> Path:
    spec = importlib.util.find_spec(part)
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin)


def _seen(part: str, lines: range, tree: ast.Module) -> bool | None:
    """Whether the proof passed a file that looks wrong; None if none of them looks so."""
    result: bool | None = None
    changed = {(str(_file_of(part)), line) for line in lines}
    with contextlib.suppress(Exception):  # a mutant that can't be loaded makes no file
        mutant = _loaded(part, tree)
        for (source, options), (right, picture, most), run in zip(
            cases(), _right(), _run(), strict=True
        ):
            if changed and changed.isdisjoint(run):
                continue
            made = None
            with _stopped_if_endless(most):  # it makes no file then
                made = mutant(source, SWAPS, options=options)
            if made is None or made.data == right or not _looks_otherwise(made.data, picture):
                continue
            result = bool(result) or not (made.errors or _refused(source, made.data, options))
    return result


@lru_cache(1000)
def _refused(source: bytes, made: bytes, options: RecolourOptions) -> bool:
    """Whether the proof stops a file; many mutants make the same one."""
    return not prove(source, made, SWAPS, options, render=False).passed


def _looks_otherwise(data: bytes, picture: Any) -> bool:
    try:
        (now, now_unseen), (was, unseen) = _picture(data), picture
        return bool(np.abs(now - was).max() > SEEN) or now_unseen != unseen
    except (FileError, ValueError):
        return True


def test_every_part_of_the_recolourer_is_counted_or_changes_no_ink() -> None:
    folders = (_ROOM, _CONTENT, _COLOURS, _ARTWORK)
    found = {
        folder + file.stem
        for folder in folders
        for file in _file_of(folder[:-1]).parent.glob("*.py")
        if file.stem != "__init__"
    }
    assert found == {*PARTS, *UNCOUNTED}
    assert not set(PARTS) & set(UNCOUNTED)


def test_a_mutant_is_tried_where_its_statement_runs() -> None:
    source = """
def told(x, y=7):
    if (
        x > 1
    ):
        return [
            2,
        ]
    try:
        return 3
    except KeyError:
        return 4
"""
    lines = {what: list(span) for what, span, _ in _mutants(source) if "\n" not in what}
    assert lines == {
        "line 2: 7 -> 8": [],  # as it is loaded
        "line 4: x > 1 -> x <= 1": [3, 4, 5],
        "line 4: 1 -> 2": [3, 4, 5],
        "line 7: 2 -> 3": [6, 7, 8],
        "line 10: 3 -> 4": [10],
        "line 12: 4 -> 5": [12],
    }


def test_a_few_mutants_are_caught() -> None:
    wrong, slipped = _slips(_ROOM + "stops", SMOKE)
    assert wrong == SMOKE
    assert not slipped


@pytest.mark.parametrize("part", PARTS)
def test_no_mutant_gets_past_the_proof(part: str) -> None:
    wrong, slipped = _slips(part, MOST)
    assert wrong >= MOST // 4, "too few mutants gave another picture to say anything"
    assert not slipped
