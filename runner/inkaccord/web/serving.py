"""Serving the page until it is stopped: on the loopback address, or in the house if asked."""

import socket
import webbrowser
from collections.abc import Callable

import uvicorn

from inkaccord.errors import FileError
from inkaccord.web.app import make_app
from inkaccord.web.gate import JOIN, Start
from inkaccord.web.joining import Joining, own_addresses
from inkaccord.web.running import Commands
from inkaccord.web.studio import Studio
from inkaccord.web.uploads import Uploads

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"  # noqa: S104 - only where a person asks for it


def serve(
    studio: Studio,
    runs: Commands,
    *,
    port: int,
    open_browser: bool,
    on_network: bool,
    say: Callable[[str], None],
) -> None:
    """Serve until Ctrl-C. ``port`` 0 takes a free one. Raises FileError for one that is taken.

    Where it is ``on_network`` other devices of the house may join.
    """
    with _listening(port, EVERYWHERE if on_network else LOOPBACK) as listening:
        joining = Joining(own_addresses()) if on_network else None
        start = Start(listening.getsockname()[1], joining)
        uploads = Uploads()
        app = make_app(studio, runs, uploads, start)
        server = uvicorn.Server(
            uvicorn.Config(app, log_level="error", access_log=False, server_header=False)
        )
        say(start.address)
        if joining is not None:
            for place in sorted(start.house):
                say(f"Other devices join at http://{place}{JOIN} with the code {joining.code}.")
        if open_browser:
            webbrowser.open(start.address)
        try:
            server.run(sockets=[listening])
        finally:
            runs.stop_all()
            uploads.close()
            app.state.soon.close()


def _listening(port: int, address: str) -> socket.socket:
    listening = socket.socket()
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((address, port))
        listening.listen(128)  # who comes before the server is up waits
    except OSError as problem:
        listening.close()
        raise FileError.of(
            "port-taken",
            f"port {port} can't be used: {problem.strerror}",
            hint="leave --port out, and a free one is taken",
        ) from None
    return listening
