"""What was sent to a vendor and when, and whether it is still what goes now."""

import datetime

from pydantic import Field

from inkaccord.models import Frozen


class Sending(Frozen):
    """That a vendor was sent its files.

    Attributes
    ----------
    package
        SHA-256 of the zip.
    files
        SHA-256 of each print file, by its path in the out folder.
    copies
        How many of each piece were asked for.
    builds
        Of each brand colour and tint on it, by words such as ``kelp, 40 % tint, on laser@kraft``.
    """

    vendor: str
    on: datetime.date
    note: str = ""
    package: str
    files: dict[str, str]
    copies: dict[str, int]
    builds: dict[str, str] = Field(default_factory=dict)


class SentNow(Frozen):
    """What a vendor was sent last, and what is otherwise now."""

    vendor: str
    on: datetime.date
    note: str = ""
    changed: tuple[str, ...] = Field(default=())
    """In words, a line for each; nothing where it was sent what goes now."""
