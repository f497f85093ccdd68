"""What is said of a database that can't be used as a shelf, wherever it lies."""

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.shelf.schema import SCHEMA_VERSION, versions


def another_programs(place: Place, hint: str) -> FileError:
    """Return what is said of a database that another program made."""
    return FileError.of(
        "not-a-shelf",
        "this is a database of another program, not a shelf; nothing in it was touched",
        place=place,
        hint=hint,
    )


def newer(version: int, place: Place) -> FileError:
    """Return what is said of a shelf that a later inkaccord made or brought up to date."""
    return FileError.of(
        "newer-shelf",
        f"this shelf has version {version}; this inkaccord knows versions up to "
        f"{SCHEMA_VERSION}. Nothing in it was touched",
        place=place,
        hint="update inkaccord, or use another shelf",
    )


def for_its_owner(version: int, place: Place) -> FileError:
    """Return what is said to one who may not make a shelf's tables, or change them."""
    if version:
        what = f"this shelf has version {version}, and only the owner of its tables may change them"
        hint = "ask whoever that is to give any command on it, as 'inkaccord shelf list'"
    else:
        what = "there is no shelf here that you may see, and you may not make one"
        hint = "ask whoever keeps the server to let you in, or to give a first command on it"
    return FileError.of("shelf-for-its-owner", what, place=place, hint=hint)


def spoilt(place: Place) -> FileError:
    """Return what is said of a shelf that no longer says of which version it is."""
    return FileError.of(
        "damaged-shelf",
        f"the shelf's table '{versions.name}' does not say of which version it is",
        place=place,
        hint="restore a backup",
    )


def busy(wait_s: float, place: Place) -> FileError:
    """Return what is said when another one has kept the lock for too long."""
    return FileError.of(
        "shelf-busy",
        f"another run is writing to the shelf; waited {wait_s:g} s",
        place=place,
        hint="let it end, then do this again: nothing on it was changed",
    )
