"""A page for whoever made each artwork: how it was understood, and what to change."""

from starlette.requests import Request
from starlette.responses import Response

from inkaccord.files import zipped
from inkaccord.foresight.ahead import said_of_whole
from inkaccord.report.artwork_letter import artwork_letters
from inkaccord.web.studio import asked_order, recalled
from inkaccord.workbench import Workbench


def save_letters(request: Request) -> Response:
    """Send the letters that ``check --letters`` writes, in a zip."""
    loaded = asked_order(request).with_book()
    with recalled(request.app.state.recent, loaded) as recall:
        bench = Workbench(loaded, recall=recall)
        said = said_of_whole(loaded, bench)  # wanted most of all where something is wrong
        files = artwork_letters(loaded.order, loaded.order.pieces, bench, said)
    data = zipped({it.path: it.data for it in files}, loaded.order.date)
    named = {"Content-Disposition": 'attachment; filename="letters.zip"'}
    return Response(data, media_type="application/zip", headers=named)
