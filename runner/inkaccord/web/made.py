"""What a run made, to be opened in the browser: only what its record names."""

import mimetypes

from starlette.requests import Request
from starlette.responses import FileResponse, Response

from inkaccord.errors import FileError
from inkaccord.files import inside
from inkaccord.web.gate import MADE
from inkaccord.web.studio import asked_order

_SHOWN = {"application/pdf", "text/html", "text/plain", "image/png"}
"""Kinds that a browser shows; every other is to be saved."""


def made(request: Request) -> Response:
    """Send a file of an order's last run. Raises FileError for any other."""
    order = asked_order(request)
    path = request.path_params["path"]
    if order.run is None or path not in {it.path for it in order.run.files}:
        raise FileError.of(
            "no-such-file", "the last run made no such file", hint="go back to the order"
        )
    kind = mimetypes.guess_type(path)[0] or "application/octet-stream"
    headers = {"Content-Security-Policy": MADE} if kind == "text/html" else {}
    return FileResponse(
        inside(order.out, path),
        media_type=kind,
        headers=headers,
        filename=path.rpartition("/")[2],
        content_disposition_type="inline" if kind in _SHOWN else "attachment",
    )
