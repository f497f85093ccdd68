"""The next of many orders, made by workers while those before them are written."""

from collections.abc import Sequence
from contextlib import closing, nullcontext
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.cli.one_run import still_stands
from inkaccord.cli.shared import Settings
from inkaccord.cli.shelf_place import shelf_place
from inkaccord.recall.memory_file import MOST_BYTES, MemoryFile
from inkaccord.recording.places import out_of
from inkaccord.shelf.place import is_there, place_of
from inkaccord.unchanged import MEMORY, RunInputs

if TYPE_CHECKING:
    from inkaccord.elsewhere import MadeElsewhere, PluginsThere
    from inkaccord.engines import Engine
    from inkaccord.pipeline import RunStart

_TASKS = 6
"""An order is worth so many tasks of the usual kind."""
_FOR_EACH = 2
"""Orders that are read ahead for each worker."""


class NextOrders:
    """Hands out the orders that come next, each as it stands when it is handed out.

    What an order before them changes, or anybody elsewhere, is found when it is their turn: what
    was made of them ahead does not count then. After one of these they are handed out one by one,
    and twice as many with each that counts.
    """

    def __init__(self, settings: Settings, orders: Sequence[Path]) -> None:
        self._settings = settings
        self._orders = orders
        self._engine = _that_takes(settings, len(orders))
        self._starts: dict[Path, RunStart | None] = {}
        self._ahead: dict[Path, MadeElsewhere] = {}
        self._last: MadeElsewhere | None = None
        self._most = self._depth = _FOR_EACH * self._engine.workers if self._engine else 0

    def turn_of(self, order: Path) -> "MadeElsewhere | None":
        """Return what is made of an order whose turn it is, and hand out those after it."""
        if self._engine is None:
            return None
        if self._last is not None:
            self._learn(counted=self._last.counted)
        at = self._orders.index(order)
        self._hand_out(self._engine, self._orders[at : at + self._depth])
        for ahead in self._ahead.values():
            ahead.handed.go_on()
        self._starts.pop(order, None)
        self._last = self._ahead.pop(order, None)
        return self._last

    def _learn(self, *, counted: bool) -> None:
        if counted:
            self._depth = min(self._most, 2 * self._depth)
            return
        self._ahead.clear()  # not cancelled: a pool that breaks then leaves others waiting
        self._starts.clear()
        self._depth = 1

    def _hand_out(self, engine: "Engine", orders: Sequence[Path]) -> None:
        for order in orders:
            if order not in self._starts:
                self._starts[order] = self._start_of(order)
        new = {it: self._starts[it] for it in orders if it not in self._ahead}
        starts = {it: start for it, start in new.items() if start is not None}
        if not engine.takes(_TASKS * len(starts)):
            return
        from inkaccord.elsewhere import MadeElsewhere

        for order, start in starts.items():
            with closing(MemoryFile(start.out / MEMORY)) as memory:
                known = memory.all()
            self._ahead[order] = MadeElsewhere.asked(engine, start, self._plugins, known)

    @cached_property
    def _plugins(self) -> "PluginsThere":
        from inkaccord.elsewhere import PluginsThere

        return PluginsThere.of(self._settings.plugins, self._settings.loaded)

    def _start_of(self, order: Path) -> "RunStart | None":
        """Return what an order would be made from; None where there is nothing to hand out."""
        try:
            return self._read(order)
        except Exception:  # noqa: BLE001 - it is said when it is its turn
            return None

    def _read(self, order: Path) -> "RunStart | None":
        from inkaccord.elsewhere import can_go
        from inkaccord.out_folder import OutFolder
        from inkaccord.recording.from_book import with_book
        from inkaccord.runs import begin
        from inkaccord.shelf.store import Shelf

        loaded = self._settings.load(order)
        where, place = out_of(loaded), shelf_place(self._settings, loaded)
        evidence = loaded.order.evidence
        if evidence is not None and not is_there(place_of(place)):
            return None  # to look would make the shelf
        memory = where / MEMORY
        if memory.exists() and memory.stat().st_size > MOST_BYTES:
            return None  # to send it would take longer than it saves
        with (
            Shelf.open(place) as shelf,
            shelf.copies.supposing(loaded.folder / evidence)
            if evidence is not None
            else nullcontext(),
        ):
            if loaded.order.asks_book:
                loaded = with_book(loaded, shelf)
            inputs = RunInputs.read(loaded, self._settings.outside)
            if still_stands(inputs, where, place) is not None:
                return None
            start = begin(loaded, inputs, shelf, OutFolder(where))
        return start if can_go(start) else None


def _that_takes(settings: Settings, orders: int) -> "Engine | None":
    """Return the engine, where it is given whole orders; else it is given the tasks of each."""
    engine = settings.engine
    if engine is None or orders < max(2, engine.workers) or not engine.takes(_TASKS * orders):
        return None
    return engine
