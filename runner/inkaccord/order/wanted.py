"""One colour as a person names it in one line, the same for every command that asks for one."""

import contextlib
import re
from pathlib import Path
from typing import Self

from inkaccord.colour.builds import Build
from inkaccord.colour.lab import Lab, as_lab
from inkaccord.colour.notation import colour_numbers
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.order.answers import SwatchName
from inkaccord.written import plain, shown

_ON = re.compile(r"(?P<what>.+?)\s+on\s+(?P<pair>\S+@\S+)", re.S)
_SWATCH = re.compile(r"[A-Z0-9]{3}-?[A-Z0-9]{3}(?:\s*/\s*|\s+)[A-Z0-9_-]+", re.I)
_BOOK = re.compile(r"book\s+(?P<name>.+)", re.S | re.I)
_ORDERED = re.compile(r"order\s+(?P<name>.+)", re.S | re.I)
_ASK = re.compile(r"ask\s+(?P<what>.+)", re.S | re.I)
EXPECTED_COLOUR = (
    "write 'lab 41 -20 8' (D50, 2°), a build with its pair as in 'cmyk 85 20 60 30 on "
    "device@stock', a swatch 'K7Q-XM3/B7', a screen's '#2F5D50', a file of readings or spectra "
    "'leaf.txt', 'book NAME', or 'order NAME' of the order at hand"
)


class Wanted(Frozen):
    """A colour as it was asked for.

    Exactly one of `lab`, `build`, `swatch`, `file`, `entry` and `ordered`.
    """

    said: str
    """As a person reads it."""
    lab: Lab | None = None
    """CIELAB, D50 and 2°; of a screen's colour too."""
    build: Build | None = None
    on: Pair | None = None
    """The pair that the build is on; None for the pair at hand, or for every pair."""
    swatch: SwatchName | None = None
    file: str | None = None
    """A file of readings or spectra, perhaps with ``/SAMPLE`` behind it."""
    entry: str | None = None
    """A colour of the studio's book."""
    ordered: str | None = None
    """A colour of the order that is at hand."""

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read a colour in words.

        Parameters
        ----------
        text
            CIELAB, a build with or without ``on device@stock``, ``SHEET/SWATCH``, ``#2F5D50`` as a
            screen shows it, the path of a file, ``book NAME``, or ``order NAME``; numbers in every
            way that :func:`~inkaccord.colour.notation.colour_numbers` reads.

        Raises
        ------
        OrderError
            ``not-a-colour``, with what may be written.
        """
        given = plain(text)
        try:
            found = cls._parsed(given)
        except ValueError as problem:
            raise _no_colour(text, problem) from problem
        if found is None:
            raise _no_colour(text)
        return found

    @classmethod
    def _parsed(cls, text: str) -> Self | None:
        if _is_file(text):  # whatever its name says besides
            return cls(said=text, file=text)
        booked = _BOOK.fullmatch(text)
        if booked:
            return cls(said=f"{booked['name']} of the book", entry=booked["name"])
        ordered = _ORDERED.fullmatch(text)
        if ordered:
            return cls(said=f"{ordered['name']} of the order", ordered=ordered["name"])
        printed = _ON.fullmatch(text)
        if printed:
            build, pair = Build.parse(printed["what"]), Pair.parse(printed["pair"])
            return cls(said=f"{build} on {pair}", build=build, on=pair)
        if "#" in text and (read := colour_numbers(text)) is not None:
            lab = srgb_to_lab([value / 255.0 for value in read[1]])
            return cls(said=f"{text} as a screen shows it", lab=as_lab(lab))
        space, numbers = colour_numbers(text) or ("", ())
        if space == "lab":
            return cls(said=f"lab {_numbers(numbers)}", lab=_checked_lab(numbers))
        if space in {"cmyk", "rgb"}:
            build = Build.parse(text)
            return cls(said=str(build), build=build)
        if _SWATCH.fullmatch(text):
            name = SwatchName.parse(text)
            return cls(said=f"{name.sheet}/{name.swatch}", swatch=name)
        if space == "" and _named_as_file(text):
            return cls(said=text, file=text)
        return None


def parse_new(text: str) -> tuple[Wanted, Pair | None] | None:
    """Read what a colour of an artwork becomes, where that is asked of the shelf.

    ``K7Q-XM3/B7`` is the build of that swatch. ``ask COLOUR on device@stock`` is the build that
    gives a colour on a pair. None for what the artwork's own notation says.

    Raises OrderError ``not-a-colour`` and ``no-pair``.
    """
    given = plain(text)
    asked = _ASK.fullmatch(given)
    if asked is None:
        return (Wanted.parse(given), None) if _SWATCH.fullmatch(given) else None
    # The last 'on' says for which pair: 'ask cmyk 85 20 60 30 on one@stock on other@stock'.
    what, on, pair = asked["what"].rpartition(" on ")
    if not on or "@" not in pair:
        raise OrderError.of(
            "no-pair",
            f"{shown(given)} does not say for which pair",
            hint="end it with the pair: 'ask lab 41 -20 8 on device@stock'",
        )
    try:
        return Wanted.parse(what), Pair.parse(pair)
    except ValueError as problem:
        raise _no_colour(text, problem) from problem


def _named_as_file(text: str) -> bool:
    """Tell whether a text may be the path of a file, perhaps with ``/SAMPLE`` behind it."""
    return bool(Path(text).suffix or Path(text).parent.suffix)


def _is_file(text: str) -> bool:
    """Tell whether such a file is there; one whose name has no suffix is none that is read."""
    if _named_as_file(text):
        with contextlib.suppress(OSError):  # a longer name than any file has
            return Path(text).is_file() or Path(text).parent.is_file()
    return False


def _checked_lab(numbers: tuple[float, ...]) -> Lab:
    """Return CIELAB that a print could have. Raises ValueError."""
    if len(numbers) != 3:
        raise ValueError(f"CIELAB has three numbers, not {len(numbers)}")
    lightness, a, b = numbers
    if not 0 <= lightness <= 100 or max(abs(a), abs(b)) > 128:
        raise ValueError("L* runs from 0 to 100, a* and b* from -128 to 128")
    return lightness, a, b


def _numbers(values: tuple[float, ...]) -> str:
    return " ".join(f"{value:g}" for value in values)


def _no_colour(text: str, problem: ValueError | None = None) -> OrderError:
    errors: list[dict[str, str]] = getattr(problem, "errors", list)()
    why = "; ".join(one["msg"].removeprefix("Value error, ") for one in errors) or str(
        problem or f"{shown(text)} is no colour"
    )
    return OrderError.of(
        "not-a-colour", f"{shown(text)}: {why}" if problem else why, hint=EXPECTED_COLOUR
    )
