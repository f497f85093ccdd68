"""A PostgreSQL server of the tests' own, on a free port of this machine, ended with them."""

import contextlib
import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from outside import need_module, need_program

_BY_DEBIAN = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
PG_CTL = shutil.which("pg_ctl", path=os.pathsep.join([*map(str, _BY_DEBIAN), os.environ["PATH"]]))
"""The program that starts and stops servers; None where there is none."""
USER = "postgres"
PASSWORD = "harbour-lantern-42"  # noqa: S105 - of a server that ends with the tests


@dataclass(frozen=True)
class OwnServer:
    """A server with one database, whose users come in with a password."""

    folder: Path
    port: int

    def address(self, schema: str = "public", user: str = USER) -> str:
        """Return the address of a shelf in a schema, without a password."""
        found = f"options=-csearch_path%3D{schema}"
        return f"postgresql://{user}@127.0.0.1:{self.port}/postgres?{found}"

    def ask(self, *statements: str, database: str = "postgres") -> list[tuple[object, ...]]:
        """Do statements as the server's owner; return what the last one gives."""
        psycopg = need_module("psycopg")
        place = f"host=127.0.0.1 port={self.port} user={USER} dbname={database}"
        with psycopg.connect(place, password=PASSWORD, autocommit=True) as connection:
            for statement in statements:
                given = connection.execute(statement)
            return list(given.fetchall()) if given.description else []

    def control(self, *words: str) -> None:
        """Start or stop it, and wait."""
        how = f"-h 127.0.0.1 -p {self.port} -k '' -c fsync=off"
        log = self.folder.parent / "log"
        _run("pg_ctl", "-D", self.folder, "-o", how, "-l", log, "-w", "-m", "immediate", *words)


def _run(program: str, *words: object) -> None:
    assert PG_CTL is not None
    # A server refuses to be run by the one who may do everything.
    other = ["runuser", "-u", USER, "--"] if os.geteuid() == 0 else []
    command = [*other, str(Path(PG_CTL).with_name(program)), *map(str, words)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd="/")


@contextlib.contextmanager
def own_server() -> Iterator[OwnServer]:
    """Start a server; skip with the reason (fail in CI) where there is none to start."""
    need_module("psycopg")
    if PG_CTL is None:
        need_program("pg_ctl", "postgresql")
    place = Path(tempfile.mkdtemp(prefix="shelf-server-"))
    try:
        (place / "password").write_text(PASSWORD)
        if os.geteuid() == 0:
            shutil.chown(place, USER)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            server = OwnServer(place / "data", free.getsockname()[1])
        _run(
            "initdb", "-D", server.folder, "-U", USER, "-A", "scram-sha-256",
            f"--pwfile={place / 'password'}", "--no-sync", "-E", "UTF8", "--locale=C.UTF-8",
        )  # fmt: skip
        server.control("start")
        try:
            yield server
        finally:
            server.control("stop")
    finally:
        shutil.rmtree(place, ignore_errors=True)
