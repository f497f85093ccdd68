"""The base of every value that passes between the parts."""

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """A value: it cannot change, and a field it does not know is a mistake.

    Values compare and hash by content, dump to JSON, and write their own JSON Schema.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", validate_default=True)
