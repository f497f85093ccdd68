"""The house keeps its rules: how heavy --help is, what the docs say. Imports: import-linter."""

import ast
import doctest
import importlib
import re
import subprocess
import sys
import tomllib
from collections import defaultdict
from pathlib import Path

import pytest
import yaml

import inkaccord
from inkaccord.cli.main import COMMANDS
from inkaccord.errors import MEANINGS, ExitCode
from inkaccord.hooks import Specifications
from inkaccord.testing import draw_artwork

ROOT = Path(__file__).parents[1]
CORE = Path(inkaccord.__file__).parent
HOOKS = [name for name in vars(Specifications) if name.startswith("inkaccord_")]


def loaded_by(*words):
    code = (
        "import sys; from inkaccord.cli.main import run_main; "
        f"run_main({list(words)!r}); print(' '.join(sorted(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stderr.split())


@pytest.mark.parametrize("words", ["--help", "--version", "record --help", "controls --help"])
def test_help_and_version_load_nothing_heavy(words):
    assert not loaded_by(*words.split()) & {
        "numpy",
        "colour",
        "reportlab",
        "pikepdf",
        "sqlalchemy",
        "scipy",
    }


def test_check_loads_no_shelf_and_no_colour_science():
    modules = loaded_by("check", str(ROOT / "jobs_example" / "members_evening"))
    assert "pikepdf" in modules
    assert not modules & {"colour", "scipy", "sqlalchemy"}


@pytest.mark.parametrize("words", ["shelf --shelf none.sqlite list", "samples ORDER"])
def test_what_a_shelf_lists_loads_no_numbers(words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    order = str(ROOT / "jobs_example" / "first_order")
    modules = loaded_by(*words.replace("ORDER", order).split())
    assert "sqlalchemy" in modules
    assert not modules & {"numpy", "scipy", "pikepdf"}


def test_colours_of_a_plain_file_load_no_order_no_swaps_and_nothing_for_pictures(tmp_path):
    (tmp_path / "card.pdf").write_bytes(draw_artwork())
    modules = loaded_by("colours", str(tmp_path / "card.pdf"))
    assert {"numpy", "inkaccord.artwork.inventory.inventory"} <= modules
    assert not modules & {
        "PIL",
        "scipy",
        "yaml",
        "inkaccord.order",
        "inkaccord.artwork.swap_table",
        "inkaccord.artwork.inventory.nearest",
    }


def test_no_plugin_of_another_library_is_looked_for(tmp_path, monkeypatch):
    told = tmp_path / "spies-1.dist-info"
    told.mkdir()
    (told / "METADATA").write_text("Metadata-Version: 2.1\nName: spies\nVersion: 1\n", "utf-8")
    (told / "entry_points.txt").write_text("[pydantic]\nspy = spies:spy\n", "utf-8")
    (tmp_path / "spies.py").write_text("spy = None\n", "utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.delenv("PYDANTIC_DISABLE_PLUGINS", raising=False)
    assert "spies" not in loaded_by("schema", "order")


@pytest.mark.slow
@pytest.mark.parametrize("name", ["members_evening", "first_order"])
def test_the_example_orders_are_in_order(name):
    done = subprocess.run(
        [sys.executable, "-m", "inkaccord.cli.main", "check", str(ROOT / "jobs_example" / name)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == ExitCode.DONE, done.stderr


def test_the_generated_pages_are_up_to_date():
    sys.path.insert(0, str(ROOT / "docs"))
    try:
        import generate
    finally:
        sys.path.pop(0)
    stale = [
        page
        for page, text in generate.pages().items()
        if not (ROOT / "docs" / page).exists() or (ROOT / "docs" / page).read_text("utf-8") != text
    ]
    assert stale == [], "run python docs/generate.py"


def test_the_examples_in_docstrings_come_out_as_they_say():
    tried = 0
    for path in CORE.rglob("*.py"):
        if ">>> " in path.read_text("utf-8"):
            dotted = ".".join(path.relative_to(CORE.parent).with_suffix("").parts)
            result = doctest.testmod(importlib.import_module(dotted))
            assert result.failed == 0, dotted
            tried += result.attempted
    assert tried


@pytest.mark.parametrize("hook", HOOKS)
def test_every_hook_is_documented_and_used(hook):
    """That each is called in a run: tests/cli/test_plugins_in_a_run.py."""
    assert hook in (ROOT / "docs" / "plugins.md").read_text("utf-8")
    users = [
        path
        for folder in (CORE / "stages", CORE / "report", ROOT / "plugins")
        for path in folder.rglob("*.py")
        if f"def {hook}(" in path.read_text("utf-8")
    ]
    assert users, "no plugin uses it"


def test_every_command_is_in_the_reference():
    text = (ROOT / "docs" / "commands.md").read_text("utf-8")
    for command in COMMANDS:
        assert f"## inkaccord {command}" in text


def test_every_exit_code_is_documented():
    text = (ROOT / "docs" / "commands.md").read_text("utf-8")
    for code in ExitCode:
        assert f"| {int(code)} | {MEANINGS[str(int(code))]} |" in text


def test_yaml_in_the_docs_is_yaml():
    for path in [ROOT / "README.md", *(ROOT / "docs").glob("*.md")]:
        parts = path.read_text("utf-8").split("```yaml\n")[1:]
        for part in parts:
            yaml.safe_load(part.split("```")[0])


def test_links_between_the_pages_lead_somewhere():
    pages = {
        path.resolve(): path.read_text("utf-8")
        for path in [*ROOT.glob("*.md"), *(ROOT / "docs").glob("*.md")]
    }
    broken = [
        f"{page.name}: {target}#{section}"
        for page, text in pages.items()
        for target, section in re.findall(r"\]\(([^)#:]*)#?([^):]*)\)", text)
        for there in [(page.parent / target).resolve() if target else page]
        if not there.exists() or (section and section not in _sections(pages[there]))
    ]
    assert broken == []


def _sections(page):
    """Return the anchors of a page's headings, as those who show such pages make them."""
    titles = re.findall(r"^#+ (.+)$", page, re.M)
    return {re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-") for title in titles}


@pytest.mark.slow
def test_the_plugin_skeleton_passes_its_own_test(tmp_path):
    from inkaccord.starter.plugin import write_plugin

    home = write_plugin(tmp_path, "corner-shop")
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"],
        cwd=home, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout
    assert "3 passed" in done.stdout


# Public class names that stand twice, and why. A plugin's `Options` are those of its own device.
TWICE = {"Options": "each bundled vendor's own"}


@pytest.mark.slow
def test_public_class_names_stand_once():
    places = defaultdict(list)
    for path in (it for home in (CORE, ROOT / "plugins") for it in sorted(home.rglob("*.py"))):
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(str(path.relative_to(ROOT)))
    twice = {name: where for name, where in places.items() if len(where) > 1}
    assert {name: where for name, where in twice.items() if name not in TWICE} == {}


def test_what_runs_before_a_commit_is_what_ci_runs():
    config = yaml.safe_load((ROOT / ".pre-commit-config.yaml").read_text("utf-8"))
    (source,) = config["repos"]
    assert source["repo"] == "local", "hooks of others would be fetched"
    script = (ROOT / ".ci" / "run").read_text("utf-8").splitlines()
    before_tests = script[script.index('echo "== ruff"') : script.index('echo "== tests: $readme"')]
    assert [hook["entry"] for hook in source["hooks"]] == [
        line for line in before_tests if line.startswith(".venv/bin/")
    ]


def test_the_oldest_python_that_is_promised_is_the_one_that_is_asked_for():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    marks = [
        it.rpartition(" ")[2]
        for it in project["project"]["classifiers"]
        if it.startswith("Programming Language :: Python :: 3.")
    ]
    assert project["project"]["requires-python"] == f">={marks[0]}"
    assert project["tool"]["mypy"]["python_version"] == marks[0]
    assert f"Python {marks[0]} to {marks[-1]}" in (ROOT / "README.md").read_text("utf-8")
