"""What a person typed into a field, as the value that it is, or what is wrong with it."""

import datetime
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TypeVar

from starlette.datastructures import FormData, QueryParams

from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.order.amending import Written, as_written
from inkaccord.order.wanted import Wanted
from inkaccord.sizes import Size
from inkaccord.today import come, today
from inkaccord.written import date

Value = TypeVar("Value")


def typed_into(form: FormData | QueryParams, longest: Mapping[str, int]) -> dict[str, str]:
    """Return what was typed into fields, each up to as many characters as it takes."""
    return {name: str(form.get(name, ""))[:most].strip() for name, most in longest.items()}


def typed_pair(text: str) -> Pair:
    """Return a pair. Raises OrderError ``no-pair``."""
    try:
        return Pair.parse(text)
    except ValueError:
        raise OrderError.of(
            "no-pair", f"{text!r} is no pair", hint="write it as device@stock"
        ) from None


def typed_pairs(texts: Iterable[str]) -> tuple[Pair, ...]:
    """Return the pairs that were ticked. Raises OrderError ``no-pair``."""
    return tuple(typed_pair(text) for text in texts)


def typed_colour(text: str) -> Wanted:
    """Return a colour as it was asked for. Raises OrderError ``not-a-colour``.

    Also ``no-file-here`` for a path: the page opens no file by its name.
    """
    wanted = Wanted.parse(text)
    if wanted.file is not None:
        raise OrderError.of(
            "no-file-here",
            f"{text} looks like a file, and the page opens none by its name",
            hint="drop the file instead",
        )
    return wanted


def thing_in_file(path: Path, sample: str) -> Wanted:
    """Return the colour of a thing in a file that was dropped; of several the one that is named."""
    return Wanted(said=sample or path.name, file=f"{path}/{sample}" if sample else str(path))


def typed_size(text: str) -> Size | None:
    """Return a size; None for a field that was left empty. Raises OrderError ``not-so``."""
    return typed(text, Size.parse)


def typed_day(text: str) -> datetime.date:
    """Return a day; today for a field that was left empty. Raises OrderError ``not-so``."""
    return typed_date(text) or today()


def typed_date(text: str) -> datetime.date | None:
    """Return a day gone by; None for an empty field. Raises OrderError ``not-so``."""
    return typed(text, lambda day: come(date(day)))


def typed_yaml(text: str) -> Written | None:
    """Return what was typed as an order file has it, in however many lines its field had room."""
    return as_written(" ".join(text.splitlines()))


def typed_parts(text: str, mark: str) -> list[str]:
    """Return what was typed with a mark, or new lines, between."""
    return [it.strip() for line in text.splitlines() for it in line.split(mark) if it.strip()]


def typed(text: str, parse: Callable[[str], Value]) -> Value | None:
    """Return what a field says; None where it was left empty. Raises OrderError ``not-so``."""
    if not text.strip():
        return None
    try:
        return parse(text.strip())
    except ValueError as problem:
        raise OrderError.of("not-so", str(problem), hint="change it, or leave it empty") from None


def typed_number(text: str, what: str, least: float, most: float) -> float | None:
    """Return a number; None for an empty field. Raises OrderError ``not-so`` for one beyond."""

    def parse(given: str) -> float:
        try:
            number = float(given)
        except ValueError:
            number = float("nan")
        if not least <= number <= most:
            raise ValueError(f"{what} is a number from {least:g} to {most:g}, and {given!r} is not")
        return number

    return typed(text, parse)


def typed_choice(text: str, choices: Iterable[str]) -> str | None:
    """Return one of some words; None for an empty field. Raises OrderError ``not-so``."""
    known = tuple(choices)
    if text and text not in known:
        raise OrderError.of(
            "not-so", f"{text!r} is not one of them", hint=f"choose {', '.join(known)}"
        )
    return text or None
