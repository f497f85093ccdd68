import importlib.metadata
import re
from pathlib import Path

import pytest

import inkaccord
from inkaccord import plugins as plugins_module
from inkaccord.errors import OrderError
from inkaccord.order.kinds import VendorKind
from inkaccord.plugins import load_plugins

BUNDLED = {"desk-cmyk", "desk-rgb", "jobbing-printer", "piece-shop"}


def test_bundled_plugins_are_found_by_their_entry_points():
    loaded = load_plugins()
    assert loaded.findings == []
    assert {info.name for info in loaded.infos() if info.origin == "installed"} >= BUNDLED
    assert set(loaded.vendor_kinds()) >= BUNDLED


def test_the_core_names_no_bundled_plugin():
    modules = {
        point.value.partition(":")[0]
        for point in importlib.metadata.entry_points(group="inkaccord")
    }
    assert modules
    pattern = re.compile(r"\b(?:" + "|".join(map(re.escape, sorted(modules))) + r")\b")
    core = Path(inkaccord.__file__).parent
    named = [
        f"{path.relative_to(core)}: {found[0]}"
        for path in core.rglob("*.py")
        if (found := pattern.search(path.read_text("utf-8")))
    ]
    assert named == []


def test_a_bundled_vendor_plugin_is_short():
    folder = Path(__file__).parents[2] / "plugins"
    for name in BUNDLED:
        module = folder / f"inkaccord_{name.replace('-', '_')}" / "__init__.py"
        assert len(module.read_text("utf-8").splitlines()) < 150, name


@pytest.mark.parametrize(
    ("name", "words", "place"),
    [
        ("raises_at_import", "no good today", "raises_at_import.py:1"),
        ("exits_at_import", "SystemExit: enough", "exits_at_import.py:1"),
        ("misspells_a_hook", "vendor_kindz", ""),
        ("not_there_at_all", "No module named", ""),
    ],
)
def test_a_module_on_the_command_line_that_cannot_be_loaded(broken, name, words, place):
    with pytest.raises(OrderError) as problem:
        load_plugins([name])
    finding = problem.value.findings[0]
    assert finding.code == "plugin-failed"
    assert finding.source == name
    assert words in finding.message
    assert str(finding.place) == place


def test_the_line_of_a_plugin_that_calls_what_fails_is_named(tmp_path, monkeypatch):
    package = tmp_path / "calls_on"
    package.mkdir()
    (package / "__init__.py").write_text("from calls_on import deeper\n", "utf-8")
    (package / "deeper.py").write_text("import json\n\njson.loads('{')\n", "utf-8")
    (tmp_path / "slips.py").write_text("a = 1\nb = = 2\n", "utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    for name, place in (("calls_on", "calls_on/deeper.py:3"), ("slips", "slips.py:2")):
        with pytest.raises(OrderError) as problem:
            load_plugins([name])
        assert str(problem.value.findings[0].place) == place


def installed_too(point, monkeypatch):
    found = (*plugins_module._installed(), (point, "another 1.0"))
    monkeypatch.setattr(plugins_module, "_installed", lambda: found)


def test_an_installed_plugin_that_cannot_be_loaded_is_left_out(broken, monkeypatch):
    bad = importlib.metadata.EntryPoint("bad", "raises_at_import", "inkaccord")
    installed_too(bad, monkeypatch)
    loaded = load_plugins()
    assert [finding.source for finding in loaded.findings] == ["bad"]
    assert {info.name for info in loaded.infos()} >= BUNDLED


def test_two_plugins_of_one_name_are_both_named(monkeypatch):
    twin = importlib.metadata.EntryPoint("desk-rgb", "inkaccord_desk_rgb", "inkaccord")
    installed_too(twin, monkeypatch)
    with pytest.raises(OrderError, match="two plugins are called 'desk-rgb'"):
        load_plugins()


@pytest.mark.parametrize("name", ["raises_when_called", "gives_nonsense"])
def test_a_plugin_that_misbehaves_when_called_is_named_and_the_others_go_on(broken, name):
    loaded = load_plugins([name])
    assert set(loaded.vendor_kinds()) >= BUNDLED
    assert loaded.findings
    assert {finding.source for finding in loaded.findings} == {name}


def test_two_plugins_with_one_kind_of_vendor_are_both_named(broken):
    loaded = load_plugins(["takes_a_kind"])
    with pytest.raises(OrderError) as problem:
        loaded.vendor_kinds()
    assert "'desk-cmyk' and 'takes_a_kind'" in str(problem.value)


def test_every_kind_is_of_the_right_type():
    for kind in load_plugins().vendor_kinds().values():
        assert isinstance(kind, VendorKind)
        assert kind.summary, kind.name
        assert kind.options.__doc__, kind.name
