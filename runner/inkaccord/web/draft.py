"""An order as it is typed into a form: the text that it makes, and what 'check' says of each field.

A field's name in the form is its path in the order, so what is found at a place of the order stands
beside the field. Names are told by what they were when the form was shown.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, note
from inkaccord.errors import InkaccordError
from inkaccord.foresight.ahead import said_of_whole
from inkaccord.foresight.beginning import first_aim
from inkaccord.order.amending import (
    FieldPath,
    Written,
    amended,
    in_one_line,
    renamed,
    written_at,
)
from inkaccord.order.loading import LoadedOrder, MisnamedError, load_order
from inkaccord.order.naming import Changes, kept_anew, named_anew
from inkaccord.recall.soon import Soon
from inkaccord.recording.from_book import look_up
from inkaccord.web.price_table import is_price_table, price_table_in_words, typed_price_table
from inkaccord.web.studio import OrderOnPage
from inkaccord.web.typed import typed_parts, typed_yaml
from inkaccord.workbench import Workbench

FIELD, CALL, LEAVE_OUT, AIM = "field/", "call/", "leave-out/", "aim/"
IS, STAYS, ASKED = "is/", "stays/", "asked/"
"""What the names of a form's fields begin with: a field of the order, a name that the order gives,
a piece, vendor or stock that goes, an aim, the name of a colour of the artwork, whether it stays,
and that this was asked."""
_LISTS = {"sheets"}
"""Fields that hold several things, which are typed with commas between."""
_REASONS = "waive"
"""A field that holds names with reasons, which are typed with semicolons between."""
AIM_KINDS = {
    "build": "as a build prints on a pair",
    "lab": "as CIELAB says (D50, 2°)",
    "by_eye": "as a thing looks, by eye",
    "from_book": "as the book has it",
}


@dataclass(frozen=True)
class Draft:
    """What was typed, as the order would have it."""

    text: str
    names: Mapping[FieldPath, str]
    """Names that are written otherwise: where they stood, and what they are now."""

    def path_now(self, path: FieldPath) -> FieldPath:
        """Return where a field of the form stands in the draft."""
        return tuple(self.names.get(path[: at + 1], part) for at, part in enumerate(path))


def draft_of(order: OrderOnPage, typed: Mapping[str, str], was: Mapping[Paint, str]) -> Draft:
    """Return an order as it was typed.

    Parameters
    ----------
    was
        The order's name for each colour of its artwork.

    Raises
    ------
    OrderError
        Where the file can't be changed so.
    """
    text = amended(order.text, _fields(order.text, typed))
    text = amended(text, _aims(text, typed))
    for name in _under(LEAVE_OUT, typed):
        path = tuple(name.split("/"))
        more = _assembled(text, path[-1]) if path[0] == "pieces" else {}
        text = amended(text, {path: None} | more)
    calls = _calls(typed)
    for path, name in sorted(calls.items(), key=lambda it: -len(it[0])):
        text = renamed(text, path, name)
        for priced in _tables_of(text, path):
            text = renamed(text, priced, name)
        text = amended(text, _references(text, path, name))
    first = next(iter(_part(text, "pieces").values()), {})
    pair = f"{first.get('device')}@{first.get('stock')}" if isinstance(first, Mapping) else ""
    names = {Paint.parse(key): it for key, it in _under(IS, typed).items()}
    stays = {Paint.parse(key): STAYS + key in typed for key in _under(ASKED, typed)}
    now = order.loaded.order
    called, changes = named_anew(now, was, names, lambda paint: first_aim(paint, pair))
    for old, new in called.items():
        text = renamed(text, ("colours", old), new)
        for piece in _part(text, "pieces"):
            text = renamed(text, ("pieces", piece, "accept", old), new)
        calls["colours", old] = new
    return Draft(amended(text, {**changes, **kept_anew(now, stays)}), calls)


def checked(
    order: OrderOnPage, text: str, soon: Soon, opened: Path
) -> tuple[tuple[Diagnostic, ...], bool]:
    """Return all that 'check' says of an order's text, whether it is an order or not.

    Return also whether more is being found out, which can be asked for ``soon``. Files that are
    typed anew and lie outside the folder ``opened`` are not looked into.
    """
    glance = soon.glance()
    try:
        loaded = load_order(order.path, order.plugins.vendor_kinds(), text.encode())
    except MisnamedError as problem:
        loaded = problem.loaded
    except InkaccordError as problem:
        return problem.findings, False
    kept = _files(order.loaded) if order.trouble is None else {}
    elsewhere = [
        note(
            "not-looked-into",
            f"'{path}' lies outside the folder that was opened: it is looked into once it is kept",
            place=loaded.source.place(field),
        )
        for path, field in _files(loaded).items()
        if path not in kept and not _lies_in(opened, loaded.folder / path)
    ]
    if elsewhere:
        return (*loaded.findings, *elsewhere), False
    try:
        if loaded.order.asks_book:
            loaded = look_up(loaded, order.shelf)
    except InkaccordError as problem:
        said = problem.findings
    else:
        said = said_of_whole(loaded, Workbench(loaded, recall=glance))
    return (*loaded.findings, *said), glance.is_short


def _files(loaded: LoadedOrder) -> dict[str, FieldPath]:
    """Return the files that a look ahead opens, and where the order names them."""
    found: dict[str, FieldPath] = {}
    for name, piece in loaded.order.pieces.items():
        found.setdefault(piece.artwork, ("pieces", name, "artwork"))
        if piece.merge is not None:
            found.setdefault(piece.merge.data, ("pieces", name, "merge", "data"))
    return found


def _lies_in(opened: Path, path: Path) -> bool:
    folder = opened if opened.is_dir() else opened.parent
    return path.resolve().is_relative_to(folder.resolve())


def beside(
    findings: Sequence[Diagnostic], fields: Mapping[str, FieldPath]
) -> dict[str, list[Diagnostic]]:
    """Return findings by the field of the form that they belong beside; the others under ''.

    Parameters
    ----------
    fields
        Where each field of the form stands in the order.
    """
    places = sorted(((".".join(path), key) for key, path in fields.items()), reverse=True)
    found: dict[str, list[Diagnostic]] = {}
    for finding in findings:
        said = finding.place.field or ""
        at = next((key for place, key in places if _is_within(said, place)), "")
        found.setdefault(at, []).append(finding)
    return found


def _is_within(said: str, place: str) -> bool:
    return said == place or said.startswith((f"{place}.", f"{place}["))


def _under(prefix: str, typed: Mapping[str, str]) -> dict[str, str]:
    """Return the fields whose names begin so, by the rest of their names."""
    found = {name: it.strip() for name, it in typed.items() if name.startswith(prefix)}
    return {name.removeprefix(prefix): it for name, it in found.items()}


def _fields(text: str, typed: Mapping[str, str]) -> Changes:
    """Return the fields that were typed otherwise than they stand."""
    changes: Changes = {}
    for name, said in _under(FIELD, typed).items():
        path = tuple(name.split("/"))
        if said != as_typed_in(text, path):
            changes[path] = _read_as(path)(said)
    return changes


def as_typed_in(text: str, path: FieldPath) -> str:
    """Return what stands at a place of an order's text, as a person types it into a form."""
    found = written_at(text, path)
    if is_price_table(path):
        return price_table_in_words(found)
    if path[-1] == _REASONS and isinstance(found, Mapping):
        said = "; ".join(f"{code}: {in_one_line(why)}" for code, why in found.items())
        return said if _reasons(said) == found else in_one_line(found)
    if path[-1] in _LISTS and isinstance(found, list) and not any("," in it for it in found):
        return ", ".join(found)
    return in_one_line(found)


def _read_as(path: FieldPath) -> Callable[[str], Written | None]:
    """Return what reads what was typed into the field of a place."""
    if is_price_table(path):
        return typed_price_table
    if path[-1] == _REASONS:
        return _reasons
    return _listed if path[-1] in _LISTS else typed_yaml


def _reasons(said: str) -> Written | None:
    """Return codes of findings with why each is accepted: with semicolons between, or as YAML.

    What a finding says to write into the order file is taken too, as it stands there.
    """
    parts = [it.partition(":") for it in typed_parts(said, ";")]
    if said.startswith("{") or not all(colon for _, colon, _ in parts):
        return typed_yaml(said)
    named = {code.strip().rpartition(".")[2]: why.strip().strip('"') for code, _, why in parts}
    return named or None


def _listed(said: str) -> Written | None:
    """Return what was typed with commas or new lines between, or as YAML has a list."""
    if said.startswith("["):
        return typed_yaml(said)
    return typed_parts(said, ",") or None


def aim_parts(aim: Written | None) -> tuple[str, str, str]:
    """Return an aim's kind, what it says, and its pair, as a form shows them."""
    if isinstance(aim, Mapping):
        for kind in AIM_KINDS:
            if kind in aim:
                said = aim[kind]
                what = said if isinstance(said, str) else " ".join(map(in_one_line, said))
                return kind, what, in_one_line(aim.get("on"))
    return "build", "", ""


def _aims(text: str, typed: Mapping[str, str]) -> Changes:
    changes: Changes = {}
    for name in {it.partition("/")[0] for it in _under(AIM, typed)}:
        path = ("colours", name, "aim")
        asked = [typed.get(f"{AIM}{name}/{part}", "").strip() for part in ("kind", "what", "on")]
        kind, what, on = asked
        before = aim_parts(written_at(text, path))
        if (kind, what, on if kind == "build" else before[2]) == before or kind not in AIM_KINDS:
            continue
        said: dict[str, Written] = {kind: what.replace(",", " ").split() if kind == "lab" else what}
        if kind == "build":
            said["on"] = on
        if kind == before[0]:
            changes |= {(*path, field): it for field, it in said.items()}
        else:
            changes[path] = said
    return changes


def _calls(typed: Mapping[str, str]) -> dict[FieldPath, str]:
    calls = {tuple(name.split("/")): it for name, it in _under(CALL, typed).items()}
    return {path: name for path, name in calls.items() if name and name != path[-1]}


def _references(text: str, path: FieldPath, name: str) -> Changes:
    """Return the fields that speak of a piece, a device or a stock, with its new name."""
    if path[-2] == "pieces":
        return _gone_with(text, path[-1], name) | _assembled(text, path[-1], name)
    kind, old = {"devices": "device", "stocks": "stock"}.get(path[-2], ""), path[-1]
    changes: Changes = {}
    if not kind:
        return changes
    for piece in _part(text, "pieces"):
        if written_at(text, ("pieces", piece, kind)) == old:
            changes["pieces", piece, kind] = name
    pairs = [("colours", colour, "aim", "on") for colour in _part(text, "colours")]
    for field in (*pairs, ("photographs_from",)):
        said = written_at(text, field)
        pair = _pair(said)
        if pair is not None and getattr(pair, kind) == old:
            changes[field] = str(pair.model_copy(update={kind: name}))
    return changes if kind == "device" else changes | _lists_of_stocks(text, old, name)


def _tables_of(text: str, path: FieldPath) -> list[FieldPath]:
    """Return the places of the price tables that vendors have of a piece or a stock."""
    own = {"pieces": "by_piece", "stocks": "by_stock"}.get(path[-2])
    if own is None:
        return []
    return [("vendors", it, "prices", own, path[-1]) for it in _part(text, "vendors")]


def _gone_with(text: str, old: str, name: str) -> Changes:
    """Return the pieces that go with another one, by its new name."""
    goes = {piece: written_at(text, ("pieces", piece, "goes")) for piece in _part(text, "pieces")}
    return {
        ("pieces", piece, "goes"): f"with {name}"
        for piece, said in goes.items()
        if isinstance(said, str) and said.split() == ["with", old]
    }


def _assembled(text: str, old: str, *name: str) -> Changes:
    """Return how a suite is laid together, a piece called otherwise, or left out."""
    listed = written_at(text, ("assembly",))
    if not isinstance(listed, list) or old not in listed:
        return {}
    at = listed.index(old)
    return {("assembly",): [*listed[:at], *name, *listed[at + 1 :]] or None}


def _pair(said: Written | None) -> Pair | None:
    try:
        return Pair.parse(said) if isinstance(said, str) else None
    except ValueError:
        return None


def _lists_of_stocks(text: str, old: str, name: str) -> Changes:
    changes: Changes = {}
    for vendor, fields in _part(text, "vendors").items():
        devices = fields.get("devices") if isinstance(fields, Mapping) else None
        for device in devices if isinstance(devices, Mapping) else ():
            path = ("vendors", vendor, "devices", device, "stocks")
            listed = written_at(text, path)
            if isinstance(listed, list) and old in listed:
                changes[path] = [name if it == old else it for it in listed]
    return changes


def _part(text: str, name: str) -> Mapping[str, Written]:
    found = written_at(text, (name,))
    return found if isinstance(found, Mapping) else {}
