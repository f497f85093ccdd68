"""Layers (optional content) of several PDFs, gathered in the catalogue of one."""

from collections.abc import Sequence

from pikepdf import Array, Dictionary, Name, Object, Pdf, String


def merge_layers(into: Pdf, pdfs: Sequence[Pdf]) -> None:
    """Declare the layers of all files in one of them, each as visible as it was.

    Groups of layers that exclude one another, and locks, only matter on screen and are dropped
    when several files have layers.
    """
    layered = [pdf for pdf in pdfs if Name.OCProperties in pdf.Root]
    if not layered or (len(layered) == 1 and layered[0] is into):
        return
    groups, hidden, automatic = Array(), Array(), Array()
    for pdf in layered:
        properties = pdf.Root[Name.OCProperties]
        default = properties.get(Name.D, Dictionary())
        on = {group.objgen for group in default.get(Name.ON, ())}
        off = {group.objgen for group in default.get(Name.OFF, ())}
        starts_off = default.get(Name.BaseState) == Name.OFF
        for group in properties.get(Name.OCGs, ()):
            here = _here(into, pdf, group)
            groups.append(here)
            if group.objgen in off or (starts_off and group.objgen not in on):
                hidden.append(here)
        for usage in default.get(Name.AS, ()):
            automatic.append(_here(into, pdf, usage))
    into.Root[Name.OCProperties] = Dictionary(
        OCGs=groups,
        D=Dictionary(Name=String("layers"), Order=Array(groups), OFF=hidden, AS=automatic),
    )


def _here(into: Pdf, pdf: Pdf, value: Object) -> Object:
    if pdf is into:
        return value
    return into.copy_foreign(value if value.is_indirect else pdf.make_indirect(value))
