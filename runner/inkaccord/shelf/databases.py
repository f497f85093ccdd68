"""The two kinds of database that a shelf can be, of which one set of statements knows nothing."""

from pathlib import Path

from inkaccord.errors import OrderError
from inkaccord.shelf.database import Database
from inkaccord.shelf.place import ShelfPlace
from inkaccord.shelf.server import ServerDatabase

AnyDatabase = Database | ServerDatabase


def database_at(place: ShelfPlace) -> AnyDatabase:
    """Return the database of a shelf, not yet opened."""
    return Database(place) if isinstance(place, Path) else ServerDatabase(place)


def place_of_database(database: AnyDatabase) -> ShelfPlace:
    """Return the file that a shelf lies in, or its server."""
    return database.path if isinstance(database, Database) else database.server


def file_of(database: AnyDatabase) -> Database:
    """Return a database that is a file. Raises OrderError for a server, which has its own means."""
    if isinstance(database, Database):
        return database
    raise OrderError.of(
        "shelf-on-a-server",
        f"{database.server} is a shelf on a server, which is backed up and restored as servers are",
        hint="pg_dump and pg_restore of PostgreSQL do it; 'inkaccord shelf export' writes all of "
        "it as text, and 'inkaccord shelf import' takes that in anywhere",
    )
