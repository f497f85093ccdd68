"""The kinds of program that artwork is made with."""

from enum import StrEnum


class ProgramKind(StrEnum):
    """What kind of program wrote a file."""

    VECTOR = "vector editor"
    LAYOUT = "layout program"
    OFFICE = "office suite"
    TYPESETTER = "typesetter"
    WEB = "web page to PDF"
    UNKNOWN = "unknown"
