"""Looks as they are written: ``kelp=B7``, ``kelp=B7, then C7``, ``kelp=none of them: yellower``."""

import datetime
import re

from inkaccord.colour.direction import Direction
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Pick, SampleSheet

_HOW = (
    "write 'B7'; 'B7, then C7' where that comes next; 'between B7 and B8'; 'B7, a little darker' "
    f"(or {', '.join(list(Direction)[1:])}); or 'none of them: yellower' (or 'none' alone); '?' "
    "behind it says that you are unsure, '!' that you are certain"
)

_SWATCH = r"[A-Za-z0-9][A-Za-z0-9_-]*"
_A_BIT = (
    r"(?:but\s+)?(?:it\s+is\s+|it's\s+)?"
    r"(?:(?:a\s+(?:touch|bit|little|tad|shade)|slightly|somewhat|rather|more|much)\s+)*"
)
_NONE = re.compile(
    rf"^(?:none|no\s+swatch|neither|nothing)(?:\s+of\s+(?:them|these))?"
    rf"(?:\s*[:,;]?\s+{_A_BIT}(?P<too>(?:all\s+)?too\s+)?(?P<nudge>[a-z]+))?$",
    re.I,
)
_BETWEEN = re.compile(
    rf"^(?:between\s+)?(?P<one>{_SWATCH})\s*(?:\.\.\.?|…|/|\s+(?:and|or|to)\s+)\s*(?P<two>{_SWATCH})$",
    re.I,
)
_THEN = re.compile(rf"^(?P<one>{_SWATCH})\s*,?\s*then\s+(?P<two>{_SWATCH})$", re.I)
_NUDGED = re.compile(
    rf"^(?P<one>{_SWATCH})(?:\s*[,:;]?\s+{_A_BIT}(?P<too>too\s+)?(?P<nudge>[a-z]+))?$", re.I
)
_SPACED = re.compile(r"\b([A-Za-z])\s+(\d{1,2})\b")
"""A swatch as it is dictated: 'B 7'."""
_UNSURE, _CERTAIN = 0.2, 0.9
"""How sure a person is who says so, from 0 to 1."""
_HOW_SURE = re.compile(
    r"\s*(?:(?P<unsure>\?+|[,;:\s]\s*(?:not\s+(?:so\s+|quite\s+)?sure|unsure|i\s+think|maybe|perhaps))"
    r"|!+|[,;:\s]\s*(?:(?:quite|very)\s+)?(?:sure|certain))\s*$",
    re.I,
)
_TWO_WAYS = re.compile(
    r"\b(?P<one>[a-z]+)\s*(?:,|\band\b)\s*(?:more\s+|(?:a\s+little|slightly)\s+)?(?P<two>[a-z]+)$",
    re.I,
)
# Words for the same thing that people use before a print.
_WORDS = {
    **{direction.value: direction for direction in Direction},
    "dark": Direction.DARKER,
    "deep": Direction.DARKER,
    "deeper": Direction.DARKER,
    "light": Direction.LIGHTER,
    "pale": Direction.LIGHTER,
    "paler": Direction.LIGHTER,
    "bright": Direction.LIGHTER,
    "brighter": Direction.LIGHTER,
    "strong": Direction.STRONGER,
    "vivid": Direction.STRONGER,
    "weak": Direction.WEAKER,
    "grey": Direction.WEAKER,
    "greyer": Direction.WEAKER,
    "gray": Direction.WEAKER,
    "grayer": Direction.WEAKER,
    "dull": Direction.WEAKER,
    "duller": Direction.WEAKER,
    "yellow": Direction.YELLOWER,
    "blue": Direction.BLUER,
    "red": Direction.REDDER,
    "green": Direction.GREENER,
}
_AWAY = {
    Direction.DARKER: Direction.LIGHTER,
    Direction.STRONGER: Direction.WEAKER,
    Direction.YELLOWER: Direction.BLUER,
    Direction.REDDER: Direction.GREENER,
}
_OPPOSITE = _AWAY | {other: one for one, other in _AWAY.items()}
_UNCLEAR = {
    "warmer": "yellower or redder",
    "warm": "yellower or redder",
    "cooler": "bluer or greener",
    "cool": "bluer or greener",
    "colder": "bluer or greener",
    "cold": "bluer or greener",
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
    """Return the look that a person wrote with its colour, its swatches spelled as on the sheet.

    Parameters
    ----------
    text
        ``kelp=B7`` and whatever :func:`parse_choice` reads.
    sheet
        The sheet that was looked at.
    by, light, sure, picked_on
        Who looked, under which light, how sure (0 to 1), and when.

    Raises
    ------
    OrderError
        ``bad-pick`` for text that can't be read, ``no-such-swatch``, ``bad-sure``.
    """
    colour, equals, choice = (part.strip() for part in text.partition("="))
    if not (colour and equals and choice):
        raise OrderError.of(
            "bad-pick",
            f"{text!r} is no answer: it has no colour, or no swatch",
            hint=f"COLOUR=SWATCH, such as 'kelp=B7'; for the swatch {_HOW}",
        )
    return parse_choice(
        choice, sheet, colour=colour, by=by, light=light, sure=sure, picked_on=picked_on
    )


def parse_choice(
    text: str,
    sheet: SampleSheet,
    *,
    colour: str,
    by: str = "",
    light: str = "",
    sure: float = 0.5,
    picked_on: datetime.date | None = None,
    among: tuple[str, ...] | None = None,
) -> Pick:
    """Return the look that a person wrote.

    Parameters
    ----------
    text
        ``B7``, ``B7, then C7``, ``between B7 and B8``, ``B7..B8``, ``B7, a little darker``,
        ``B7, too dark`` (the wanted colour is lighter), ``none of them``, ``none: yellower``.
        ``?`` or ``unsure`` behind it, ``!`` or ``certain``, say how sure this answer is.
    colour
        Which brand colour was looked for.
    among
        The swatches that it was chosen from; None for all that the sheet has for the colour.

    The others, and what is raised, are as :func:`parse_pick` has them.
    """
    if not 0.0 <= sure <= 1.0:
        raise OrderError.of(
            "bad-sure", f"how sure is given as {sure:g}", hint="give a number from 0 to 1"
        )
    choice = re.sub(
        r"^(?:at|nearest\s+is|it\s+is|it's)\s+|(?<!\.)\.$", "", text.strip(), flags=re.I
    )
    choice = _SPACED.sub(r"\1\2", choice)
    if found := _HOW_SURE.search(choice):
        choice = choice[: found.start()]
        sure = _UNSURE if found["unsure"] else _CERTAIN
    look = Pick(
        sheet=sheet.id,
        colour=colour,
        swatch=None,
        among=among,
        by=by,
        light=light,
        sure=sure,
        picked_on=picked_on,
    )
    if found := _NONE.match(choice):
        return look.model_copy(update={"nudge": _nudge(found, text)})
    for pattern, field in ((_THEN, "then"), (_BETWEEN, "between")):
        if found := pattern.match(choice):
            one, two = _on(sheet, found["one"]), _on(sheet, found["two"])
            return look.model_copy(update={"swatch": one, field: two})
    if (found := _NUDGED.match(choice)) and not _is_bare(choice):
        nudge = _nudge(found, text)
        return look.model_copy(update={"swatch": _on(sheet, found["one"]), "nudge": nudge})
    raise _unreadable(text, choice)


def in_words(pick: Pick) -> str:
    """Return a look as it could be written: :func:`parse_choice` reads it back."""
    if pick.swatch is None:
        return f"none of them: {pick.nudge}" if pick.nudge else "none of them"
    if pick.between is not None:
        return f"between {pick.swatch} and {pick.between}"
    if pick.then is not None:
        return f"{pick.swatch}, then {pick.then}"
    return f"{pick.swatch}, a little {pick.nudge}" if pick.nudge else pick.swatch


def _nudge(found: re.Match[str], text: str) -> Direction | None:
    """Return how the wanted colour lies; of what is 'too dark' it lies the other way."""
    word = (found["nudge"] or "").lower()
    if not word:
        return None
    if word in _UNCLEAR:
        raise OrderError.of(
            "bad-pick", f"{text!r}: '{word}' may be {_UNCLEAR[word]}", hint="say which of the two"
        )
    if word not in _WORDS:
        raise OrderError.of("bad-pick", f"{text!r}: '{word}' is no word for a colour", hint=_HOW)
    nudge = _WORDS[word]
    return _OPPOSITE[nudge] if found["too"] else nudge


def _is_bare(choice: str) -> bool:
    """Tell whether an answer is a word for a colour, and names nothing that it is beside."""
    return choice.lower().removeprefix("too ") in _WORDS


def _unreadable(text: str, choice: str) -> OrderError:
    """Return what is wrong with an answer, and how it may have been meant."""
    both = _TWO_WAYS.search(choice)
    if _is_bare(choice):
        problem = "names no swatch"
        hint = f"the nearest one before it: 'B7, {choice}'; or 'none of them: {choice}'"
    elif both and {both["one"].lower(), both["two"].lower()} <= set(_WORDS):
        problem = "says two ways at once"
        hint = f"say the one that you see first: {both['one']}, or {both['two']}"
    else:
        problem, hint = "is no answer that can be read", _HOW
    return OrderError.of("bad-pick", f"{text!r} {problem}", hint=hint)


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
