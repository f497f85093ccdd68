"""Finding plugins, and calling them so that a broken one is named and does no harm.

A factory, no globals: every command makes its own manager.
"""

import contextlib
import importlib
import signal
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from importlib.metadata import entry_points, version
from types import FrameType, ModuleType
from typing import Any, TypeVar

import pluggy

from inkaccord.diagnostics import Diagnostic, error
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.hooks import PROJECT, SheetLayout, Specifications
from inkaccord.order.kinds import VendorKind
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.formats import OfferedFormat, ReadingsFormat

T = TypeVar("T")

CRASHES = (Exception, SystemExit)
"""What a plugin may raise that becomes a finding: also an exit, which is not its to decide."""
LOADING_SECONDS = 10
"""A plugin that takes longer to import is given up."""


@dataclass(frozen=True)
class PluginInfo:
    """One plugin, for lists and for the record."""

    name: str
    version: str
    origin: str
    """``built-in``, ``installed`` or ``command line``."""
    hooks: tuple[str, ...]


class Plugins:
    """The plugins of one command.

    Attributes
    ----------
    findings
        What went wrong while loading or calling them; each names its plugin.
    answered
        Which plugin gave a stage's result: hook → plugin.
    """

    def __init__(self, manager: pluggy.PluginManager, infos: dict[str, PluginInfo]) -> None:
        self._manager = manager
        self._infos = infos
        self.findings: list[Diagnostic] = []
        self.answered: dict[str, str] = {}

    def infos(self) -> tuple[PluginInfo, ...]:
        """Return every plugin that loaded, in the order of loading."""
        result = []
        for name, info in self._infos.items():
            plugin = self._manager.get_plugin(name)
            callers = self._manager.get_hookcallers(plugin) if plugin is not None else None
            hooks = tuple(sorted(caller.name for caller in callers or ()))
            result.append(PluginInfo(info.name, info.version, info.origin, hooks))
        return tuple(result)

    def versions(self) -> dict[str, str]:
        """Return the version of every plugin, by name, in the order of loading."""
        return {name: info.version for name, info in self._infos.items()}

    def each(
        self,
        hook: str,
        item: type | None,
        *,
        trouble: list[Diagnostic] | None = None,
        **arguments: Any,
    ) -> list[tuple[str, Any]]:
        """Call a hook on every plugin and return (plugin, item) for every item they give.

        Built-in plugins come first. A plugin that raises, or gives something else than a sequence
        of ``item``, becomes a finding; an InkaccordError's own findings are kept. They go to
        ``trouble`` where it is given, else to :attr:`findings`.
        """
        results: list[tuple[str, Any]] = []
        found = self.findings if trouble is None else trouble
        for implementation in getattr(self._manager.hook, hook).get_hookimpls():
            name = implementation.plugin_name
            given = {key: arguments[key] for key in implementation.argnames}
            try:
                items = implementation.function(**given)
                for it in items if items is not None else ():
                    if item is not None and not isinstance(it, item):
                        text = f"gave {type(it).__name__}, not {item.__name__}"
                        found.append(_blame(name, hook, text))
                        continue
                    results.append((name, it))
            except InkaccordError as problem:
                found += [_from(name, finding) for finding in problem.findings]
            except CRASHES as problem:
                found.append(_blame(name, hook, f"{type(problem).__name__}: {problem}"))
        return results

    def first(self, hook: str, result: type[T], **arguments: Any) -> T:
        """Ask the plugins for a stage's result, latest registered first.

        Raises InkaccordError as the stage does, or OrderError naming a plugin that failed.
        :attr:`answered` then says who gave it.
        """
        for implementation in reversed(getattr(self._manager.hook, hook).get_hookimpls()):
            name = implementation.plugin_name
            given = {key: arguments[key] for key in implementation.argnames}
            try:
                value = implementation.function(**given)
            except InkaccordError:
                raise
            except CRASHES as problem:
                if self._infos[name].origin == "built-in":
                    raise  # our own bug: show it whole
                raise OrderError(
                    _blame(name, hook, f"{type(problem).__name__}: {problem}")
                ) from problem
            if value is None:
                continue
            if not isinstance(value, result):
                raise OrderError(
                    _blame(name, hook, f"gave {type(value).__name__}, not {result.__name__}")
                )
            self.answered[hook] = name
            return value
        raise OrderError.of("no-plugin", f"no plugin answers {hook}")

    @contextlib.contextmanager
    def blaming(self, plugin: str, what: str) -> Iterator[None]:
        """Turn a crash of what a plugin gave (a format, a layout) into an error naming it."""
        try:
            yield
        except InkaccordError:
            raise
        except CRASHES as problem:
            raise OrderError(
                _blame(plugin, what, f"{type(problem).__name__}: {problem}")
            ) from problem

    def vendor_kinds(self) -> dict[str, VendorKind]:
        """Return the kinds of vendor on offer. Raises OrderError when two plugins share a name."""
        kinds: dict[str, VendorKind] = {}
        owners: dict[str, str] = {}
        for plugin, kind in self.each("inkaccord_vendor_kinds", VendorKind):
            if kind.name in kinds:
                raise OrderError.of(
                    "kind-twice",
                    f"the plugins '{owners[kind.name]}' and '{plugin}' both offer the kind of "
                    f"vendor '{kind.name}'",
                    hint="uninstall one of them",
                )
            kinds[kind.name], owners[kind.name] = kind, plugin
        return kinds

    def readings_formats(self) -> tuple[OfferedFormat, ...]:
        """Return the forms of readings files on offer; a crash of one names its plugin."""
        return tuple(
            OfferedFormat(form, partial(self.blaming, plugin, form.name))
            for plugin, form in self.each("inkaccord_readings_formats", ReadingsFormat)
        )

    def draw_sheet(self, sheet: SampleSheet, *, notes: Sequence[str]) -> bytes:
        """Draw a sample sheet in the last layout that a plugin offers.

        A layout that fails is named in a finding, and the one before it draws.
        """
        for name, layout in reversed(self.each("inkaccord_sheet_layouts", SheetLayout)):
            try:
                with self.blaming(name, f"drawing the sheet {sheet.id}"):
                    pdf: bytes = layout.draw(sheet, notes=notes)
                    return pdf
            except InkaccordError as problem:
                if self._infos[name].origin == "built-in":
                    raise
                self.findings += [_from(name, finding) for finding in problem.findings]
        raise OrderError.of("no-plugin", "no plugin offers a layout of sample sheets")


def load_plugins(
    extra: Sequence[str] = (), *, built_in: Mapping[str, ModuleType] | None = None
) -> Plugins:
    """Register the plugins that are built in, those installed, and the modules in ``extra``.

    ``built_in`` is :data:`inkaccord.builtin.PLUGINS`, which loads every stage; without it the
    plugins are enough to understand an order file.

    An installed plugin that can't be loaded becomes a finding and is left out. Raises OrderError
    for two plugins of one name, and for a module in ``extra`` that can't be loaded.
    """
    manager = pluggy.PluginManager(PROJECT)
    manager.add_hookspecs(Specifications)
    plugins = Plugins(manager, infos := {})
    own = version("inkaccord")
    for name, built in (built_in or {}).items():
        manager.register(built, name=name)
        infos[name] = PluginInfo(name, own, "built-in", ())
    for point in sorted(entry_points(group=PROJECT), key=lambda point: point.name):
        distribution = point.dist
        label = f"{distribution.name} {distribution.version}" if distribution else point.value
        if point.name in infos:
            raise _name_taken(point.name, infos[point.name].version, label)
        try:
            with _time_limit():
                module = point.load()
            manager.register(module, name=point.name)
            manager.check_pending()
        except CRASHES as problem:
            if manager.has_plugin(point.name):
                manager.unregister(name=point.name)
            plugins.findings.append(
                _blame(point.name, "loading", f"{label}: {type(problem).__name__}: {problem}")
            )
            continue
        infos[point.name] = PluginInfo(point.name, label, "installed", ())
    for name in extra:
        if name in infos:
            raise _name_taken(name, infos[name].version, "--plugin")
        try:
            with _time_limit():
                module = importlib.import_module(name)
            manager.register(module, name=name)
            manager.check_pending()
        except CRASHES as problem:
            raise OrderError(
                _blame(name, "loading", f"{type(problem).__name__}: {problem}")
            ) from problem
        infos[name] = PluginInfo(name, "", "command line", ())
    return plugins


def _name_taken(name: str, first: str, second: str) -> OrderError:
    return OrderError.of(
        "plugin-twice",
        f"two plugins are called '{name}': one from {first}, one from {second}",
        hint="uninstall one of them",
    )


def _blame(plugin: str, hook: str, text: str) -> Diagnostic:
    return error(
        "plugin-failed",
        f"the plugin '{plugin}' failed in {hook}: {text}",
        hint="tell its author; uninstall it to go on without it",
    ).model_copy(update={"source": plugin})


def _from(plugin: str, finding: Diagnostic) -> Diagnostic:
    return finding if finding.source else finding.model_copy(update={"source": plugin})


@contextlib.contextmanager
def _time_limit() -> Iterator[None]:
    """Break off what takes too long, where the platform can (main thread, POSIX)."""
    if threading.current_thread() is not threading.main_thread() or not hasattr(signal, "SIGALRM"):
        yield
        return

    def give_up(_signal: int, _frame: FrameType | None) -> None:
        raise TimeoutError(f"took longer than {LOADING_SECONDS} s to load")

    before = signal.signal(signal.SIGALRM, give_up)
    signal.alarm(LOADING_SECONDS)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
