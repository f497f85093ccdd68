"""The shelf of an order: its sheets, how old and how used they are, and what became of them."""

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.shelf.overview import ListPage
from inkaccord.shelf.store import Shelf
from inkaccord.web.rendering import page
from inkaccord.web.studio import asked_order


def shelf_page(request: Request) -> Response:
    """List the sheets of an order's shelf, pair by pair."""
    order = asked_order(request)
    told = request.query_params.get("page", "1")
    number = max(1, int(told)) if told.isdecimal() and len(told) < 7 else 1
    with Shelf.open(order.shelf) as shelf, shelf.one_state():
        lines = shelf.overview(retired=True, page=ListPage.numbered(number))
        of_all = shelf.number_of_sheets(retired=True)
    return page(
        "shelf.html",
        order=order,
        lines=lines,
        number=number,
        pages=ListPage.pages(of_all),
        of_all=of_all,
    )


async def change(request: Request) -> Response:
    """Mark a sheet as printed, or retire it with a reason; what was read of it stays on record."""
    order, form = asked_order(request), await request.form()
    sheet = request.path_params["sheet"]
    with Shelf.open(order.shelf) as shelf:
        if form.get("do") == "retire":
            shelf.retire(sheet, str(form.get("why", "")))
        else:
            shelf.mark_printed(sheet)
    return RedirectResponse(f"/order/{order.key}/shelf", 303)
