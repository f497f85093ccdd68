"""How a page is made: its template, and the words that all templates share."""

from functools import cache
from typing import TYPE_CHECKING, Any

from markupsafe import escape
from starlette.responses import HTMLResponse

from inkaccord.report.html import give_words
from inkaccord.web.doors import with_doors
from inkaccord.words import visible

if TYPE_CHECKING:
    from jinja2 import Environment


def page(template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """Return a page of our own, from its template."""
    return HTMLResponse(_environment().get_template(template).render(**values), status)


@cache
def _environment() -> "Environment":
    from jinja2 import (  # noqa: PLC0415 - slow to load
        ChoiceLoader,
        Environment,
        PackageLoader,
        StrictUndefined,
    )

    made = Environment(
        loader=ChoiceLoader([PackageLoader("inkaccord.web"), PackageLoader("inkaccord.report")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )
    give_words(made)
    made.filters["with_doors"] = with_doors
    made.filters["as_typed"] = escape  # in a field a text is itself, its ends of lines too
    return made


def _shown(value: Any) -> Any:
    """Show what is in a text and can't be seen; nothing in an order or a file acts here."""
    return visible(value) if type(value) is str else value
