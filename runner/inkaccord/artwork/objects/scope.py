"""The resources of a content stream."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pikepdf

from inkaccord.artwork.objects.entries import entry
from inkaccord.artwork.objects.space_reader import SpaceReader
from inkaccord.artwork.objects.spaces import DEVICE, Space, SpaceKind
from inkaccord.artwork.paints import PaintKind


class Scope:
    """A ``/Resources`` dictionary, read once, that new entries can be added to."""

    def __init__(self, resources: Any, spaces: SpaceReader, outer: Scope | None = None) -> None:
        self.resources = resources if isinstance(resources, pikepdf.Dictionary) else None
        self._spaces = spaces
        self._named: dict[str, Space] = {}
        self._added: dict[tuple[str, object], str] = {}
        # The standard speaks of the current resources only; common renderers let a page's
        # default spaces hold inside forms and patterns that have none of their own.
        self.device: dict[SpaceKind, Space] = {
            kind: spaces.device(
                kind, self.resources, otherwise=outer.device[kind] if outer else None
            )
            for kind in DEVICE
        }
        self.plain = all(self.device[kind] is DEVICE[kind] for kind in DEVICE)

    @property
    def defaults(self) -> tuple[str, ...]:
        """What tells scopes with other default spaces apart."""
        return tuple(space.key for space in self.device.values())

    def space(self, name: str) -> Space:
        """Return the colour space that ``cs`` selects by this name."""
        found = self._named.get(name)
        if found is None:
            found = self._spaces.read(name, self.resources)
            if found is DEVICE.get(found.kind):
                found = self.device[found.kind]
            self._named[name] = found
        return found

    def entry(self, category: str, name: str) -> Any:
        """Return a named resource, None when there is none."""
        return entry(entry(self.resources, category), name)

    def defaulted(self, kind: PaintKind) -> bool:
        """Whether a device colour of this kind would go through a profile here."""
        space_kind = SpaceKind(kind.value)
        return self.device[space_kind] is not DEVICE[space_kind]

    def add(self, category: str, key: object, make: Callable[[], Any]) -> str:
        """Return the name of an added resource, the same for the same key."""
        name = self._added.get((category, key))
        if name is not None or self.resources is None:
            return name or ""
        table = self.resources.get(category)
        if not isinstance(table, pikepdf.Dictionary):
            table = self.resources[category] = pikepdf.Dictionary()
            table = self.resources[category]
        number = 1
        while f"/Ink{number}" in table:
            number += 1
        name = f"/Ink{number}"
        table[name] = make()
        self._added[category, key] = name
        return name
