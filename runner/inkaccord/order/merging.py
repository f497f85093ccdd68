"""Records that are laid over a piece's artwork: the table that they stand in, and the fields."""

from typing import Annotated

from pydantic import Field

from inkaccord.layout.records.model import RecordField
from inkaccord.models import Frozen
from inkaccord.order.names import Name


class Merge(Frozen):
    """A table with a line for every copy, laid over the artwork."""

    data: Annotated[
        str,
        Field(
            description="CSV, in UTF-8 or marked UTF-16, from the order's folder: names of "
            "columns, then a line for each copy",
            min_length=1,
        ),
    ]
    fields: Annotated[dict[Name, RecordField], Field(min_length=1)]
