"""The shelf's tests, on both kinds of database."""

import hashlib
from collections.abc import Iterator

import pytest

from inkaccord.shelf.place import Server, ShelfPlace, place_of
from postgres_kit import PASSWORD, OwnServer, own_server

OF_ONE_KIND = {"test_database", "test_restoring", "test_recording_whole", "test_server"}
"""What is about files, or servers, alone; one tries hundreds of files, on a new shelf each."""


@pytest.fixture(scope="session")
def server() -> Iterator[OwnServer]:
    """A server for all of them."""
    with own_server() as server:
        yield server


@pytest.fixture
def postgres(server: OwnServer, monkeypatch: pytest.MonkeyPatch) -> OwnServer:
    """That server, with the password where its users may have it."""
    monkeypatch.setenv("PGPASSWORD", PASSWORD)
    return server


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Let every test of the shelf that is not about its file run once more on a server."""
    module = metafunc.module.__name__.rpartition(".")[2]
    about_file = metafunc.definition.get_closest_marker("about_its_file")
    if module not in OF_ONE_KIND and not about_file:
        kinds = ["a file", pytest.param("a server", marks=pytest.mark.slow)]
        metafunc.parametrize("kind_of_shelf", kinds, indirect=True)


@pytest.fixture(autouse=True)
def kind_of_shelf(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a shelf that is opened by its path lie on the server, in a schema for that path."""
    if getattr(request, "param", "a file") == "a file":
        return
    server: OwnServer = request.getfixturevalue("postgres")

    def on_server(location: str | ShelfPlace) -> ShelfPlace:
        place = place_of(location)
        if isinstance(place, Server):
            return place
        schema = "s" + hashlib.sha256(str(place).encode()).hexdigest()[:20]
        server.ask(f"CREATE SCHEMA IF NOT EXISTS {schema}")
        return Server(server.address(schema))

    monkeypatch.setattr("inkaccord.shelf.store.place_of", on_server)
