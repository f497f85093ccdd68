"""Finding plugins, and calling them so that a broken one is named and does no harm.

A factory, no globals: every command makes its own manager.
"""

import contextlib
import gc
import importlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from importlib.metadata import EntryPoint, entry_points
from types import ModuleType
from typing import TypeVar, cast

import pluggy

from inkaccord import __version__
from inkaccord.diagnostics import Diagnostic
from inkaccord.engines import Engine, engine_at
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.guards import (
    CRASHES,
    Door,
    Given,
    Guard,
    blame,
    expectations,
    named,
    wrong_type,
)
from inkaccord.hooks import PROJECT, ArtworkSubject, Specifications
from inkaccord.knowledge.values import Translations
from inkaccord.order.kinds import VendorKind
from inkaccord.order.model import Order
from inkaccord.run.agreement import Agreement
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery
from inkaccord.run.imposed import Imposed
from inkaccord.run.plan import SamplePlan
from inkaccord.run.recoloured import Recoloured
from inkaccord.run.record import Run
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.formats import OfferedFormat

T = TypeVar("T")

BUILT_IN = "built-in"


@dataclass(frozen=True)
class PluginInfo:
    """One plugin, for lists and for the record."""

    name: str
    version: str
    origin: str
    """``built-in``, ``installed`` or ``command line``."""
    hooks: tuple[str, ...]


class Plugins:
    """The plugins of one command, each hook with a caller of its own.

    A plugin that fails, or gives something of a wrong type, is named in :attr:`findings`, and the
    others go on; where there is no going on without it, the caller raises OrderError naming it.
    What it raises as InkaccordError keeps its own findings.
    """

    def __init__(self) -> None:
        self.manager = pluggy.PluginManager(PROJECT)
        """pluggy's own, for call monitoring and tracing."""
        self.manager.add_hookspecs(Specifications)
        self._infos: dict[str, PluginInfo] = {}
        self._door = Door()
        self._expects = expectations(Specifications)
        # Of the specifications' own type, so that mypy reads with what a hook is called.
        self._hook = cast("Specifications", self.manager.hook)

    def add(self, name: str, plugin: object, origin: str, version: str) -> None:
        """Register a plugin, guarded.

        Raises what pluggy raises for hooks that are not specified, misspelt or of another form; the
        plugin is left out then.
        """
        guard = Guard(name, origin == BUILT_IN, self._expects, self._door)
        self.manager.register(guard.guarded(self.manager, plugin), name=name)
        try:
            self.manager.check_pending()
        except pluggy.PluginValidationError:
            self.manager.unregister(name=name)
            raise
        self._infos[name] = PluginInfo(name, version, origin, ())

    @property
    def findings(self) -> list[Diagnostic]:
        """What went wrong while loading or calling them; each names its plugin."""
        return self._door.findings

    def infos(self) -> tuple[PluginInfo, ...]:
        """Return every plugin that loaded, in the order of loading."""
        result = []
        for name, info in self._infos.items():
            plugin = self.manager.get_plugin(name)
            callers = self.manager.get_hookcallers(plugin) if plugin is not None else None
            hooks = tuple(sorted(caller.name for caller in callers or ()))
            result.append(PluginInfo(info.name, info.version, info.origin, hooks))
        return tuple(result)

    def checkers(self) -> tuple[str, ...]:
        """Return the plugins from outside that look at the copies of a run."""
        look = "inkaccord_check_artwork"
        infos = self.infos()
        return tuple(it.name for it in infos if it.origin != BUILT_IN and look in it.hooks)

    def versions(self) -> dict[str, str]:
        """Return the version of every plugin, by name, in the order of loading."""
        return {name: info.version for name, info in self._infos.items()}

    def vendor_kinds(self) -> dict[str, VendorKind]:
        """Return the kinds of vendor on offer. Raises OrderError when two plugins share a name."""
        kinds: dict[str, VendorKind] = {}
        owners: dict[str, str] = {}
        for plugin, kind in _in_order(self._hook.inkaccord_vendor_kinds()):
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
            OfferedFormat(form, partial(blaming, plugin, form.name))
            for plugin, form in _in_order(self._hook.inkaccord_readings_formats())
        )

    def engine(self, address: str) -> Engine | None:
        """Return what does tasks at an address; None where no plugin recognises it.

        Raises InkaccordError when nobody answers there.
        """
        for plugin, kind in _in_order(self._hook.inkaccord_executors()):
            with blaming(plugin, kind.name):
                if kind.recognises(address):
                    return engine_at(kind, address)
        return None

    def draw_sheet(self, sheet: SampleSheet, notes: Sequence[str]) -> bytes:
        """Return the PDF of a sample sheet, as the first plugin draws it that can."""
        return _answer(
            self._hook.inkaccord_draw_sheet(sheet=sheet, notes=notes), bytes, "draw_sheet"
        )

    def check_artwork(self, subject: ArtworkSubject, bench: Bench) -> list[Diagnostic]:
        """Return what the plugins find wrong with an artwork; a crash of one is such a finding."""
        found = _in_order(self._hook.inkaccord_check_artwork(subject=subject, bench=bench))
        return [named(plugin, finding) for plugin, finding in found]

    def collect(self, order: Order, bench: Bench) -> Collected:
        """Ask for stage 1."""
        given = self._hook.inkaccord_collect(order=order, bench=bench)
        return _answer(given, Collected, "collect")

    def translate(self, order: Order, collected: Collected, bench: Bench) -> Translations:
        """Ask for stage 2."""
        given = self._hook.inkaccord_translate(order=order, collected=collected, bench=bench)
        return _answer(given, Translations, "translate")

    def agree(
        self, order: Order, collected: Collected, translations: Translations, bench: Bench
    ) -> Agreement:
        """Ask for stage 3."""
        given = self._hook.inkaccord_agree(
            order=order, collected=collected, translations=translations, bench=bench
        )
        return _answer(given, Agreement, "agree")

    def plan_samples(
        self,
        order: Order,
        collected: Collected,
        translations: Translations,
        agreement: Agreement,
        bench: Bench,
    ) -> SamplePlan:
        """Ask for stage 4."""
        given = self._hook.inkaccord_plan_samples(
            order=order,
            collected=collected,
            translations=translations,
            agreement=agreement,
            bench=bench,
        )
        return _answer(given, SamplePlan, "plan_samples")

    def recolour(
        self,
        order: Order,
        collected: Collected,
        translations: Translations,
        agreement: Agreement,
        bench: Bench,
    ) -> Recoloured:
        """Ask for stage 5."""
        given = self._hook.inkaccord_recolour(
            order=order,
            collected=collected,
            translations=translations,
            agreement=agreement,
            bench=bench,
        )
        return _answer(given, Recoloured, "recolour")

    def impose(
        self,
        order: Order,
        collected: Collected,
        translations: Translations,
        recoloured: Recoloured,
        bench: Bench,
    ) -> Imposed:
        """Ask for stage 6."""
        given = self._hook.inkaccord_impose(
            order=order,
            collected=collected,
            translations=translations,
            recoloured=recoloured,
            bench=bench,
        )
        return _answer(given, Imposed, "impose")

    @property
    def imposer(self) -> str:
        """The plugin that gave the last imposition: files that lead astray are laid at its door."""
        return self._door.answered.get("inkaccord_impose", "")

    def deliver(
        self,
        order: Order,
        run: Run,
        files: Mapping[str, bytes],
        gallery: Gallery,
        bench: Bench,
    ) -> list[tuple[str, OutFile]]:
        """Return (plugin, file) for every file that plugins add, the built-in ones' first."""
        given = self._hook.inkaccord_deliver(
            order=order, run=run, files=files, gallery=gallery, bench=bench
        )
        return list(_in_order(given))


def _in_order(results: Sequence[T]) -> Iterator[tuple[str, T]]:
    """Yield (plugin, item) of a hook that collects, the plugin that was registered first first.

    pluggy calls the latest first. A wrapper may put a sequence of its own in the place of a
    plugin's: that is nobody's by name.
    """
    for given in reversed(cast("Sequence[Sequence[T]]", results)):
        plugin = given.plugin if isinstance(given, Given) else "a wrapper"
        for item in given:
            yield plugin, item


def _answer(given: object, wanted: type[T], stage: str) -> T:
    """Return a result, which a wrapper may have put in the place of a plugin's."""
    if isinstance(given, wanted):
        return given
    hook = f"inkaccord_{stage}"
    if given is None:
        raise OrderError.of("no-plugin", f"no plugin answers {hook}")
    raise OrderError(blame("a wrapper", hook, wrong_type(given, wanted)))


@contextlib.contextmanager
def blaming(plugin: str, what: str) -> Iterator[None]:
    """Turn a crash of what a plugin gave, such as a format, into an error naming it."""
    try:
        yield
    except InkaccordError:
        raise
    except CRASHES as problem:
        raise OrderError(blame(plugin, what, problem)) from problem


def load_plugins(
    extra: Sequence[str] = (), *, built_in: Mapping[str, ModuleType] | None = None
) -> Plugins:
    """Register the plugins that are built in, those installed, and the modules in ``extra``.

    ``built_in`` is :data:`inkaccord.builtin.PLUGINS`, which loads every stage; without it the
    plugins are enough to understand an order file.

    An installed plugin that can't be loaded becomes a finding and is left out. Raises OrderError
    for two plugins of one name, and for a module in ``extra`` that can't be loaded.
    """
    plugins = Plugins()
    origins: dict[str, str] = {}
    for name, module in (built_in or {}).items():
        plugins.add(name, module, BUILT_IN, __version__)
        origins[name] = f"inkaccord {__version__}"
    for point, label in _installed():
        if point.name in origins:
            raise _name_taken(point.name, origins[point.name], label)
        try:
            plugins.add(point.name, point.load(), "installed", label)
        except CRASHES as problem:
            plugins.findings.append(blame(point.name, f"loading: {label}", problem))
            continue
        origins[point.name] = label
    for name in extra:
        if name in origins:
            raise _name_taken(name, origins[name], "--plugin")
        try:
            plugins.add(name, importlib.import_module(name), "command line", "")
        except CRASHES as problem:
            raise OrderError(blame(name, "loading", problem)) from problem
        origins[name] = "--plugin"
    return plugins


def let_go() -> None:
    """Give back what an order of many left behind: its plugins hold each other in circles.

    What is loaded by the end of the first order is not looked through again.
    """
    gc.collect()
    if not gc.get_freeze_count():
        gc.freeze()


@cache
def _installed() -> tuple[tuple[EntryPoint, str], ...]:
    """Return the plugins installed, each with what it came in; every order of a batch asks."""
    found = []
    for point in sorted(entry_points(group=PROJECT), key=lambda point: point.name):
        held = point.dist
        found.append((point, f"{held.name} {held.version}" if held else point.value))
    return tuple(found)


def _name_taken(name: str, first: str, second: str) -> OrderError:
    return OrderError.of(
        "plugin-twice",
        f"two plugins are called '{name}': one from {first}, one from {second}",
        hint="uninstall one of them",
    )
