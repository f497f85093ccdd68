"""Loading an order: every mistake of the file in one go."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from inkaccord.diagnostics import Diagnostic, Severity, error
from inkaccord.errors import OrderError
from inkaccord.order.book import FromBook
from inkaccord.order.folding import folded
from inkaccord.order.kinds import VendorKind
from inkaccord.order.meaning import read_meaning
from inkaccord.order.mistakes import findings_of, suggest
from inkaccord.order.model import Order
from inkaccord.order.names import ANY_NAME, Name, check_names
from inkaccord.order.references import check_references
from inkaccord.order.sense import check_sense
from inkaccord.order.source import Source, dotted, read_source
from inkaccord.order.vendors import Vendor

ORDER_FILE = "order.yaml"
"""The order's file where a folder stands for it."""
_NAMED_VENDOR = TypeAdapter(dict[Name, Vendor])


@dataclass(frozen=True)
class LoadedOrder:
    """An order, where its parts stand in the file, and what is worth saying about it."""

    order: Order
    path: Path
    source: Source
    findings: tuple[Diagnostic, ...]
    book: tuple[FromBook, ...] = ()
    """What the studio's book says of its colours, once that was asked for."""

    @property
    def sha256(self) -> str:
        """Of the file as it was when it was read."""
        return self.source.sha256

    @property
    def folder(self) -> Path:
        """The folder that the order's own paths start from."""
        return self.path.parent


class MisnamedError(OrderError):
    """Nothing is wrong with an order but names: all else can be looked at, and nothing made.

    Attributes
    ----------
    loaded
        The order with its names as they are, and what is to be said of it.
    """

    def __init__(self, loaded: LoadedOrder) -> None:
        super().__init__(loaded.findings)
        self.loaded = loaded


def load_order(
    path: Path, kinds: Mapping[str, VendorKind], typed: bytes | None = None
) -> LoadedOrder:
    """Load an order file.

    Parameters
    ----------
    path
        The YAML file.
    kinds
        The kinds of vendor that plugins offer, by name.
    typed
        What is to stand in the file, where it is not written yet.

    Raises
    ------
    FileError
        The file can't be read.
    OrderError
        With every mistake in the file, each with its line and column; as :class:`MisnamedError`
        where they are in names alone.
    """
    source = read_source(path, typed)
    if not isinstance(source.data, dict):
        raise OrderError.of(
            "no-mapping",
            "an order starts with 'order: NAME'",
            place=source.place(()),
            hint="'inkaccord new DIR' writes a starter order",
        )
    source, findings = folded(source)
    source = replace(source, data=_as_meant(source.data))
    vendors = _vendors(source, kinds, findings)
    order, wrong = _order(source, vendors)
    findings += wrong
    if order is not None:
        findings += check_sense(order, source)
    findings += check_references(source, vendors)
    findings += check_names(source)
    findings.sort(key=lambda finding: (finding.place.line or 0, finding.place.column or 0))
    errors = {finding for finding in findings if finding.severity is Severity.ERROR}
    if order is None or errors - set(wrong):
        raise OrderError(findings)
    loaded = LoadedOrder(order=order, path=path, source=source, findings=tuple(findings))
    if errors:
        raise MisnamedError(loaded)
    return loaded


def _order(
    source: Source, vendors: Mapping[str, Vendor | None]
) -> tuple[Order | None, list[Diagnostic]]:
    """Make the order of the vendors that could be made, and return what is wrong with it.

    Where that is names alone, the order has them as they are; else there is none.
    """
    data = dict(source.data)
    if vendors:
        data["vendors"] = {name: it for name, it in vendors.items() if it is not None}
    said: dict[Diagnostic, None] = {}
    order: Order | None = None
    for context in (None, {ANY_NAME}):
        try:
            order = Order.model_validate(data, context=context)
            break
        except ValidationError as problem:
            # That no vendor is left is no mistake of its own: what is wrong with each was said.
            rest = (it for it in problem.errors() if not vendors or it["loc"] != ("vendors",))
            said |= dict.fromkeys(findings_of(rest, source, Order))
    return order, list(said)


def _as_meant(data: dict[str, Any]) -> dict[str, Any]:
    """Return an order's data as its models take it; a vendor of a kind is left to the kind's."""
    meant: dict[str, Any] = read_meaning(data, Order)
    written = data.get("vendors")
    if isinstance(written, dict):
        of_kinds = {name: fields for name, fields in written.items() if _kind(fields)}
        meant["vendors"] = {**meant["vendors"], **of_kinds}
    return meant


def _kind(written: object) -> str | None:
    kind = written.get("kind") if isinstance(written, dict) else None
    return kind if isinstance(kind, str) else None


def _vendors(
    source: Source, kinds: Mapping[str, VendorKind], findings: list[Diagnostic]
) -> dict[str, Vendor | None]:
    """Make every vendor's profile; None for one that is wrong, which is then a finding."""
    written = source.data.get("vendors")
    vendors: dict[str, Vendor | None] = {}
    for name, fields in (written if isinstance(written, dict) else {}).items():
        word = _kind(fields)
        if word is None:
            vendors[name] = _written_out(name, fields, source, findings)
        else:
            vendors[name] = _of_kind(name, word, fields, source, kinds, findings)
    return vendors


def _written_out(
    name: str, fields: object, source: Source, findings: list[Diagnostic]
) -> Vendor | None:
    try:
        return _NAMED_VENDOR.validate_python({name: fields})[name]
    except ValidationError as problem:
        wrong = [it | {"loc": ("vendors", *it["loc"])} for it in problem.errors()]
        findings += findings_of(wrong, source, Order)
        return None


def _of_kind(
    name: str,
    word: str,
    fields: dict[str, object],
    source: Source,
    kinds: Mapping[str, VendorKind],
    findings: list[Diagnostic],
) -> Vendor | None:
    base = ("vendors", name)
    kind = kinds.get(word)
    if kind is None:
        findings.append(
            error(
                "unknown-kind",
                f"no plugin offers the kind of vendor '{word}'",
                place=source.place((*base, "kind")),
                hint=suggest(word, kinds) or "install the plugin that offers it",
            )
        )
        return None
    options = read_meaning({key: it for key, it in fields.items() if key != "kind"}, kind.options)
    try:
        checked = kind.options.model_validate(options)
    except ValidationError as problem:
        findings += findings_of(problem.errors(), source, kind.options, base)
        return None
    try:
        profile = kind.profile(name, checked)
    except ValidationError as problem:
        wrong = [
            (e["loc"], finding)
            for e in problem.errors()
            for finding in findings_of([e], source, Vendor)
        ]
        text = "; ".join(f"{dotted(loc)}: {it.message}" for loc, it in wrong)
        findings.append(_broken(source, base, word, text))
        return None
    except ValueError as problem:
        findings.append(error("bad-value", str(problem), place=source.place(base)))
        return None
    except Exception as problem:  # noqa: BLE001 - a plugin's crash becomes a finding
        findings.append(_broken(source, base, word, f"{type(problem).__name__}: {problem}"))
        return None
    if not isinstance(profile, Vendor):
        findings.append(_broken(source, base, word, f"gave {type(profile).__name__}, no Vendor"))
        return None
    return profile.model_copy(update={"kind": word})


def _broken(source: Source, base: tuple[str, ...], word: str, text: str) -> Diagnostic:
    return error(
        "plugin-failed",
        f"the plugin for the kind '{word}' failed: {text}",
        place=source.place(base),
        hint="tell the plugin's author; write the profile out in the order until it is mended",
    ).model_copy(update={"source": word})
