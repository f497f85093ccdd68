"""Layers (optional content, ISO 32000-2, 8.11): read, and gathered from several files in one."""

from collections.abc import Iterator, Sequence

import pikepdf
from pikepdf import Array, Dictionary, Name, Object, Pdf, String

from inkaccord.pdf.entries import BAD_OBJECT


class Layers:
    """The optional content groups of a file, and which of them a viewer shows at first."""

    def __init__(self, pdf: Pdf) -> None:
        self.names: dict[tuple[int, int], str] = {}
        self.hidden: set[str] = set()
        try:
            for group, hidden in _groups(pdf):
                name = str(group.get("/Name", "unnamed"))
                self.names[group.objgen] = name
                if hidden:
                    self.hidden.add(name)
        except BAD_OBJECT:
            return

    def of(self, group: object) -> str | None:
        """Return the name of the layer that an OC entry or property list puts content on.

        A membership dictionary counts by the first of its groups.
        """
        if not isinstance(group, pikepdf.Dictionary):
            return None
        if group.objgen in self.names:
            return self.names[group.objgen]
        groups = group.get("/OCGs")
        first = groups[0] if isinstance(groups, pikepdf.Array) and len(groups) else groups
        # One that holds another membership, or itself, is none: it belongs to no layer.
        return self.names.get(first.objgen) if isinstance(first, pikepdf.Dictionary) else None


def merge_layers(into: Pdf, pdfs: Sequence[Pdf]) -> None:
    """Declare the layers of all files in one of them, each as visible as it was.

    Groups of layers that exclude one another, and locks, only matter on screen and are dropped
    when several files have layers.
    """
    layered = [pdf for pdf in pdfs if Name.OCProperties in pdf.Root]
    if not layered or (len(layered) == 1 and layered[0] is into):
        return
    groups, switched_off, automatic = Array(), Array(), Array()
    for pdf in layered:
        for group, hidden in _groups(pdf):
            here = _here(into, pdf, group)
            groups.append(here)
            if hidden:
                switched_off.append(here)
        for usage in _default(pdf).get(Name.AS, ()):
            automatic.append(_here(into, pdf, usage))
    into.Root[Name.OCProperties] = Dictionary(
        OCGs=groups,
        D=Dictionary(Name=String("layers"), Order=Array(groups), OFF=switched_off, AS=automatic),
    )


def _default(pdf: Pdf) -> Object:
    """Return the configuration that a viewer starts with; an empty one when there is none."""
    properties = pdf.Root.get(Name.OCProperties)
    found = properties.get(Name.D) if isinstance(properties, Dictionary) else None
    return Dictionary() if found is None else found


def _groups(pdf: Pdf) -> Iterator[tuple[Object, bool]]:
    """Yield every group of a file, and whether it is switched off at first."""
    properties = pdf.Root.get(Name.OCProperties)
    if not isinstance(properties, Dictionary):
        return
    default = _default(pdf)
    on = {group.objgen for group in default.get(Name.ON, ())}
    off = {group.objgen for group in default.get(Name.OFF, ())}
    starts_off = default.get(Name.BaseState) == Name.OFF
    for group in properties.get(Name.OCGs, ()):
        yield group, group.objgen in off or (starts_off and group.objgen not in on)


def _here(into: Pdf, pdf: Pdf, value: Object) -> Object:
    if pdf is into:
        return value
    return into.copy_foreign(value if value.is_indirect else pdf.make_indirect(value))
