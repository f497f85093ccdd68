"""Orders that are made elsewhere: what goes to a worker, and what comes back, as values."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Self

from inkaccord.builtin import PLUGINS
from inkaccord.diagnostics import Diagnostic
from inkaccord.engines import Engine, Handed
from inkaccord.errors import InkaccordError
from inkaccord.order.inputs import OrderInputs
from inkaccord.pdf.ghostscript import ghostscript_version
from inkaccord.pipeline import Made, RunStart, make
from inkaccord.plugins import Plugins, let_go, load_plugins
from inkaccord.recall.digests import digest_of_code
from inkaccord.recall.memory import Memory
from inkaccord.recall.memory_file import HeldResults
from inkaccord.recall.packing import pack, unpack

Sent = tuple[bytes, tuple[bytes, ...], dict[str, bytes], tuple[str, ...]]
"""What was made, packed, without the bytes of its files; these; what was learned; what asked for.
Plain values: whoever reads them runs no code."""

_warm = HeldResults()
"""What this worker computed for the orders before."""


@dataclass(frozen=True)
class PluginsThere:
    """The plugins that a worker has to have: the same that are here.

    Attributes
    ----------
    named
        The modules that the command names, each with a digest of its code.
    versions
        Of every plugin, by name.
    findings
        What went wrong while loading them.
    """

    named: dict[str, str]
    versions: dict[str, str]
    findings: tuple[Diagnostic, ...]

    @classmethod
    def of(cls, named: Iterable[str], plugins: Plugins) -> Self:
        """Return what tells plugins that were loaded and not yet called."""
        codes = {module: digest_of_code(module) for module in named}
        return cls(codes, plugins.versions(), tuple(plugins.findings))

    def load(self) -> Plugins | None:
        """Return plugins of a worker's own; None where they are others."""
        found = load_plugins(tuple(self.named), built_in=PLUGINS)
        return found if PluginsThere.of(self.named, found) == self else None


@dataclass
class MadeElsewhere:
    """An order that a worker makes, from what was read of it: an :class:`inkaccord.runs.Ahead`.

    ``counted`` tells whether its run began with what had been read.
    """

    start: RunStart
    handed: Handed[Sent | None]
    counted: bool = False

    @classmethod
    def asked(
        cls, engine: Engine, start: RunStart, plugins: PluginsThere, known: dict[str, bytes]
    ) -> Self:
        """Have a worker make an order; ``known`` is what earlier runs of it computed."""
        return cls(start, engine.hand_out(made_here, start, plugins, known))

    def made(self, memory: Memory) -> Made | None:
        """Wait for it, and remember what was learned on the way; None where nothing came of it."""
        self.counted = True
        sent = self.handed.result()
        if sent is None:
            return None
        packed, contents, learned, asked = sent
        made: Made = unpack(packed)
        memory.take_over(learned, asked)
        files = zip(made.files, contents, strict=True)
        return replace(made, files=tuple(replace(file, data=data) for file, data in files))


def can_go(start: RunStart) -> bool:
    """Tell whether all files that an order names were read, so that none is looked for there."""
    named = OrderInputs.of(start.loaded).named()
    return all(start.inputs.files.get(path) is not None for path in named)


def made_here(start: RunStart, plugins: PluginsThere, known: dict[str, bytes]) -> Sent | None:
    """Make an order, as a worker; None where it can't be made, or not as it would be there.

    It is a task: whoever asks makes it then, and hears why.
    """
    loaded = plugins.load()
    if loaded is None:
        return None
    memory = Memory(HeldResults(known), ghostscript_version(), shared=_warm)
    try:
        made = make(start, loaded, memory)
    except InkaccordError:
        return None
    if tuple(loaded.findings) != plugins.findings:
        return None  # what a plugin failed at may be for want of a file that is only there
    _warm.write(memory.learned, memory.asked)
    bare = replace(made, files=tuple(replace(file, data=b"") for file in made.files))
    contents = tuple(file.data for file in made.files)
    let_go()
    return pack(bare), contents, memory.learned, memory.asked
