"""Names: 'it' is no name for anything that lives longer than a line."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
COMPREHENSIONS = (ast.ListComp, ast.SetComp, ast.DictComp, ast.GeneratorExp)


def named_it(tree):
    """Yield the lines where 'it' is bound for longer than the line that binds it."""
    within = {
        name
        for node in ast.walk(tree)
        if isinstance(node, (*COMPREHENSIONS, ast.Lambda)) and node.lineno == node.end_lineno
        for name in ast.walk(node)
    }
    for node in ast.walk(tree):
        stored = isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
        name = node.id if stored else getattr(node, "arg", None)
        if name == "it" and node not in within and (stored or isinstance(node, ast.arg)):
            yield node.lineno


@pytest.mark.slow
@pytest.mark.parametrize("home", ["runner", "plugins", "jobs_example", "docs"])
def test_it_lives_for_a_line(home):
    long = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in sorted((ROOT / home).rglob("*.py"))
        for line in named_it(ast.parse(path.read_text("utf-8")))
    ]
    assert long == []


def test_in_a_template_too():
    long = [
        f"{path.relative_to(ROOT)}: {loop[:60]}"
        for path in sorted((ROOT / "runner").rglob("*.html"))
        for loop in re.findall(r"{% (?:for|set) it\b.*", path.read_text("utf-8"))
        if loop.startswith("{% set") or "endfor" not in loop
    ]
    assert long == []
