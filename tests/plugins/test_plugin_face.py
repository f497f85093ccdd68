"""The one module that a plugin imports: what it promises is there, is listed, and is enough."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import inkaccord
from inkaccord import plugin

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "plugins.md").read_text("utf-8")
SKELETON = sorted((Path(inkaccord.__file__).parent / "starter" / "plugin").glob("*.py.txt"))
IMPORTS = re.compile(r"^\s*(?:from|import) (inkaccord[\w.]*)(?: import (\w+))?", re.MULTILINE)


def test_every_name_is_there_and_is_its_own_module_s():
    for name in plugin.__all__:
        assert getattr(plugin, name) is not None, name
    with pytest.raises(AttributeError, match="no attribute 'press_secrets'"):
        plugin.press_secrets  # noqa: B018 - asking is the point


def test_every_name_is_listed_for_authors_and_no_other():
    listed = PAGE.partition("## Names")[2].partition("\n## ")[0]
    assert set(re.findall(r"`(\w+)`", listed)) == {*plugin.__all__}


@pytest.mark.parametrize("file", [*SKELETON, ROOT / "docs" / "plugins.md"], ids=lambda it: it.name)
def test_what_we_show_authors_imports_nothing_else(file):
    text = file.read_text("utf-8")
    if file.suffix == ".md":
        text = "\n".join(text.split("```python\n")[1:])
    for module, name in IMPORTS.findall(text):
        whole = f"{module}.{name}" if module == "inkaccord" else module
        assert whole in {"inkaccord.plugin", "inkaccord.testing"}, whole


def test_a_plugin_costs_a_command_nothing_that_it_does_not_use():
    code = "import sys, inkaccord.plugin; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    assert not {"scipy", "colour", "reportlab", "sqlalchemy", "zxingcpp"} & {*loaded}
