"""The suite as it will print: the report of the last run, in a page of its own."""

from starlette.requests import Request
from starlette.responses import Response

from inkaccord.web.rendering import page
from inkaccord.web.studio import asked_order


def suite_page(request: Request) -> Response:
    """Show the report, and whether anything was changed since."""
    order = asked_order(request)
    files = order.run.files if order.run is not None else ()
    return page(
        "suite.html",
        order=order,
        has_report=any(it.path == "report.html" for it in files),
        running=request.app.state.runs.of(order.key),
    )
