"""Where a piece goes in its suite, as the order says it."""

from enum import StrEnum
from typing import Any, Self

from pydantic import model_serializer, model_validator

from inkaccord.models import Frozen
from inkaccord.written import plain, shown


class Goes(StrEnum):
    """Where a piece goes in its suite."""

    WITHIN = "within"
    """With the others, in the suite's envelope if it has one."""
    WITH = "with"
    """With another piece, such as a reply card with its envelope."""
    ROUND = "round"
    """Round the others: a band."""
    BESIDE = "beside"
    """Beside the suite: a box, a rolled print."""


class Going(Frozen):
    """Where a piece goes in its suite: `within`, `round`, `beside`, or `with` another piece."""

    how: Goes
    other: str | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, value: Any) -> Any:
        """Read ``round`` or ``with reply-envelope``."""
        if not isinstance(value, str):
            return value
        word, _, other = plain(value).partition(" ")
        if word.lower() in set(Goes):
            return {"how": word.lower(), "other": other.strip() or None}
        raise ValueError(
            f"{shown(value)} is no place in a suite: expected 'within', 'round', 'beside', or "
            "'with' and the name of a piece"
        )

    @model_validator(mode="after")
    def _with_another(self) -> Self:
        if (self.how is Goes.WITH) != (self.other is not None):
            raise ValueError("'with' takes the name of a piece after it, and nothing else does")
        return self

    @model_serializer
    def _as_text(self) -> str:
        return self.how if self.other is None else f"{self.how} {self.other}"
