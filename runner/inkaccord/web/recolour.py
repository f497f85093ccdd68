"""One PDF: its colours with their area, and a copy in which some of them are others."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.artwork.inventory.inventory import ColourEntry, inventory
from inkaccord.artwork.inventory.nearest import ColourStanding, Nearest
from inkaccord.artwork.inventory.page import inventory_page
from inkaccord.artwork.inventory.places import SeenPage
from inkaccord.artwork.one_file import CopySaid
from inkaccord.artwork.profiled import Profiled
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, note
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.files import read_bytes, safe_name
from inkaccord.foresight.one_file import FileColours, file_colours
from inkaccord.foresight.palette import paints_of
from inkaccord.web.artworks import clicked, drawn, looks_of, page_in, said_of_place, sizes_of
from inkaccord.web.gate import MADE
from inkaccord.web.rendering import page
from inkaccord.web.running import Commands, Running, as_events
from inkaccord.web.studio import OrderOnPage, Studio
from inkaccord.web.uploads import HELD, nothing_dropped, uploads_of

BECOMES = "becomes/"
"""What the names of the fields begin with that say what a colour becomes."""
OPTIONS = {
    "keep_spots": ["--keep-spots"],
    "no_tints": ["--no-tints"],
    "overprint_off": ["--overprint-off"],
    "black": ["--neutrals", "black"],
    "plain": ["--profiled", "plain"],
    "break_signature": ["--break-signature"],
}
"""What the command is told for each tick."""
MOST_TRIALS = 24
"""Copies that are remembered; of more the oldest goes."""
AT, SHOW, TRY = "at/", "show", "try"
MOST_TYPED, MOST_TEXT, MOST_ROWS, MOST_FIELDS = 200, 4000, 300, 2000


@dataclass(frozen=True)
class ColourRow:
    """A colour of the file.

    Attributes
    ----------
    paints
        What may be swapped here: the colour, or the stops of a gradient that stand nowhere else.
    looks
        How it looks on a screen, ``#2F5D50``, a gradient from stop to stop; empty for what is not
        on the first pages.
    is_own
        Which of an order's colours it is, in words; empty without one.
    """

    entry: ColourEntry
    paints: tuple[Paint, ...]
    looks: tuple[str, ...]
    is_own: str

    @property
    def shown_by(self) -> str:
        """The colour by which the pictures show it; empty where none names it."""
        return str(next(iter(paints_of(self.entry.colour)), ""))


@dataclass(frozen=True)
class Trial:
    """A copy that is being made, or was, and what was typed for it."""

    typed: Mapping[str, str]
    running: Running


def recolour_page(request: Request) -> Response:
    """Ask for a PDF; or show how far a copy is, and then what it became."""
    word = request.query_params.get("copy", "")
    if word:
        return _tried(request, word, _trial(request, word))
    return _shown(request, {"order": request.query_params.get("order", "")})


def progress(request: Request) -> Response:
    """Send how far a copy is, and that it is made."""
    return as_events(_trial(request, request.path_params["word"]).running)


async def stop(request: Request) -> Response:
    """Stop the making of a copy."""
    word = request.path_params["word"]
    _trial(request, word).running.stop()
    return RedirectResponse(f"/recolour?copy={word}", 303)


async def change(request: Request) -> Response:
    """Show the colours of a PDF, or what it would become."""
    async with request.form(max_files=1, max_fields=MOST_FIELDS) as form:
        texts = {name: it for name, it in form.items() if isinstance(it, str)}
        most = {"swaps": MOST_TEXT}
        typed = {name: it[: most.get(name, MOST_TYPED)] for name, it in texts.items()}
        typed[HELD] = await uploads_of(request).of_form(form, "file")
    if typed[HELD] and typed.get("do") == TRY:
        try:
            return RedirectResponse(f"/recolour?copy={_try(request, typed)}", 303)
        except InkaccordError as problem:
            refused = partial(_shown, request, typed, findings=problem.findings)
            return await run_in_threadpool(refused)
    findings = () if typed[HELD] else nothing_dropped().findings
    return await run_in_threadpool(partial(_shown, request, typed, findings=findings))


def picture(request: Request) -> Response:
    """Send the picture of a page of a file that lies here."""
    return drawn(_page(request), request)


def pointed_at(request: Request) -> Response:
    """Say which colour stands at a place."""
    return said_of_place(_page(request), request)


def copy(request: Request) -> Response:
    """Send a copy that was proved."""
    path = _file(request)
    named = {"Content-Disposition": f'attachment; filename="{path.name}"'}
    return Response(read_bytes(path), media_type="application/pdf", headers=named)


def colours_file(request: Request) -> Response:
    """Send the page that ``inkaccord colours --picture`` writes."""
    path, order = _file(request), _order(request, request.query_params.get("order", ""))
    plain = Profiled.PLAIN if request.query_params.get("plain") else None
    found = _colours(path, order, plain)
    text = inventory_page(path, found.found, nearest=found.nearest)
    return Response(text, media_type="text/html", headers={"Content-Security-Policy": MADE})


def _trial(request: Request, word: str) -> Trial:
    """Return a copy that was asked for. Raises OrderError ``no-file`` for one that is forgotten."""
    trials: dict[str, Trial] = request.app.state.trials
    if word not in trials:
        raise OrderError.of("no-file", "this copy is not here any more", hint="drop the file again")
    return trials[word]


def _try(request: Request, typed: Mapping[str, str]) -> str:
    """Have the command make the copy that a form asks for; return its word. Raises OrderError."""
    new = {name: text.strip() for name, text in typed.items() if name.startswith(BECOMES)}
    texts = [f"{name.removeprefix(BECOMES)} = {new[name]}" for name in new if new[name]]
    texts += [it.strip() for it in typed.get("swaps", "").splitlines() if it.strip()]
    if not texts:
        raise OrderError.of(
            "no-swap",
            "nothing is to be another colour yet",
            hint="write beside a colour what it becomes: cmyk 78 12 55 41",
        )
    uploads, order = uploads_of(request), _order(request, typed.get("order", ""))
    path = uploads.find(typed[HELD])[0]
    word, target = uploads.room(f"{safe_name(path.stem)}-recoloured.pdf")
    words = ["recolour", str(path), str(target), *(f"--swap={it}" for it in texts)]
    words += [it for name, options in OPTIONS.items() if typed.get(name) for it in options]
    words += ["--order", str(order.path)] if order is not None else []
    commands: Commands = request.app.state.runs
    trials: dict[str, Trial] = request.app.state.trials
    while len(trials) >= MOST_TRIALS:
        oldest = next(iter(trials))
        del trials[oldest]
        commands.forget(oldest)
    trials[word] = Trial(typed, commands.start(word, words, keeps=True))
    return word


def _tried(request: Request, word: str, trial: Trial) -> Response:
    """Show how far a copy is, or what it became."""
    running = trial.running
    if running.goes_on:
        return _shown(request, trial.typed, word=word, running=running)
    if running.fell:
        stopped = note("stopped", "it was stopped before its end: no copy was made")
        return _shown(request, trial.typed, findings=(stopped,))
    if running.findings or not running.printed:
        return _shown(request, trial.typed, findings=running.findings)
    made = _Printed.model_validate_json(running.printed)
    return _shown(request, trial.typed, made=made, word=word if made.is_good else "")


class _Printed(CopySaid):
    """What the command prints in the end."""

    exit_code: int
    written: str | None


def _shown(
    request: Request,
    typed: Mapping[str, str],
    *,
    findings: Sequence[Diagnostic] = (),
    made: CopySaid | None = None,
    word: str = "",
    running: Running | None = None,
) -> Response:
    uploads, studio = uploads_of(request), _studio(request)
    held, colours, path = typed.get(HELD, ""), None, None
    if held:
        try:
            path = uploads.find(held)[0]
            plain = Profiled.PLAIN if typed.get("plain") else None
            colours = _colours(path, _order(request, typed.get("order", "")), plain)
        except InkaccordError as problem:  # a file that can't be used is dropped anew
            findings, held = findings or problem.findings, ""
    refused = bool(findings)
    rows = _rows(colours, path) if colours and path else []
    pages = sizes_of(colours.found) if colours else ()
    return page(
        "recolour.html",
        409 if refused else 200,
        typed=typed,
        orders=[it for it in studio.orders() if it.trouble is None],
        held=held,
        name=path.name if path else "",
        colours=colours,
        rows=rows[:MOST_ROWS],
        more=max(0, len(rows) - MOST_ROWS),
        pages=pages,
        show=clicked(path, pages, AT, typed) or typed.get(SHOW, "") if path and colours else "",
        findings=uploads.as_dropped(findings),
        made=made,
        word=word,
        said=uploads.as_dropped(made.findings) if made else (),
        running=running,
        BECOMES=BECOMES,
    )


def _rows(colours: FileColours, path: Path) -> list[ColourRow]:
    """Return the colours, the largest first; each that can be swapped has one field."""
    judged: Sequence[Nearest | None] = colours.nearest or [None] * len(colours.shown.colours)
    flat = [it for it in colours.shown.colours if not it.colour.parts]
    asked = {paint for it in flat for paint in paints_of(it.colour)}
    given: set[Paint] = set()
    rows: list[ColourRow] = []
    entries = zip(colours.shown.colours, colours.found.colours, judged, strict=True)
    for entry, as_found, near in entries:
        own = [it for it in paints_of(entry.colour) if it not in given]
        if entry.colour.parts:
            own = [it for it in own if it not in asked]
        given |= set(own)
        looks = looks_of(path, as_found.colour)
        rows.append(ColourRow(entry, tuple(own), looks, _own(near)))
    return rows


def _own(near: Nearest | None) -> str:
    """Return which of an order's colours one is, in words."""
    if near is None or near.standing in {ColourStanding.KEPT, ColourStanding.UNKNOWN}:
        return ""
    if near.tint_percent is not None:
        return f"{near.brand} {near.tint_percent:.0f} %"
    return f"nearly {near.brand}" if near.standing is ColourStanding.NEAR_MISS else str(near.brand)


_looked_through = lru_cache(maxsize=24)(inventory)
"""A dropped file stays as it is."""


def _colours(path: Path, order: OrderOnPage | None, profiled: Profiled | None) -> FileColours:
    asked = order.loaded.order if order is not None else None
    return file_colours(path, asked, profiled, look=_looked_through)


def _studio(request: Request) -> Studio:
    studio: Studio = request.app.state.studio
    return studio


def _order(request: Request, key: str) -> OrderOnPage | None:
    """Return the order that was chosen. Raises OrderError for one that is not there any more."""
    return _studio(request).order(key) if key else None


def _file(request: Request) -> Path:
    return uploads_of(request).find(request.path_params["word"])[0]


def _page(request: Request) -> SeenPage:
    return page_in(_file(request), request.path_params["page"])
