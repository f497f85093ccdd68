"""Picks by eye as they are written: ``kelp=B7``, ``kelp=B7..B8``, ``kelp=B7 darker``."""

import datetime
import re

from inkaccord.errors import OrderError
from inkaccord.sheets.model import Nudge, Pick, SampleSheet

EXPECTED = (
    "expected COLOUR=SWATCH, such as 'kelp=B7', 'kelp=B7..B8' or 'kelp=between B7 and B8' when "
    f"it lies between two, or 'kelp=B7 darker' (or {', '.join(list(Nudge)[1:])})"
)

_SWATCH = r"[A-Za-z0-9][A-Za-z0-9_-]*"
_BETWEEN = re.compile(
    rf"^(?:between\s+)?(?P<one>{_SWATCH})\s*(?:\.\.|…|\s+and\s+)\s*(?P<two>{_SWATCH})$", re.I
)
_NUDGED = re.compile(
    rf"^(?P<one>{_SWATCH})"
    r"(?:\s*,?\s+(?:but\s+)?(?:a\s+(?:touch|bit|little)\s+|slightly\s+)?(?P<nudge>[a-z]+))?$",
    re.I,
)
# Words for the same thing that people use before a print.
_WORDS = {
    **{nudge.value: nudge for nudge in Nudge},
    "deeper": Nudge.DARKER,
    "paler": Nudge.LIGHTER,
    "brighter": Nudge.LIGHTER,
    "greyer": Nudge.WEAKER,
    "duller": Nudge.WEAKER,
}


def parse_pick(
    text: str,
    sheet: SampleSheet,
    *,
    by: str = "",
    light: str = "",
    sure: float = 0.5,
    picked_on: datetime.date | None = None,
) -> Pick:
    """Return the pick that a person wrote, its swatches spelled as on the sheet.

    Parameters
    ----------
    text
        ``kelp=B7``, ``kelp=B7..B8``, ``kelp=between B7 and B8``, ``kelp=B7 but a touch darker``.
    sheet
        The sheet it was picked on.
    by, light, sure, picked_on
        Who picked, under which light, how sure (0 to 1), and when.

    Raises
    ------
    OrderError
        ``bad-pick`` for text that can't be read, ``no-such-swatch``, ``bad-sure``.
    """
    colour, equals, choice = (part.strip() for part in text.partition("="))
    choice = re.sub(r"^at\s+", "", choice)
    between, nudged = _BETWEEN.match(choice), _NUDGED.match(choice)
    word = nudged["nudge"] if nudged else None
    if not (colour and equals and (between or nudged)) or (
        word and not between and word.lower() not in _WORDS
    ):
        raise OrderError.of("bad-pick", f"{text!r} is not a pick: {EXPECTED}")
    if not 0.0 <= sure <= 1.0:
        raise OrderError.of(
            "bad-sure", f"how sure is given as {sure:g}", hint="give a number from 0 to 1"
        )
    if between:
        one, two, nudge = between["one"], _on(sheet, between["two"]), None
    else:
        assert nudged is not None  # noqa: S101 -- one of the two matched
        one, two, nudge = nudged["one"], None, _WORDS[word.lower()] if word else None
    return Pick(
        sheet=sheet.id,
        colour=colour,
        swatch=_on(sheet, one),
        between=two,
        nudge=nudge,
        by=by,
        light=light,
        sure=sure,
        picked_on=picked_on,
    )


def _on(sheet: SampleSheet, name: str) -> str:
    swatch = sheet.swatch(name)
    if swatch is None:
        ids = [known.id for known in sheet.swatches]
        raise OrderError.of(
            "no-such-swatch",
            f"sheet {sheet.id} has no swatch {name}; it has {len(ids)}, {ids[0]} to {ids[-1]}",
            hint="look at the id beside the swatch",
        )
    return swatch.id
