"""Serving the page on this machine's own loopback address, until it is stopped."""

import socket
import webbrowser
from collections.abc import Callable

import uvicorn

from inkaccord.errors import FileError
from inkaccord.web.app import make_app
from inkaccord.web.gate import Start
from inkaccord.web.running import OrderRuns
from inkaccord.web.studio import Studio
from inkaccord.web.uploads import Uploads


def serve(
    studio: Studio,
    runs: OrderRuns,
    *,
    port: int,
    open_browser: bool,
    say: Callable[[str], None],
) -> None:
    """Serve until Ctrl-C. ``port`` 0 takes a free one. Raises FileError for one that is taken."""
    with _listening(port) as listening:
        start = Start(listening.getsockname()[1])
        uploads = Uploads()
        app = make_app(studio, runs, uploads, start)
        server = uvicorn.Server(
            uvicorn.Config(app, log_level="error", access_log=False, server_header=False)
        )
        say(start.address)
        if open_browser:
            webbrowser.open(start.address)
        try:
            server.run(sockets=[listening])
        finally:
            runs.stop_all()
            uploads.close()


def _listening(port: int) -> socket.socket:
    listening = socket.socket()
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(("127.0.0.1", port))
        listening.listen(128)  # who comes before the server is up waits
    except OSError as problem:
        listening.close()
        raise FileError.of(
            "port-taken",
            f"port {port} can't be used: {problem.strerror}",
            hint="leave --port out, and a free one is taken",
        ) from None
    return listening
