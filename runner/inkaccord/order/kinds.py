"""Kinds of vendor: a plugin makes a whole profile from a few options."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from inkaccord.models import Frozen
from inkaccord.order.vendors import Vendor


@dataclass(frozen=True)
class VendorKind:
    """What a plugin offers under ``vendors: NAME: kind: …``.

    Attributes
    ----------
    name
        The word after ``kind:``; short, kebab-case, one plugin's only.
    options
        A frozen model of the other keys of that vendor, extra forbidden. It becomes part of the
        order file's JSON Schema.
    profile
        Makes the vendor's profile from its name in the order and its options. Raises ValueError
        for options that don't go together.
    summary
        One line for ``inkaccord plugins``.
    """

    name: str
    options: type[Frozen]
    profile: Callable[[str, Any], Vendor]
    summary: str = ""
