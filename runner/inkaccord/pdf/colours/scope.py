"""The resources of a content stream."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any

import pikepdf

from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.space_reader import SpaceReader, is_family
from inkaccord.pdf.colours.spaces import DEVICE, Space, SpaceKind
from inkaccord.pdf.entries import entry, objgen, word

_PLAIN = tuple(PaintKind(kind.value) for kind in DEVICE)


Borrowed = tuple[str, str, bool]
"""Category and name of what resources lack, and whether they have others of that category."""


class Scope:
    """A ``/Resources`` dictionary, read once, that new entries can be added to.

    A name that it lacks is looked for in the resources of whoever calls, as Ghostscript, poppler
    and, of a page, PDFium do (tried); the standard has no word for it, and programs write such
    forms. Of a typeface (``closed``) only where it has no table of that category: in one that it
    has, none of the three looks further.
    """

    def __init__(
        self,
        resources: Any,
        spaces: SpaceReader,
        outer: Scope | None = None,
        caller: Scope | None = None,
        *,
        closed: bool = False,
    ) -> None:
        self.take(resources)
        tables = self.resources.keys() if closed and self.resources is not None else ()
        self._closed = frozenset(tables)
        self._caller = caller
        # Of many pages each has a scope of its own: an empty set takes three times what a
        # dictionary does.
        self.borrowed: dict[Borrowed, None] = {}
        """What was looked for in the caller's."""
        self._tables: dict[str, None] = {}
        """Categories that it had nothing of before something was added."""
        self.home = (0, 0)
        """The object that the resources are, or stand in; (0, 0) for none."""
        self.is_owned = False
        """Whether they stand in it."""
        self._spaces = spaces
        self._named: dict[str, Space] = {}
        self._added: dict[tuple[str, object], str] = {}
        # The standard speaks of the current resources only; common renderers let a page's
        # default spaces hold inside forms and patterns that have none of their own.
        self.device: Mapping[SpaceKind, Space] = {
            kind: spaces.device(
                kind, self.resources, otherwise=outer.device[kind] if outer else None
            )
            for kind in DEVICE
        }
        self.plain = all(self.device[kind] is DEVICE[kind] for kind in DEVICE)
        if self.plain:
            self.device = DEVICE

    def take(self, resources: Any) -> None:
        """Take the resources, as the file has them that is open now."""
        self.resources = resources if isinstance(resources, pikepdf.Dictionary) else None

    def find(self, pdf: pikepdf.Pdf) -> None:
        """Take the resources from a file that is open now, where they were let go."""
        if self._caller is not None:
            self._caller.find(pdf)
        if self.resources is None and self.home != (0, 0):
            home = pdf.get_object(self.home)
            self.take(entry(home, "/Resources") if self.is_owned else home)

    @property
    def defaults(self) -> tuple[str, ...]:
        """What tells scopes with other default spaces apart."""
        return tuple(space.key for space in self.device.values())

    def space(self, definition: Any) -> Space:
        """Return the colour space that a name selects here, or that an array defines."""
        name = word(definition) if isinstance(definition, (pikepdf.Name, str)) else None
        found = self._named.get(name) if name is not None else None
        if found is None:
            found = self._read(definition, name)
            if found is DEVICE.get(found.kind):
                found = self.device[found.kind]
            if name is not None:
                self._named[name] = found
        return found

    def _read(self, definition: Any, name: str | None) -> Space:
        apart = name is None or is_family(name) or "/ColorSpace" in self._closed
        caller = None if apart else self._caller
        if caller is None or entry(entry(self.resources, "/ColorSpace"), name or "") is not None:
            return self._spaces.read(definition, self.resources)
        self._borrow("/ColorSpace", name or "")
        return caller.space(name)

    def entry(self, category: str, name: str) -> Any:
        """Return a named resource, None when there is none."""
        found = entry(entry(self.resources, category), name)
        if found is None and self._caller is not None and category not in self._closed:
            self._borrow(category, name)
            found = self._caller.entry(category, name)
        return found

    def _borrow(self, category: str, name: str) -> None:
        self.borrowed[category, name, entry(self.resources, category) is not None] = None

    def holds(self, category: str, name: str) -> bool:
        """Whether a name means something here."""
        return entry(entry(self.resources, category), name) is not None or (
            self._caller is not None
            and category not in self._closed
            and self._caller.holds(category, name)
        )

    def clashing(self, other: Scope, names: Collection[str]) -> list[str]:
        """Return which of some names stand in both resources, for two things."""
        both = (
            (name, entry(table, name), entry(entry(other.resources, category), name))
            for category, table in (self.resources.items() if self.resources is not None else ())
            for name in sorted(names)
        )
        return [name for name, *found in both if None not in found and not _is_same(*found)]

    def suits(self, caller: Scope | None) -> bool:
        """Whether a name means the same when another calls."""
        return self._caller is caller or all(
            _is_same(*(one and one.entry(*name) for one in (self._caller, caller)))
            for *name, _ in self.borrowed
        )

    @property
    def place(self) -> object:
        """What tells its resources from others."""
        return id(self) if self.home == (0, 0) else (self.home, self.is_owned)

    def defaulted(self, kind: PaintKind) -> bool:
        """Whether a device colour of this kind would go through a profile here."""
        space_kind = SpaceKind(kind.value)
        return self.device[space_kind] is not DEVICE[space_kind]

    def bars(self, kind: PaintKind) -> bool:
        """Whether no plain colour of this kind can be written here.

        Through a profile it would be another. CMYK goes by the names of its plates, for which no
        default space stands (ISO 32000-2, 8.6.5.6).
        """
        return kind is not PaintKind.CMYK and self.defaulted(kind)

    def add_space(self, space: Space) -> str:
        """Return the name of an added colour space, the same for the same space."""
        return self.add("/ColorSpace", space, lambda: space.definition)

    def add(self, category: str, key: object, make: Callable[[], Any]) -> str:
        """Return the name of an added resource, the same for the same key."""
        name = self._added.get((category, key))
        if name is not None or self.resources is None:
            return name or ""
        table = self.resources.get(category)
        if not isinstance(table, pikepdf.Dictionary):
            self.resources[category] = pikepdf.Dictionary()
            table = self.resources[category]
            self._tables[category] = None
        number = len(self._added) + 1
        while self.holds(category, f"/Ink{number}"):
            number += 1
        name = f"/Ink{number}"
        table[name] = make()
        self._added[category, key] = name
        return name

    def keep_borrowed(self) -> None:
        """Name in each table that was added what of its category is still the caller's.

        PDFium looks there only where it finds no such table here.
        """
        for category, name, _ in sorted(self.borrowed):
            table = entry(self.resources, category) if category in self._tables else None
            if table is not None and name not in table:
                found = self.entry(category, name)
                if found is not None:
                    table[name] = found


def _is_same(one: Any, other: Any) -> bool:
    if objgen(one) == objgen(other) != (0, 0):
        return True
    texts = [it.unparse() if isinstance(it, pikepdf.Object) else it for it in (one, other)]
    return bool(texts[0] == texts[1])


class Scopes:
    """The scopes of one document: one for each ``/Resources`` dictionary and setting.

    ``strict`` holds to the letter of the standard: a page's default spaces are for the page's own
    content, not for forms, patterns and glyphs that have resources of their own.
    """

    def __init__(self, spaces: SpaceReader, *, strict: bool = False) -> None:
        self._spaces = spaces
        self._strict = strict
        self._found: dict[object, Scope] = {}
        self._held: list[Any] = []
        """Resources that stand in no object, by which they could be found again."""
        self._defaulted: set[PaintKind] = set()

    def __iter__(self) -> Iterator[Scope]:
        """Iterate over the scopes met so far."""
        return iter(list(self._found.values()))

    def of(
        self,
        resources: Any,
        owner: Any,
        outer: Scope | None = None,
        caller: Scope | None = None,
    ) -> Scope:
        """Return the one scope of an owner's ``/Resources``, used inside ``outer``.

        Another where a name that they lack means another thing to this ``caller``.
        """
        number = objgen(resources)
        closed = entry(owner, "/Subtype") == "/Type3"
        key: object = number if number != (0, 0) else ("in", objgen(owner))
        if key == ("in", (0, 0)):
            key = ("held", len(self._held))
            self._held.append(resources)
        if closed:
            key = (key, "closed")
        if outer is not None and not outer.plain:
            key = (key, outer.defaults)
        found = self._found.get(key)
        if found is not None and not found.suits(caller):
            key = (key, id(caller))
            found = self._found.get(key)
        if found is None:
            found = self._found[key] = Scope(resources, self._spaces, outer, caller, closed=closed)
            self._defaulted |= {kind for kind in _PLAIN if found.defaulted(kind)}
            found.home, found.is_owned = (
                (number, False) if number != (0, 0) else (objgen(owner), True)
            )
        elif found.resources is None:
            found.take(resources)
        return found

    @property
    def held(self) -> int:
        """How many scopes there are whose resources can't be found again."""
        return len(self._held)

    def let_go(self) -> None:
        """Let go of all resources that can be found again, since their file is closed."""
        for scope in self._found.values():
            if scope.home != (0, 0):
                scope.resources = None

    def defaulted(self, kind: PaintKind) -> bool:
        """Whether a device colour of this kind goes through a profile in any scope met so far.

        What stands in an object, not in content, may be used in each of them.
        """
        return kind in self._defaulted

    def bars(self, kind: PaintKind) -> bool:
        """Whether no plain colour of this kind can be written in what all scopes may share."""
        return kind is not PaintKind.CMYK and self.defaulted(kind)

    def own(self, holder: Any, caller: Scope) -> Scope:
        """Return a form's, pattern's or font's own resources, or its caller's if it has none.

        See ISO 32000-2, 7.8.3.
        """
        resources = entry(holder, "/Resources")
        if not isinstance(resources, pikepdf.Dictionary):
            return caller
        return self.of(resources, holder, None if self._strict else caller, caller)
