"""The base of every value that passes between the parts."""

from typing import Self

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """A value: it cannot change, and a field it does not know is a mistake.

    Values compare and hash by content, dump to JSON, and write their own JSON Schema.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=True)

    def __copy__(self) -> Self:
        """Return a copy without its cached properties: fields that change would belie them."""
        copied = super().__copy__()
        for name in copied.__dict__.keys() - type(self).model_fields.keys():
            del copied.__dict__[name]
        return copied
