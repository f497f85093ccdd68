"""The page on which other devices join: the code on this screen, and the field on theirs."""

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.drawing.qr import QUIET_MODULES, qr_code
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.web.gate import JOIN, Start
from inkaccord.web.joining import Joining
from inkaccord.web.rendering import page


def devices_page(request: Request) -> Response:
    """Show the code, and who joined: at this machine alone."""
    start, joining = _at_home(request)
    places = [f"http://{it}{JOIN}" for it in sorted(start.house)]
    return page(
        "devices.html",
        joining=joining,
        places=places,
        qr=_drawn(places[0]) if places else None,
    )


async def change(request: Request) -> Response:
    """Make another code, or send a device away."""
    _, joining = _at_home(request)
    form = await request.form()
    away = str(form.get("away", ""))
    if away.isdecimal() and len(away) < 7:
        joining.send_away(int(away))
    else:
        joining.renew()
    return RedirectResponse("/devices", 303)


def join_page(request: Request) -> Response:
    """Ask for the code."""
    _joining(request)
    return page("join.html", name="", findings=())


async def join(request: Request) -> Response:
    """Let a device in that says the code, with a key of its own."""
    joining, start = _joining(request), _start(request)
    form = await request.form()
    name = str(form.get("name", ""))
    try:
        key = joining.join(str(form.get("code", ""))[:40], name)
    except InkaccordError as problem:
        return page("join.html", 403, name=name, findings=problem.findings)
    answer = RedirectResponse("/", 303)
    answer.set_cookie(start.cookie, key, httponly=True, samesite="strict")
    return answer


def _start(request: Request) -> Start:
    start: Start = request.app.state.start
    return start


def _joining(request: Request) -> Joining:
    joining = _start(request).joining
    if joining is None:
        raise OrderError.of(
            "not-on-network",
            "the page was opened for this machine alone",
            hint="end it, and open it with 'inkaccord open --on-network'",
        )
    return joining


def _at_home(request: Request) -> tuple[Start, Joining]:
    """Return what only who started the page may see. Raises OrderError for a device that joined."""
    joining, start = _joining(request), _start(request)
    if not start.takes(request.cookies.get(start.cookie)):
        raise OrderError.of(
            "not-at-home", "this is shown at the machine alone on which the page was opened"
        )
    return start, joining


def _drawn(text: str) -> Markup:
    """Return a QR code as SVG."""
    rows = qr_code(text).matrix
    side = len(rows) + 2 * QUIET_MODULES
    dark = "".join(
        f"M{x + QUIET_MODULES} {y + QUIET_MODULES}h1v1h-1z"
        for y, row in enumerate(rows)
        for x, module in enumerate(row)
        if module
    )
    return Markup(  # noqa: S704 - numbers alone
        f'<svg class="qr" viewBox="0 0 {side} {side}" role="img" aria-label="The address as a QR '
        f'code"><rect width="{side}" height="{side}" fill="#fff"/><path d="{dark}" fill="#000"/>'
        "</svg>"
    )
