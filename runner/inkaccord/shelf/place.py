"""Where a shelf is: a file, or a PostgreSQL server."""

from dataclasses import dataclass
from pathlib import Path
from urllib.parse import parse_qs, unquote, urlsplit

from inkaccord.errors import OrderError

SERVER = "postgresql"
SHELF_OF_ITS_OWN = "; for an order with a shelf of its own, add '--order DIR'"
"""What is added to a hint where another shelf may have what is asked for: a page has its own."""
_FILE = "sqlite"


@dataclass(frozen=True)
class Server:
    """A shelf on a server, by its address, which never has a password in it."""

    address: str

    def __str__(self) -> str:
        return self.address


ShelfPlace = Path | Server


def place_of(location: str | Path | Server) -> ShelfPlace:
    """Return where a shelf is: a path, ``sqlite:///path`` or ``postgresql://host/database``.

    Raises OrderError, also for an address with a password: it would show in lists of processes.
    """
    if isinstance(location, Server):
        return location
    try:
        if isinstance(location, Path) or "://" not in location:
            return Path(location).expanduser()
    except RuntimeError as problem:  # ~nobody
        raise OrderError.of("bad-shelf", f"{location} is no place for a shelf: {problem}") from None
    scheme, _, rest = location.partition("://")
    if scheme == SERVER:
        return _server(location)
    if scheme != _FILE or not rest.removeprefix("/"):
        raise OrderError.of(
            "bad-shelf",
            f"{scheme}://… is not a shelf: expected a path, sqlite:///path or "
            "postgresql://host/database",
        )
    return Path(unquote(rest.removeprefix("/"))).expanduser()


def is_there(place: ShelfPlace) -> bool:
    """Tell whether a shelf's file is there; a server's is asked for when it is opened."""
    return not isinstance(place, Path) or place.is_file()


def _server(location: str) -> Server:
    try:
        parts = urlsplit(location)
        told = parts.password is not None or any("password" in it for it in parse_qs(parts.query))
        _ = parts.port
    except ValueError as problem:
        raise OrderError.of("bad-shelf", f"the shelf's address is none: {problem}") from None
    if told:
        raise OrderError.of(
            "password-in-address",
            "a shelf's address has no password in it, since others can read it in the list of "
            "processes, and commands and records repeat it",
            hint="leave it out, and give it in ~/.pgpass, a service file or PGPASSWORD; one that "
            "was typed here should be changed",
        )
    return Server(location)
