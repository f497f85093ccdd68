"""The colours of artwork as a person names them: which must agree, which stay as they are."""

from collections.abc import Callable, Mapping

from inkaccord.colour.paints import Paint
from inkaccord.order.amending import FieldPath, Written
from inkaccord.order.model import Order

Changes = dict[FieldPath, Written | None]


def named_anew(
    order: Order,
    was: Mapping[Paint, str],
    names: Mapping[Paint, str],
    first_aim: Callable[[Paint], Written],
) -> tuple[dict[str, str], Changes]:
    """Return what changes in an order when colours of its artwork are named otherwise.

    Parameters
    ----------
    was
        The order's name for each colour that it has one for.
    names
        The names now; empty for a colour that is none of the order's any more.
    first_aim
        The aim of a colour that is new.

    Returns
    -------
    tuple
        Names of the order's colours that are written otherwise, old to new; and changed fields,
        under the new names.
    """
    renamed = _renamed(order, was, names)
    there = {renamed.get(name, name): colour for name, colour in order.colours.items()}
    listed = {name: [str(it) for it in colour.in_artwork] for name, colour in there.items()}
    begun: dict[str, Paint] = {}
    for paint, name in names.items():
        before = was.get(paint, "")
        before = renamed.get(before, before)
        if name == before:
            continue
        if before:
            listed[before] = [it for it in listed[before] if it != str(paint)]
        if name:
            listed.setdefault(name, []).append(str(paint))
            begun.setdefault(name, paint)
    changes: Changes = {}
    for name, texts in listed.items():
        if name not in there:
            aim = first_aim(begun[name])
            changes["colours", name] = {"aim": aim, "in_artwork": texts}
        elif not texts:
            changes["colours", name] = None
        elif texts != [str(it) for it in there[name].in_artwork]:
            changes["colours", name, "in_artwork"] = texts
    return renamed, changes


def kept_anew(order: Order, stays: Mapping[Paint, bool]) -> Changes:
    """Return what changes in an order when it is said anew which colours stay as they are."""
    kept = [it for it in order.keep if stays.get(it, True)]
    kept += [it for it, yes in stays.items() if yes and it not in kept]
    if kept == list(order.keep):
        return {}
    return {("keep",): [str(it) for it in kept] or None}


def _renamed(order: Order, was: Mapping[Paint, str], names: Mapping[Paint, str]) -> dict[str, str]:
    """Return the colours of which all that artwork writes goes under one new name."""
    found: dict[str, str] = {}
    for name in order.colours:
        now = {names.get(paint, name) for paint, before in was.items() if before == name}
        (new,) = now if len(now) == 1 else {""}
        if new and new != name and new not in order.colours and new not in found.values():
            found[name] = new
    return found
