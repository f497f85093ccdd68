"""Where the file of a shelf lies."""

from pathlib import Path

from inkaccord.errors import OrderError


def path_of(location: str | Path) -> Path:
    """Return the file of a shelf, given as a path or as ``sqlite:///path``. Raises OrderError."""
    try:
        if isinstance(location, Path) or "://" not in location:
            return Path(location).expanduser()
    except RuntimeError as problem:  # ~nobody
        raise OrderError.of("bad-shelf", f"{location} is no place for a shelf: {problem}") from None
    import sqlalchemy as sa  # noqa: PLC0415 - slow to load, and few shelves are given so

    try:
        url = sa.make_url(location)
    except sa.exc.ArgumentError:
        url = None
    if url is None or url.get_backend_name() != "sqlite" or not url.database:
        raise OrderError.of(
            "bad-shelf",
            f"{location!r} is not a shelf: expected a path or sqlite:///path",
        )
    return Path(url.database).expanduser()
